package api

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"

	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/conversation"
	"triagebot/desk"
)

func write(w http.ResponseWriter, status int, v any) {
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(v) // whoever asked has gone
}

func refuse(w http.ResponseWriter, status int, r Refusal) {
	r.V = V
	write(w, status, r)
}

// refuse says an error in the terms of HTTP. What is no fault of who asked is
// logged and not told, for it may name what is none of their business.
func (h *handler) refuse(w http.ResponseWriter, err error) {
	var (
		taken *store.TakenError
		not   *conversation.NotNowError
		given *desk.InputError
		large *http.MaxBytesError
	)
	r, status := Refusal{Words: err.Error()}, 0
	switch {
	case errors.As(err, &taken):
		status, r.Code, r.By = http.StatusConflict, "taken", taken.By
	case errors.Is(err, desk.ErrRole):
		status, r.Code = http.StatusForbidden, "role"
	case errors.Is(err, store.ErrNoCase):
		status, r.Code = http.StatusNotFound, "no-case"
	case errors.Is(err, store.ErrNotYours):
		status, r.Code = http.StatusConflict, "not-yours"
	case errors.Is(err, store.ErrCaseClosed):
		status, r.Code = http.StatusConflict, "closed"
	case errors.Is(err, store.ErrNotClosed):
		status, r.Code = http.StatusConflict, "not-closed"
	case errors.As(err, &not):
		status, r.Code = http.StatusConflict, "not-now"
	case errors.As(err, &large):
		status, r.Code, r.Words = http.StatusRequestEntityTooLarge, "input", fmt.Sprintf("a request takes %d bytes at most", mostBody)
	case errors.As(err, &given), errors.Is(err, store.ErrHalfFound), errors.Is(err, desk.ErrUnknown):
		status, r.Code = http.StatusUnprocessableEntity, "input"
	case errors.Is(err, store.ErrFull):
		status, r.Code, r.Words = http.StatusInsufficientStorage, "full", store.ErrFull.Error()
	case errors.Is(err, store.ErrClosed), errors.Is(err, store.ErrBroken), errors.Is(err, turns.ErrClosed):
		status, r.Code, r.Words = http.StatusServiceUnavailable, "stopping", "the bot is stopping or cannot write; try again later"
	default:
		h.c.Log.Error("a request failed", "error", err)
		status, r.Code, r.Words = http.StatusInternalServerError, "failed", "the bot failed at this; its log says why"
	}
	refuse(w, status, r)
}

// body reads a request as strictly as a config: a slip must not pass for
// something left out.
func (q *request) body(into any) error {
	d := json.NewDecoder(q.Body)
	d.DisallowUnknownFields()
	err := d.Decode(into)
	if err == nil {
		if _, err := d.Token(); !errors.Is(err, io.EOF) {
			return &desk.InputError{Text: "a request holds one JSON object"}
		}
		return nil
	}
	if large := (*http.MaxBytesError)(nil); errors.As(err, &large) {
		return err
	}
	return &desk.InputError{Text: fmt.Sprintf("the request does not read: %v", err)}
}
