package web

import (
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"strings"
)

// mostForm bounds what a form may send.
const mostForm = 64 << 10

// policy lets a page load only what this server sends, and nothing written into
// the page itself runs or styles.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; connect-src 'self'; " +
	"form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// guard is around every page: headers, no form from another site, no panic that
// ends the program.
func (s *Server) guard(next http.Handler) (http.Handler, error) {
	cross := http.NewCrossOriginProtection()
	if s.c.Base != "" {
		if err := cross.AddTrustedOrigin(strings.TrimSuffix(s.c.Base, "/")); err != nil {
			return nil, fmt.Errorf("making the pages: address %q: %w", s.c.Base, err)
		}
	}
	cross.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.fail(w, s.ask(r), refuse(http.StatusForbidden, "This form came from somewhere else", "Open the page here and send it once more."))
	}))
	inner := cross.Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer") // an owner's link must not travel
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=()")
		h.Set("Cache-Control", "no-store")
		h.Set("X-Robots-Tag", "noindex")
		if s.secure {
			h.Set("Strict-Transport-Security", "max-age=31536000")
		}
		defer func() {
			if p := recover(); p != nil {
				if p == http.ErrAbortHandler {
					panic(p)
				}
				s.c.Log.Error("a page broke down", "page", r.Pattern, "panic", fmt.Sprintf("%T", p))
				http.Error(w, "Something went wrong here.", http.StatusInternalServerError)
			}
		}()
		if s.c.Base == "" && !near(r.Host) {
			http.Error(w, "These pages are for this machine alone.", http.StatusMisdirectedRequest)
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, mostForm)
		inner.ServeHTTP(w, r)
	}), nil
}

// near says whether a host is an address or this machine. A name from elsewhere
// that was made to lead here would let its pages read ours.
func near(host string) bool {
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	return host == "localhost" || net.ParseIP(strings.Trim(host, "[]")) != nil
}

// from is whose requests are counted together: an address, or the network that
// one household has in IPv6.
func (s *Server) from(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		host = r.RemoteAddr
	}
	if s.c.Proxied {
		// The last one is what our proxy wrote; the rest is hearsay.
		all := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
		if last := strings.TrimSpace(all[len(all)-1]); last != "" {
			host = last
		}
	}
	addr, err := netip.ParseAddr(host)
	if err != nil {
		return "unknown"
	}
	if addr = addr.Unmap(); addr.Is6() {
		if p, err := addr.WithZone("").Prefix(64); err == nil {
			return p.String()
		}
	}
	return addr.String()
}
