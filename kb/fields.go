package kb

import (
	"maps"
	"reflect"
	"strings"
	"unicode"
)

// shape says how a Go type is written in YAML. Keys follow from the names of
// the fields (HandOver is hand-over); rules adds what Go types cannot say.
type shape struct {
	name  string // for messages: `window "good"`
	rules map[string]rule
}

// rule is what the loader demands of a key beyond its Go type. For a list or a
// mapping it holds for each member.
type rule struct {
	must  bool        // the key must be given, and not be empty
	id    bool        // lower-case words joined by hyphens
	name  bool        // a name that expressions can use
	limit bool        // a number or an expression
	set   bool        // nothing in the list may be given twice
	gaps  bool        // an item of the list may be empty
	words []string    // the only words allowed; of a mapping, the only keys
	span  *[2]float64 // the least and the greatest number allowed
	above bool        // the least itself is not allowed
	def   any         // what stands when the key is not given
}

func within(lo, hi float64) *[2]float64 { return &[2]float64{lo, hi} }

var (
	share   = within(0, 1)
	minutes = within(0, 10000)
	figure  = within(-1e12, 1e12)

	must      = rule{must: true}
	mustID    = rule{must: true, id: true}
	mustLimit = rule{must: true, limit: true}
	ids       = rule{id: true, set: true}
	phrase    = rule{set: true}
)

// Units are the units a reading may have.
var Units = []string{"V", "A", "Ω", "°C", "Hz", "%"}

var (
	families   = []string{"supply", "drive", "body", "history", "danger"}
	kinds      = []string{"look", "try", "measure", "talk"}
	hands      = []string{"owner", "workshop", "specialist"}
	lineStates = []string{"weak", "lifted", "dragged", "dead"}
)

var shapes = map[reflect.Type]shape{
	reflect.TypeFor[About](): {"about", map[string]rule{
		"name": must, "thing": must, "person": {def: "a person"}, "generic": mustID,
		"meters": {words: Units},
	}},
	reflect.TypeFor[BeliefSettings](): {"belief", map[string]rule{
		"pairs": {span: share, def: 0.06}, "unlisted": {span: share, above: true, def: 0.03},
		"nothing-wrong": {span: share, def: 0.02}, "slip": {span: share, above: true, def: 0.02},
	}},
	reflect.TypeFor[CostSettings](): {"cost", map[string]rule{
		"hand-over": {span: minutes, above: true, def: 150.0}, "sure": {span: within(0.5, 1), def: 0.9},
	}},
	reflect.TypeFor[Meter](): {"meter", map[string]rule{
		"percent": {must: true, span: within(0, 100)}, "digits": {span: within(0, 1000)}, "counts": {span: within(0, 1e7)},
	}},
	reflect.TypeFor[Kit](): {"kit", map[string]rule{
		"id": mustID, "words": phrase, "parts": ids, "priors": {span: within(0, 1000)},
	}},
	reflect.TypeFor[Ask](): {"ask", map[string]rule{
		"figure": {must: true, name: true}, "question": must, "unit": {must: true, words: Units},
		"from": {must: true, span: figure}, "to": {must: true, span: figure}, "default": {must: true, span: figure},
	}},
	reflect.TypeFor[Plug](): {"plug", map[string]rule{
		"id": mustID, "name": must, "viewed": must, "rows": {must: true, gaps: true}, "pins": must,
	}},
	reflect.TypeFor[Pin]():  {"pin", map[string]rule{"id": mustID, "name": must}},
	reflect.TypeFor[Line](): {"line", map[string]rule{"source": mustID, "ground": mustID, "links": must}},
	reflect.TypeFor[Link](): {"link", map[string]rule{
		"id": mustID, "from": mustID, "to": mustID, "return": {id: true},
	}},
	reflect.TypeFor[Symptom](): {"symptom", map[string]rule{
		"id": mustID, "name": must, "family": {must: true, words: families}, "say": must, "denied": must, "ask": must,
		"danger": {id: true}, "parts": ids, "phrases": {must: true, set: true}, "absent": phrase,
		"excludes": ids, "implies": ids, "rate": {span: share, def: 0.02},
	}},
	reflect.TypeFor[Cause](): {"cause", map[string]rule{
		"id": mustID, "name": must, "part": must, "parts": ids, "prior": {must: true, span: within(0, 1000), above: true},
		"remedy": mustID, "shows": {span: share},
	}},
	reflect.TypeFor[Form](): {"form", map[string]rule{
		"name": must, "share": {must: true, span: share, above: true}, "shows": {span: share},
	}},
	reflect.TypeFor[CauseLine](): {"line", map[string]rule{"opens": ids, "weakens": ids, "shorts": ids}},
	reflect.TypeFor[Twin]():      {"twin", map[string]rule{"cause": mustID, "parted-by": must}},
	reflect.TypeFor[Remedy](): {"remedy", map[string]rule{
		"id": mustID, "name": must, "steps": must, "verify": must, "minutes": {must: true, span: minutes},
		"wrong": {must: true, span: minutes}, "by": {words: hands, def: "workshop"}, "again": {id: true}, "cautions": ids,
	}},
	reflect.TypeFor[Check](): {"check", map[string]rule{
		"id": mustID, "kind": {must: true, words: kinds}, "name": must, "asks": must, "phrases": phrase, "why": must,
		"state": ids, "tools": ids, "minutes": {must: true, span: minutes}, "access": ids,
		"cannot": {span: share, def: 0.05}, "risk": {span: minutes}, "first": ids, "parts": ids, "cautions": ids,
		"unit": {words: Units},
	}},
	reflect.TypeFor[Probe]():  {"probe", map[string]rule{"plug": {id: true}, "pin": {id: true}}},
	reflect.TypeFor[Need]():   {"need", map[string]rule{"check": mustID, "outcomes": {must: true, id: true, set: true}}},
	reflect.TypeFor[Window](): {"window", map[string]rule{"id": mustID, "name": must, "from": mustLimit, "to": mustLimit}},
	reflect.TypeFor[Option](): {"option", map[string]rule{
		"id": mustID, "label": must, "phrases": phrase, "symptom": {id: true}, "parts": ids, "told-by": ids,
	}},
	reflect.TypeFor[Range]():   {"range", map[string]rule{"from": mustLimit, "to": mustLimit}},
	reflect.TypeFor[OddNote](): {"odd", map[string]rule{"when": must, "say": must}},
	reflect.TypeFor[LineReads](): {"line", map[string]rule{
		"at": {id: true}, "any": ids, "all": ids, "against": {id: true}, "reads": {must: true, words: lineStates, span: share},
	}},
	reflect.TypeFor[Caution](): {"caution", map[string]rule{"id": mustID, "text": must}},
	reflect.TypeFor[Due]():     {"due", map[string]rule{"state": ids, "tools": ids, "units": {words: Units, set: true}}},
	reflect.TypeFor[Access](): {"access", map[string]rule{
		"id": mustID, "name": must, "how": must, "minutes": {must: true, span: minutes},
	}},
	reflect.TypeFor[Table](): {"table", map[string]rule{"id": mustID, "points": {must: true, span: figure}}},
	reflect.TypeFor[Words](): {"words", map[string]rule{"parts": phrase, "off-topic": phrase}},
	reflect.TypeFor[Case](): {"case", map[string]rule{
		"name": must, "kit": {id: true}, "suspect": {id: true}, "next": {id: true},
	}},
}

// textShapes are the types of a language's files.
var textShapes = map[reflect.Type]shape{
	reflect.TypeFor[AboutText]():   {"about", nil},
	reflect.TypeFor[KitText]():     {"kit", map[string]rule{"words": phrase}},
	reflect.TypeFor[SymptomText](): {"symptom", map[string]rule{"phrases": phrase, "absent": phrase}},
	reflect.TypeFor[CauseText]():   {"cause", nil},
	reflect.TypeFor[RemedyText]():  {"remedy", nil},
	reflect.TypeFor[CheckText]():   {"check", map[string]rule{"phrases": phrase}},
	reflect.TypeFor[WindowText]():  {"window", nil},
	reflect.TypeFor[OptionText]():  {"option", map[string]rule{"phrases": phrase}},
	reflect.TypeFor[AccessText]():  {"access", nil},
}

// field is one key of a type.
type field struct {
	key   string
	index int
	rule  rule
}

// layout is a shape joined with its Go type.
type layout struct {
	name   string
	fields []field
	keys   []string
	pos    int // index of the field Pos, or -1
}

var layouts = func() map[reflect.Type]layout {
	all := map[reflect.Type]layout{}
	both := maps.Clone(shapes)
	maps.Copy(both, textShapes)
	for t, s := range both {
		l := layout{name: s.name, pos: -1}
		for i := range t.NumField() {
			f := t.Field(i)
			if f.Name == "Pos" {
				l.pos = i
				continue
			}
			if f.Tag.Get("yaml") == "-" { // no key: what another language brings
				continue
			}
			key := kebab(f.Name)
			l.fields = append(l.fields, field{key, i, s.rules[key]})
			l.keys = append(l.keys, key)
		}
		all[t] = l
	}
	return all
}()

// kebab writes a Go name as YAML has it: HandOver is hand-over, ID is id.
func kebab(name string) string {
	var b strings.Builder
	lower := false
	for _, r := range name {
		if unicode.IsUpper(r) && lower {
			b.WriteByte('-')
		}
		lower = unicode.IsLower(r)
		b.WriteRune(unicode.ToLower(r))
	}
	return b.String()
}
