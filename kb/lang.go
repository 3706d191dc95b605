package kb

import (
	"maps"
	"path"
	"slices"
	"strings"
	"sync"

	"gopkg.in/yaml.v3"
)

// A language of a knowledge base is a folder below lang, named by its code, of
// files that give texts and phrases by the ids of the base. They are read when
// the language is first needed; only the words by which it is recognised are
// read at once.
const (
	langFolder     = "lang"
	recogniseFile  = "recognise.yaml"
	recogniseOther = "recognise.yml"
)

// tongues are the languages of a knowledge base by their codes.
type tongues struct {
	base *KB // of a knowledge base in another language: the one it was made from
	all  map[string]*tongueFiles
}

type tongueFiles struct {
	files     []file
	recognise []string
	once      sync.Once
	kb        *KB
	found     []Diagnostic
}

// texts are what the files of one language hold.
type texts struct {
	About     AboutText
	Recognise []string
	Terms     map[string]string // short texts of the base that stand in many places -> the language's own
	Kits      map[string]KitText
	Symptoms  map[string]SymptomText
	Causes    map[string]CauseText
	Remedies  map[string]RemedyText
	Checks    map[string]CheckText
	Cautions  map[string][]string
	Access    map[string]AccessText
	Words     Words
	Cases     []*Case
}

// AboutText holds the texts of About in another language.
type AboutText struct {
	Name, Thing, Person string
	States              map[string]string
}

// KitText holds the texts of a kit in another language; those of its plugs and
// links are terms.
type KitText struct {
	Name, Summary string
	Words         []string
	Ask           map[string]string // figure -> question
}

// SymptomText holds the texts and phrases of a symptom in another language.
type SymptomText struct {
	Name, Say, Denied, Ask string
	Phrases, Absent        []string
}

// CauseText holds the texts of a cause in another language; its part is a term.
type CauseText struct {
	Name  string
	Twins map[string]string // twin -> what parts them
}

// RemedyText holds the texts of a remedy in another language.
type RemedyText struct {
	Name   string
	Steps  []string
	Verify string
}

// CheckText holds the texts and phrases of a check in another language; its
// probes' places, side and meter are terms.
type CheckText struct {
	Name, Asks, Why string
	Phrases, How    []string
	Windows         map[string]WindowText
	Options         map[string]OptionText
	Odd             []string // in the order of the base
}

// WindowText holds the texts of a window in another language.
type WindowText struct{ Name, Means string }

// OptionText holds the texts and phrases of an option in another language.
type OptionText struct {
	Label   string
	Phrases []string
	Means   string
}

// AccessText holds the texts of what is to be opened in another language.
type AccessText struct{ Name, How string }

// isLang says whether a file belongs to a language, and to which.
func isLang(name string) (code string, ok bool) {
	rest, ok := strings.CutPrefix(name, langFolder+"/")
	if !ok {
		return "", false
	}
	code, _, _ = strings.Cut(rest, "/")
	return code, true
}

// splitLanguages takes the files of languages out of those of the base.
func splitLanguages(files []file, out *findings) ([]file, tongues) {
	var base []file
	t := tongues{all: map[string]*tongueFiles{}}
	for _, f := range files {
		code, ok := isLang(f.name)
		if !ok {
			base = append(base, f)
			continue
		}
		if path.Dir(f.name) == langFolder {
			out.error(Pos{f.name, 1, 1}, "file", "put it into the folder of its language, such as lang/es", "this file is of no language")
			continue
		}
		if t.all[code] == nil {
			t.all[code] = &tongueFiles{}
		}
		l := t.all[code]
		l.files = append(l.files, f)
		if base := path.Base(f.name); base == recogniseFile || base == recogniseOther {
			var x struct{ Recognise []string }
			if yaml.Unmarshal(f.text, &x) == nil { // what is wrong with it is told when the language is checked
				l.recognise = x.Recognise
			}
		}
	}
	return base, t
}

// Languages lists the codes of the languages that the knowledge base has beside
// the base language.
func (k *KB) Languages() []string { return slices.Sorted(maps.Keys(k.tongues.all)) }

// Recognised are the words of the trade by which a language is recognised.
func (k *KB) Recognised(code string) []string {
	if l := k.tongues.all[code]; l != nil {
		return l.recognise
	}
	return nil
}

// In is the knowledge base with its texts and phrases in a language: the same
// ids, rules and figures, and of the words all that the language has. What it
// lacks stays in the base language. It is made when first asked for. "", the base
// language, and a language that is not there give the base itself.
func (k *KB) In(code string) *KB {
	base := k
	if k.tongues.base != nil {
		base = k.tongues.base
	}
	l := base.tongues.all[code]
	if l == nil {
		return base
	}
	l.once.Do(func() { l.kb, l.found = base.translate(code, l) })
	return l.kb
}

// CheckLanguage says what is wrong with the texts of a language, and what it
// lacks.
func (k *KB) CheckLanguage(code string) []Diagnostic {
	k.In(code)
	if l := k.tongues.all[code]; l != nil {
		return l.found
	}
	return nil
}

// ViewedSaid is Viewed for people, in the language of the knowledge base. Viewed
// itself stays as written, because the side and the latch are read out of it.
func (p *Plug) ViewedSaid() string { return inWords(p.ViewedIn, p.Viewed) }

// ColourSaid is Colour for people; Colour itself is what is drawn.
func (p *Pin) ColourSaid() string { return inWords(p.ColourIn, p.Colour) }

// SideSaid is Side for people; the side is read out of Side itself.
func (c *Check) SideSaid() string { return inWords(c.SideIn, c.Side) }

// MeterSaid is Meter for people; the setting is read out of Meter itself.
func (c *Check) MeterSaid() string { return inWords(c.MeterIn, c.Meter) }

func inWords(own, base string) string {
	if own != "" {
		return own
	}
	return base
}
