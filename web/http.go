package web

import (
	"context"
	"net/http"
	"time"

	"triagebot/casefile/store"
)

// HTTP is a server for the pages with bounds on what a slow or greedy browser
// may hold. Pages that follow are ended when it shuts down.
func (s *Server) HTTP() *http.Server {
	srv := &http.Server{
		Handler: s, ReadHeaderTimeout: 10 * time.Second, ReadTimeout: 30 * time.Second, WriteTimeout: 30 * time.Second,
		IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 32 << 10,
	}
	srv.RegisterOnShutdown(s.Close)
	return srv
}

// Place is what addresses of talks in the pages begin with, before a colon.
const Place = "web"

// Sender takes what is said in talks of the pages. They read it off the store
// whenever they are loaded, so that there is nothing to send.
type Sender struct{}

// Send takes a message.
func (Sender) Send(context.Context, store.Outgoing) error { return nil }
