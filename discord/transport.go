package discord

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
)

// rewriter sends requests to other bases, and reads the limits off the answers.
type rewriter struct {
	next  http.RoundTripper
	bases map[string]*url.URL // host -> where to go instead
	gate  *gate
}

func newRewriter(next http.RoundTripper, b Bases, g *gate) (*rewriter, error) {
	r := &rewriter{next: next, bases: map[string]*url.URL{}, gate: g}
	for base, hosts := range map[string][]string{
		b.REST:  {"discord.com", "discordapp.com"},
		b.Files: {"cdn.discordapp.com", "media.discordapp.net"},
	} {
		if base == "" {
			continue
		}
		u, err := url.Parse(base)
		if err != nil {
			return nil, fmt.Errorf("reading the base address %q: %w", base, err)
		}
		for _, h := range hosts {
			r.bases[h] = u
		}
	}
	return r, nil
}

// RoundTrip implements http.RoundTripper.
func (r *rewriter) RoundTrip(req *http.Request) (*http.Response, error) {
	path := req.URL.Path
	if to := r.bases[req.URL.Host]; to != nil {
		req = req.Clone(req.Context())
		req.URL.Scheme, req.URL.Host, req.Host = to.Scheme, to.Host, to.Host
		req.URL.Path = strings.TrimSuffix(to.Path, "/") + path
		req.URL.RawPath = ""
	}
	resp, err := r.next.RoundTrip(req)
	if err == nil {
		r.gate.learn(req.Method, path, resp.StatusCode, resp.Header)
	}
	return resp, err
}
