package web

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"strings"
	"time"

	"triagebot/desk"
	"triagebot/kb"
	"triagebot/web/account"
)

//go:embed pages/*.html
var pageFiles embed.FS

// page is one template together with the layout.
type page struct{ t *template.Template }

// newPages reads all templates: layout.html and the parts (part-*.html) belong
// to every page.
func newPages(s *Server) (map[string]*page, error) {
	files, err := fs.Glob(pageFiles, "pages/*.html")
	if err != nil {
		return nil, err
	}
	base := template.New("layout.html").Funcs(s.functions())
	var own []string
	for _, name := range files {
		if b := path.Base(name); b == "layout.html" || strings.HasPrefix(b, "part-") {
			if base, err = base.ParseFS(pageFiles, name); err != nil {
				return nil, fmt.Errorf("reading the pages: %w", err)
			}
			continue
		}
		own = append(own, name)
	}
	all := map[string]*page{}
	for _, name := range own {
		t, err := base.Clone()
		if err == nil {
			t, err = t.ParseFS(pageFiles, name)
		}
		if err != nil {
			return nil, fmt.Errorf("reading the pages: %w", err)
		}
		all[strings.TrimSuffix(path.Base(name), ".html")] = &page{t.Lookup("layout.html")}
	}
	return all, nil
}

// shown is what a template gets.
type shown struct {
	view
	Site   string // whose pages these are
	Thing  string // what an owner calls what is broken
	Helper string // who takes cases over
	Person *account.Account
	Form   string // proves that a form is ours
	Nav    []entry
	Here   string
	Demo   bool
	Now    time.Time
}

func (s *Server) show(w http.ResponseWriter, a *asking, v view) error {
	p := s.pages[v.Page]
	if p == nil {
		return fmt.Errorf("there is no page %q", v.Page)
	}
	about := s.c.KB.About
	x := shown{view: v, Site: about.Name, Thing: about.Thing, Helper: about.Person, Person: a.Person, Here: a.URL.Path, Demo: s.c.Demo, Now: a.now}
	if a.Person != nil {
		x.Form = a.session.Form
		for _, e := range navigation {
			if a.Person.Has(e.Role) || a.Person.Has(desk.Keeper) {
				x.Nav = append(x.Nav, e)
			}
		}
	}
	// Into memory first: half a page with an error in it is no page.
	var b bytes.Buffer
	if err := p.t.Execute(&b, x); err != nil {
		return fmt.Errorf("writing the page %q: %w", v.Page, err)
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	if v.Status != 0 {
		w.WriteHeader(v.Status)
	}
	_, _ = w.Write(b.Bytes()) // a browser that went away is no error of ours
	return nil
}

func (s *Server) functions() template.FuncMap {
	return template.FuncMap{
		"asset":   s.static.path,
		"percent": percent,
		"kits":    func() []*kb.Kit { return s.c.KB.Kits },
		"hundred": func(p float64) float64 { return 100 * p },
		"ago":     ago,
		"stamp":   func(t time.Time) string { return t.UTC().Format(time.RFC3339) },
		"day":     func(t time.Time) string { return t.UTC().Format("2 January 2006, 15:04") },
		"capital": capital,
		"site":    site,
		"plain":   func(t string) string { return plain(t, 200) },
		"plainly": func(t string) string { return plain(t, mostWords) },
		"with2":   func(of any, now time.Time) map[string]any { return map[string]any{"Of": of, "Now": now} },
		"inNav":   func(here, path string) bool { return here == path || strings.HasPrefix(here, path+"/") },
	}
}

// percent is for people: never 0 % or 100 % of what is neither.
func percent(p float64) string {
	switch n := p * 100; {
	case p <= 0:
		return "0 %"
	case n < 1:
		return "below 1 %"
	case n > 99 && p < 1:
		return "over 99 %"
	default:
		return fmt.Sprintf("%.0f %%", n)
	}
}

// ago says how long something has been.
func ago(t, now time.Time) string {
	d := now.Sub(t)
	for _, step := range []struct {
		below, unit time.Duration
		one, many   string
	}{
		{time.Minute, 0, "just now", ""},
		{time.Hour, time.Minute, "a minute", "%d minutes"},
		{48 * time.Hour, time.Hour, "an hour", "%d hours"},
		{1<<63 - 1, 24 * time.Hour, "a day", "%d days"},
	} {
		if d >= step.below {
			continue
		}
		if step.unit == 0 {
			return step.one
		}
		if n := int(d / step.unit); n > 1 {
			return fmt.Sprintf(step.many, n) + " ago"
		}
		return step.one + " ago"
	}
	return ""
}

// site is the name of whose pages these are, without what follows a comma.
func site(name string) string {
	short, _, _ := strings.Cut(name, ",")
	return short
}

// capital writes the first letter large.
func capital(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}
