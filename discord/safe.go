package discord

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"

	"github.com/bwmarrin/discordgo"
)

// safe is an error without addresses and bodies: discordgo's hold the token of
// an interaction, and what the platform says back of a message.
func safe(err error) error {
	var (
		rest    *discordgo.RESTError
		limited *discordgo.RateLimitError
	)
	switch {
	case err == nil:
		return nil
	case errors.As(err, &rest):
		return fmt.Errorf("the platform answers %d, code %d", rest.Response.StatusCode, codeOf(err))
	case errors.As(err, &limited):
		return fmt.Errorf("the platform asks to wait %v", limited.RetryAfter)
	case errors.Is(err, context.DeadlineExceeded):
		return context.DeadlineExceeded
	case errors.Is(err, context.Canceled):
		return context.Canceled
	}
	if address := (*url.Error)(nil); errors.As(err, &address) {
		return fmt.Errorf("the platform cannot be reached: %w", address.Err)
	}
	return err
}

// statusOf is the HTTP status of an error, 0 when it has none.
func statusOf(err error) int {
	var rest *discordgo.RESTError
	switch {
	case errors.As(err, &rest):
		return rest.Response.StatusCode
	case errors.Is(err, discordgo.ErrUnauthorized):
		return http.StatusUnauthorized
	}
	return 0
}
