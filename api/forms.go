package api

import (
	"triagebot/casefile"
	"triagebot/casefile/store"
)

// Forms of requests and answers.
type (
	// List is an answer with cases.
	List struct {
		V     int          `json:"v"`
		Cases []store.Case `json:"cases"`
		Demo  bool         `json:"demo,omitempty"` // the cases are invented
	}
	// One is an answer with a case; Document is what the talk came to, where it was asked for.
	One struct {
		V        int            `json:"v"`
		Case     store.Case     `json:"case"`
		Document *casefile.Case `json:"document,omitempty"`
		Demo     bool           `json:"demo,omitempty"` // it is invented
	}
	// Outcome is what a case is closed with; see [desk.Outcome].
	Outcome struct {
		Cause    string      `json:"cause,omitempty"`
		Remedy   string      `json:"remedy,omitempty"`
		Text     string      `json:"text,omitempty"`
		NotFound bool        `json:"not_found,omitempty"`
		Replaced bool        `json:"replaced,omitempty"`
		Bike     *store.Bike `json:"bike,omitempty"`
	}
	// Erased is what was erased of an owner.
	Erased struct {
		V             int `json:"v"`
		Conversations int `json:"conversations"`
		Cases         int `json:"cases"`
		Outgoing      int `json:"outgoing"`
		Mentions      int `json:"mentions"`
	}
	// Refusal is the answer to what could not be done.
	Refusal struct {
		V     int    `json:"v"`
		Words string `json:"error"`
		Code  string `json:"code"`
		By    string `json:"by,omitempty"` // who has the case
	}
)
