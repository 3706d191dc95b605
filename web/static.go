package web

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"strings"
	"time"

	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goitalic"
	"golang.org/x/image/font/gofont/goregular"
)

//go:embed static/*
var staticFiles embed.FS

// static serves style, script and type under names that change with their
// content, so that browsers may keep them for ever. The type is that of the
// pictures.
type static struct {
	byPath map[string]asset
	paths  map[string]string
}

type asset struct {
	kind string
	data []byte
}

func newStatic() (*static, error) {
	s := &static{byPath: map[string]asset{}, paths: map[string]string{}}
	for name, data := range map[string][]byte{"regular.ttf": goregular.TTF, "bold.ttf": gobold.TTF, "italic.ttf": goitalic.TTF} {
		s.add(name, data)
	}
	for _, pattern := range []string{"static/*.js", "static/*.svg", "static/*.css"} { // the style last: it names the type
		files, err := fs.Glob(staticFiles, pattern)
		if err != nil {
			return nil, err
		}
		for _, name := range files {
			data, err := fs.ReadFile(staticFiles, name)
			if err != nil {
				return nil, fmt.Errorf("reading %s: %w", name, err)
			}
			s.add(path.Base(name), data)
		}
	}
	return s, nil
}

var kinds = map[string]string{
	".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".svg": "image/svg+xml", ".ttf": "font/ttf",
}

func (s *static) add(name string, data []byte) {
	if strings.HasSuffix(name, ".css") {
		for _, font := range []string{"regular.ttf", "bold.ttf", "italic.ttf"} {
			data = bytes.ReplaceAll(data, []byte("url("+font+")"), []byte("url("+s.paths[font]+")"))
		}
	}
	sum := sha256.Sum256(data)
	p := "/static/" + hex.EncodeToString(sum[:6]) + "/" + name
	s.paths[name] = p
	s.byPath[p] = asset{kinds[path.Ext(name)], data}
}

// path is the address of a file.
func (s *static) path(name string) (string, error) {
	p := s.paths[name]
	if p == "" {
		return "", fmt.Errorf("there is no file %q in static", name)
	}
	return p, nil
}

func (s *static) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	a, ok := s.byPath[r.URL.Path]
	if !ok {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Type", a.kind)
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(a.data))
}
