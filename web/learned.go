package web

import (
	"cmp"
	"net/http"
	"path"
	"strconv"

	"triagebot/desk"
	"triagebot/mining"
	"triagebot/mining/feed"
)

func (s *Server) vendorPages() {
	for _, p := range learnedPages {
		s.page("GET "+p.Path, desk.Vendor, s.counted(p))
	}
	s.page("GET /learned/checks/{id}", desk.Vendor, s.counted(subPage{Path: "/learned/checks", Page: "learned-readings", show: (*Server).learnedReadings}))
	s.file("GET /learned/files/{name}", desk.Vendor, s.learnedFile)
}

// subPage is one of the pages about closed cases.
type subPage struct {
	Path, Name, Title, Page string
	Wide                    bool
	show                    func(*Server, *asking, *feed.Snapshot) (any, error)
}

// learnedPages in the order in which they are listed.
var learnedPages = []subPage{
	{"/learned", "At a glance", "What closed cases teach", "learned", false, (*Server).learnedGlance},
	{"/learned/counts", "How often", "How often", "learned-counts", false, (*Server).learnedCounts},
	{"/learned/rising", "Rising", "What is rising", "learned-rising", false, (*Server).learnedRising},
	{"/learned/lives", "Life of parts", "How long parts last", "learned-lives", true, (*Server).learnedLives},
	{"/learned/checks", "Checks", "Checks", "learned-checks", false, (*Server).learnedChecks},
	{"/learned/rules", "Rules", "Rules that misled, and rules never used", "learned-rules", true, (*Server).learnedRules},
	{"/learned/wording", "Wording", "Wording that matched nothing", "learned-wording", false, (*Server).learnedWording},
}

// learned is what every page about closed cases gets.
type learned struct {
	*mining.Report
	Sub   []subPage
	Path  string // of the sub-page
	Files []offered
	Body  any
}

// offered is a file to download.
type offered struct{ Name, Says string }

// snapshot is the last report; nil while there is none, or nothing in it.
func (s *Server) snapshot() *feed.Snapshot {
	if s.c.Feed == nil {
		return nil
	}
	if x := s.c.Feed.Snapshot(); x != nil && x.Report.Cases > 0 {
		return x
	}
	return nil
}

// counted gives a page the report of now, or says that there is none yet.
func (s *Server) counted(p subPage) func(*asking) (view, error) {
	sub := learnedPages // a variable, for the table itself leads here
	return func(a *asking) (view, error) {
		x := s.snapshot()
		if x == nil {
			return view{Page: "learned-none", Title: "What closed cases teach"}, nil
		}
		body, err := p.show(s, a, x)
		if err != nil {
			return view{}, err
		}
		v := learned{Report: x.Report, Sub: sub, Path: p.Path, Body: body}
		title := p.Title
		if b, ok := body.(interface {
			files() []offered
			title() string
		}); ok {
			v.Files, title = b.files(), cmp.Or(b.title(), title)
		}
		return view{Page: p.Page, Title: title, Data: v, Wide: p.Wide}, nil
	}
}

// filesOf are the tables that a page shows, and its pictures.
func filesOf(x *feed.Snapshot, tables []string, pictures ...string) []offered {
	var list []offered
	for _, t := range tables {
		if x.Report.Demo {
			t = "demo-" + t
		}
		list = append(list, offered{t + ".csv", t + " as CSV"})
	}
	for _, p := range x.Pictures() {
		for _, begins := range pictures {
			if len(p.Name) >= len(begins) && p.Name[:len(begins)] == begins {
				list = append(list, offered{p.Name + ".svg", p.Title + ", as SVG"}, offered{p.Name + ".png", p.Title + ", as PNG"})
			}
		}
	}
	return list
}

// downloads gives a body its title and files.
type downloads struct {
	list  []offered
	named string
}

func (d downloads) files() []offered { return d.list }
func (d downloads) title() string    { return d.named }

var fileKinds = map[string]string{
	".csv": "text/csv; charset=utf-8", ".json": "application/json", ".yaml": "application/yaml; charset=utf-8", ".svg": "image/svg+xml", ".png": "image/png",
}

// learnedFile sends what a page offers. Pictures are sent to be kept, not shown:
// an SVG of ours would be shown under the same policy, but need not be.
func (s *Server) learnedFile(a *asking, w http.ResponseWriter) error {
	x, name := s.snapshot(), a.PathValue("name")
	none := refuse(http.StatusNotFound, "There is no such file", "What it showed may have changed since the page was loaded. Load the page again.")
	if x == nil {
		return none
	}
	var data []byte
	ok := true
	switch ext := path.Ext(name); ext {
	case ".csv":
		data, ok = x.Tables[name[:len(name)-len(ext)]]
	case ".json":
		data, ok = x.JSON, name == "report.json" || name == "demo-report.json"
	case ".yaml":
		data, ok = x.Patch, name == "words.yaml" || name == "demo-words.yaml"
	default:
		var err error
		if data, ok, err = x.Picture(name); err != nil {
			return err
		}
	}
	if !ok {
		return none
	}
	h := w.Header()
	h.Set("Content-Type", fileKinds[path.Ext(name)])
	h.Set("Content-Disposition", `attachment; filename="`+name+`"`) // name is one of ours by now
	h.Set("Content-Length", strconv.Itoa(len(data)))
	_, _ = w.Write(data)
	return nil
}

// nameOf is what people call what a report counts.
func (s *Server) nameOf(kind mining.Kind, id string) string {
	k := s.c.KB
	switch id {
	case mining.NotFound:
		return "Not found"
	case mining.Unconfirmed:
		return "Nobody confirmed one"
	case "(small groups)":
		return "Small groups together"
	}
	switch kind {
	case mining.Cases:
		return "All cases"
	case mining.Symptoms:
		if x := k.Symptom(id); x != nil {
			return capital(x.Name)
		}
	case mining.Causes:
		if x := k.Cause(id); x != nil {
			return capital(x.Name)
		}
	case mining.Remedies:
		if x := k.Remedy(id); x != nil {
			return capital(x.Name)
		}
	}
	return capital(id)
}

func (s *Server) kitName(id string) string {
	switch id {
	case mining.All:
		return "All kits"
	case mining.Unknown:
		return "Kit not come to"
	}
	if x := s.c.KB.Kit(id); x != nil {
		return capital(x.Name)
	}
	return id
}

func (s *Server) checkName(id string) string {
	if x := s.c.KB.Check(id); x != nil {
		return capital(x.Name)
	}
	return id
}
