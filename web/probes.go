package web

import (
	"bytes"
	"errors"
	"fmt"
	"net/http"

	"triagebot/kb"
	"triagebot/picture"
)

func drawable(kit *kb.Kit, c *kb.Check) bool { return picture.Drawable(kit, c) }

// checkPicture shows where the probes go on the owner's kit.
func (s *Server) checkPicture(a *asking, w http.ResponseWriter) error {
	_, known, _, err := s.open(a)
	if err != nil {
		return err
	}
	p, err := s.drawn(known.Kit, a.PathValue("check"))
	if err != nil {
		return err
	}
	return sendSVG(w, p)
}

var noPicture = refuse(http.StatusNotFound, "There is no such picture", "The rules may have changed since the page was loaded.")

func (s *Server) drawn(kit, check string) (*picture.Picture, error) {
	k, c := s.c.KB.Kit(kit), s.c.KB.Check(check)
	if k == nil || c == nil || !picture.Drawable(k, c) {
		return nil, noPicture
	}
	p, err := picture.Check(s.c.KB, k, c)
	if err != nil {
		return nil, errors.Join(noPicture, err)
	}
	return p, nil
}

func sendSVG(w http.ResponseWriter, p *picture.Picture) error {
	var b bytes.Buffer
	if err := p.SVG(&b); err != nil {
		return fmt.Errorf("drawing: %w", err)
	}
	w.Header().Set("Content-Type", "image/svg+xml")
	w.Header().Set("Content-Security-Policy", "default-src 'none'; sandbox")
	_, _ = w.Write(b.Bytes())
	return nil
}
