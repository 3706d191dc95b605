package kb

import (
	"fmt"
	"maps"
	"slices"
)

// translation puts the texts of one language in the place of those of the base,
// and notes what is lacking.
type translation struct {
	*textReader
	code string
	base *KB
	used map[string]bool // terms
}

func (k *KB) translate(code string, l *tongueFiles) (*KB, []Diagnostic) {
	out := &findings{}
	t := &translation{textReader: readTexts(l.files, out), code: code, base: k, used: map[string]bool{}}
	t.unknownIDs(k)
	own := *k
	own.Language, own.tongues = code, tongues{base: k, all: k.tongues.all}
	t.about(&own)
	own.Kits, own.Symptoms, own.Causes = each(k.Kits, t.kit), each(k.Symptoms, t.symptom), each(k.Causes, t.cause)
	own.Remedies, own.Checks, own.Cautions, own.Access = each(k.Remedies, t.remedy), each(k.Checks, t.check), each(k.Cautions, t.caution), each(k.Access, t.access)
	own.Words, own.Cases = t.Words, t.Cases
	if own.Words.Tools == nil {
		own.Words.Tools = k.Words.Tools
	}
	own.index = index{places: t.placesOf(&own)}
	own.finish(&findings{}) // what is wrong with ids was found in the base
	t.unusedTerms()
	return &own, Sort(out.list)
}

// each copies entities and lets f change the copies.
func each[T any](base []*T, f func(*T)) []*T {
	list := make([]*T, len(base))
	for i, e := range base {
		own := *e
		f(&own)
		list[i] = &own
	}
	return list
}

// text is the language's own text, or the term for the base's, or the base's.
func (t *translation) text(own, base string, section, id string, path ...string) string {
	if own != "" || base == "" {
		return own
	}
	if term, ok := t.Terms[base]; ok {
		t.used[base] = true
		return term
	}
	t.lacks(section, id, path)
	return base
}

// term is the term for a text of the base.
func (t *translation) term(base string, section, id string, path ...string) string {
	return t.text("", base, section, id, path...)
}

func (t *translation) list(own, base []string, section, id string, path ...string) []string {
	if len(own) > 0 || len(base) == 0 {
		return own
	}
	t.lacks(section, id, path)
	return base
}

func (t *translation) lacks(section, id string, path []string) {
	full := append([]string{section, id}, path...)
	what := ""
	for _, step := range full {
		what += step + ": "
	}
	t.out.warn(t.base.At(full...), "untranslated", fmt.Sprintf("add it to a file in lang/%s; terms serve for short texts that stand in many places", t.code),
		"language %q has no text for %s", t.code, what[:len(what)-2])
}

func (t *translation) about(own *KB) {
	a := &own.About
	a.Thing = t.text(t.About.Thing, a.Thing, "about", "thing")
	a.Person = t.text(t.About.Person, a.Person, "about", "person")
	if t.About.Name != "" {
		a.Name = t.About.Name
	}
	a.States = maps.Clone(a.States)
	for _, id := range slices.Sorted(maps.Keys(a.States)) {
		a.States[id] = t.text(t.About.States[id], a.States[id], "about", "states", id)
	}
}

func (t *translation) kit(k *Kit) {
	own := t.Kits[k.ID]
	k.Name = t.text(own.Name, k.Name, "kits", k.ID, "name")
	k.Summary = t.text(own.Summary, k.Summary, "kits", k.ID, "summary")
	k.Words = t.list(own.Words, k.Words, "kits", k.ID, "words")
	k.Ask = slices.Clone(k.Ask)
	for i := range k.Ask {
		a := &k.Ask[i]
		a.Question = t.text(own.Ask[a.Figure], a.Question, "kits", k.ID, "ask", a.Figure)
	}
	k.Plugs = each(k.Plugs, func(p *Plug) {
		p.Name = t.term(p.Name, "kits", k.ID, "plugs", p.ID, "name")
		p.Where = t.term(p.Where, "kits", k.ID, "plugs", p.ID, "where")
		p.ViewedIn = t.term(p.Viewed, "kits", k.ID, "plugs", p.ID, "viewed")
		p.Pins = slices.Clone(p.Pins)
		for i := range p.Pins {
			pin := &p.Pins[i]
			pin.Name = t.term(pin.Name, "kits", k.ID, "plugs", p.ID, "pins", pin.ID, "name")
			pin.ColourIn = t.term(pin.Colour, "kits", k.ID, "plugs", p.ID, "pins", pin.ID, "colour")
		}
	})
	k.Line.Links = slices.Clone(k.Line.Links)
	for i := range k.Line.Links {
		l := &k.Line.Links[i]
		l.Name = t.term(l.Name, "kits", k.ID, "line", "links", l.ID, "name")
	}
}

func (t *translation) symptom(s *Symptom) {
	own := t.Symptoms[s.ID]
	s.Name = t.text(own.Name, s.Name, "symptoms", s.ID, "name")
	s.Say = t.text(own.Say, s.Say, "symptoms", s.ID, "say")
	s.Denied = t.text(own.Denied, s.Denied, "symptoms", s.ID, "denied")
	s.Ask = t.text(own.Ask, s.Ask, "symptoms", s.ID, "ask")
	if len(own.Phrases) == 0 {
		t.lacks("symptoms", s.ID, []string{"phrases"})
	}
	s.Phrases, s.Absent = own.Phrases, own.Absent // phrases of another language would only mislead
}

func (t *translation) cause(c *Cause) {
	own := t.Causes[c.ID]
	c.Name = t.text(own.Name, c.Name, "causes", c.ID, "name")
	c.Part = t.term(c.Part, "causes", c.ID, "part")
	c.Twins = slices.Clone(c.Twins)
	for i := range c.Twins {
		w := &c.Twins[i]
		w.PartedBy = t.text(own.Twins[w.Cause], w.PartedBy, "causes", c.ID, "twins", w.Cause)
	}
}

func (t *translation) remedy(r *Remedy) {
	own := t.Remedies[r.ID]
	r.Name = t.text(own.Name, r.Name, "remedies", r.ID, "name")
	r.Steps = t.list(own.Steps, r.Steps, "remedies", r.ID, "steps")
	r.Verify = t.text(own.Verify, r.Verify, "remedies", r.ID, "verify")
}

func (t *translation) check(c *Check) {
	own := t.Checks[c.ID]
	c.Name = t.text(own.Name, c.Name, "checks", c.ID, "name")
	c.Asks = t.text(own.Asks, c.Asks, "checks", c.ID, "asks")
	c.Why = t.text(own.Why, c.Why, "checks", c.ID, "why")
	c.How = t.list(own.How, c.How, "checks", c.ID, "how")
	if len(c.Phrases) > 0 {
		if len(own.Phrases) == 0 {
			t.lacks("checks", c.ID, []string{"phrases"})
		}
		c.Phrases = own.Phrases
	}
	c.SideIn = t.term(c.Side, "checks", c.ID, "side")
	c.MeterIn = t.term(c.Meter, "checks", c.ID, "meter")
	c.Red, c.Black = t.probe(c.Red, c.ID, "red"), t.probe(c.Black, c.ID, "black")
	c.Windows = slices.Clone(c.Windows)
	for i := range c.Windows {
		w := &c.Windows[i]
		w.Name = t.text(own.Windows[w.ID].Name, w.Name, "checks", c.ID, "windows", w.ID, "name")
		w.Means = t.text(own.Windows[w.ID].Means, w.Means, "checks", c.ID, "windows", w.ID, "means")
	}
	c.Options = slices.Clone(c.Options)
	for i := range c.Options {
		o := &c.Options[i]
		x := own.Options[o.ID]
		o.Label = t.text(x.Label, o.Label, "checks", c.ID, "options", o.ID, "label")
		o.Means = t.text(x.Means, o.Means, "checks", c.ID, "options", o.ID, "means")
		o.Phrases = x.Phrases
	}
	c.Odd = slices.Clone(c.Odd)
	for i := range c.Odd {
		say := ""
		if len(own.Odd) == len(c.Odd) {
			say = own.Odd[i]
		}
		c.Odd[i].Say = t.text(say, c.Odd[i].Say, "checks", c.ID, "odd", fmt.Sprint(i))
	}
}

func (t *translation) probe(p *Probe, check, which string) *Probe {
	if p == nil || p.Place == "" {
		return p
	}
	own := *p
	own.Place = t.term(p.Place, "checks", check, which, "place")
	return &own
}

func (t *translation) caution(c *Caution) {
	c.Text = t.list(t.Cautions[c.ID], c.Text, "cautions", c.ID, "text")
}

func (t *translation) access(a *Access) {
	own := t.Access[a.ID]
	a.Name = t.text(own.Name, a.Name, "access", a.ID, "name")
	a.How = t.text(own.How, a.How, "access", a.ID, "how")
}

// unusedTerms warns of terms that stand nowhere in the base: it has changed, or
// the term is misspelled.
func (t *translation) unusedTerms() {
	for _, term := range slices.Sorted(maps.Keys(t.Terms)) {
		if !t.used[term] {
			t.out.warn(t.keys["terms"][term], "unused", "write it as the base has it, or take it away", "the term %q stands nowhere in the base language", term)
		}
	}
}

// placesOf lets diagnostics about a text point into the language's own file.
func (t *translation) placesOf(own *KB) placeIndex {
	x := newPlaceIndex()
	maps.Copy(x.entities, t.entities)
	put := func(section, id string, entity, base any) {
		if p, ok := t.places[section][id]; ok {
			x.entities[entity] = p
		} else if p, ok := t.base.index.places.entities[base]; ok {
			x.entities[entity] = p
		}
	}
	for i, e := range own.Kits {
		put("kits", e.ID, e, t.base.Kits[i])
	}
	for i, e := range own.Symptoms {
		put("symptoms", e.ID, e, t.base.Symptoms[i])
	}
	for i, e := range own.Causes {
		put("causes", e.ID, e, t.base.Causes[i])
	}
	for i, e := range own.Remedies {
		put("remedies", e.ID, e, t.base.Remedies[i])
	}
	for i, e := range own.Checks {
		put("checks", e.ID, e, t.base.Checks[i])
	}
	for i, e := range own.Cautions {
		put("cautions", e.ID, e, t.base.Cautions[i])
	}
	for i, e := range own.Access {
		put("access", e.ID, e, t.base.Access[i])
	}
	for _, file := range slices.Sorted(maps.Keys(t.textReader.places["words"])) {
		x.sections["words"] = append(x.sections["words"], t.textReader.places["words"][file])
	}
	return x
}
