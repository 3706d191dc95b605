package discord

import (
	"errors"
	"net/http"
	"time"

	"github.com/bwmarrin/discordgo"

	"triagebot/casefile/turns"
)

// Codes of the platform's refusals.
const (
	codeUnknownChannel     = 10003
	codeUnknownMessage     = 10008
	codeMissingAccess      = 50001
	codeClosedDM           = 50007
	codeMissingPermissions = 50013
	codeNotOnThisKind      = 50024
	codeNoMutualGuild      = 50278
	codeThreadsFull        = 160006
	codeNoHistory          = 160002
	codeSlowMode           = 20016
	codeWriteLimit         = 20028
	codeTooManyDMs         = 40003
	codeOverloaded         = 130000
)

// passing are refusals that a later attempt may not meet.
var passing = map[int]bool{codeSlowMode: true, codeWriteLimit: true, codeTooManyDMs: true, codeOverloaded: true}

// patience is how long such a refusal is waited out.
const patience = 10 * time.Second

// codeOf is the platform's code of an error; 0 when it has none.
func codeOf(err error) int {
	var rest *discordgo.RESTError
	if errors.As(err, &rest) && rest.Message != nil {
		return rest.Message.Code
	}
	return 0
}

// classify turns an error of discordgo into one that says what to do: wait a
// stated time, wait as the outbox sees fit, or never try again. An error whose
// outcome is unknown (a timeout, a 502) is tried again: the nonce drops the
// second copy.
func classify(err error) error {
	if err == nil {
		return nil
	}
	var (
		limited *discordgo.RateLimitError
		rest    *discordgo.RESTError
	)
	switch {
	case errors.As(err, &limited):
		return &turns.RetryError{After: limited.RetryAfter, Err: safe(err)}
	case !errors.As(err, &rest):
		return err
	case rest.Response.StatusCode >= http.StatusInternalServerError || rest.Response.StatusCode == http.StatusRequestTimeout:
		return err
	case passing[codeOf(err)]:
		return &turns.RetryError{After: patience, Err: safe(err)}
	}
	return &turns.PermanentError{Err: safe(err)} // it is kept with the message
}

// noPlace says whether an error means that a place cannot be talked in, and
// another is to be tried.
func noPlace(err error) bool {
	switch codeOf(err) {
	case codeMissingAccess, codeMissingPermissions, codeNotOnThisKind, codeThreadsFull, codeClosedDM, codeNoMutualGuild, codeUnknownChannel:
		return true
	}
	return false
}
