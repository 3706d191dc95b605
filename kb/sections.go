package kb

import (
	"maps"
	"reflect"
	"slices"

	"gopkg.in/yaml.v3"
)

// sectionKeys are the keys a file may have at its top.
var sectionKeys = func() []string {
	var keys []string
	t := reflect.TypeFor[KB]()
	for i := range t.NumField() {
		if f := t.Field(i); f.IsExported() && f.Name != "Version" && f.Name != "Language" {
			keys = append(keys, kebab(f.Name))
		}
	}
	return keys
}()

// sections decodes one file into the knowledge base.
func (d *decoder) sections(root *yaml.Node, k *KB) {
	root = follow(root)
	if root.Kind == yaml.ScalarNode && root.Tag == "!!null" {
		d.out.warn(d.at(root), "empty-file", "fill it or take it away", "the file holds nothing")
		return
	}
	v := reflect.ValueOf(k).Elem()
	d.pairs(root, "the file", func(key, value *yaml.Node) {
		i := slices.Index(sectionKeys, key.Value)
		if i < 0 {
			d.unknownKey(key, sectionKeys, "the file")
			d.passedOver = true
			return
		}
		what := "section " + key.Value
		earlier := d.places.sections[key.Value]
		d.places.sections[key.Value] = append(earlier, place{d.file, value})
		switch into := v.Field(i); {
		case key.Value == "about":
			if len(earlier) > 0 {
				d.out.error(d.at(key), "duplicate-key", "keep one of them", "section about is given twice, first at %s", earlier[0].pos())
				return
			}
			d.value(value, into, rule{}, what)
		case key.Value == "words":
			var w Words
			d.value(value, reflect.ValueOf(&w).Elem(), rule{}, what)
			d.join(&k.Words, w, value)
		default:
			part := reflect.New(into.Type()).Elem()
			d.value(value, part, rule{}, what)
			into.Set(reflect.AppendSlice(into, part))
		}
	})
}

// join adds the words of one file to those of the files before.
func (d *decoder) join(all *Words, w Words, n *yaml.Node) {
	all.Same = append(all.Same, w.Same...)
	all.Parts = append(all.Parts, w.Parts...)
	all.OffTopic = append(all.OffTopic, w.OffTopic...)
	if all.Spelling == nil {
		all.Spelling = map[string]string{}
	}
	for _, wrong := range slices.Sorted(maps.Keys(w.Spelling)) {
		if _, twice := all.Spelling[wrong]; twice {
			p, _ := descend(place{d.file, n}, []string{"spelling", wrong})
			d.out.error(p.pos(), "duplicate-key", "keep one of them", "spelling %q is given in another file already", wrong)
			continue
		}
		all.Spelling[wrong] = w.Spelling[wrong]
	}
	for _, lists := range []struct{ all, more *map[string][]string }{
		{&all.Tools, &w.Tools}, {&all.Kinds, &w.Kinds}, {&all.Told, &w.Told}, {&all.Denied, &w.Denied}, {&all.Figures, &w.Figures}, {&all.Seen, &w.Seen},
	} {
		if *lists.all == nil {
			*lists.all = map[string][]string{}
		}
		for name, words := range *lists.more {
			(*lists.all)[name] = append((*lists.all)[name], words...)
		}
	}
}

// finish fills the index, reports ids given twice, and sets the defaults that
// depend on other values.
func (k *KB) finish(out *findings) {
	x := &k.index
	x.kits = byID(k.Kits, "kit", func(e *Kit) (string, Pos) { return e.ID, e.Pos }, out)
	x.symptoms = byID(k.Symptoms, "symptom", func(e *Symptom) (string, Pos) { return e.ID, e.Pos }, out)
	x.causes = byID(k.Causes, "cause", func(e *Cause) (string, Pos) { return e.ID, e.Pos }, out)
	x.remedies = byID(k.Remedies, "remedy", func(e *Remedy) (string, Pos) { return e.ID, e.Pos }, out)
	x.checks = byID(k.Checks, "check", func(e *Check) (string, Pos) { return e.ID, e.Pos }, out)
	x.cautions = byID(k.Cautions, "caution", func(e *Caution) (string, Pos) { return e.ID, e.Pos }, out)
	x.access = byID(k.Access, "access", func(e *Access) (string, Pos) { return e.ID, e.Pos }, out)
	x.tables = byID(k.Tables, "table", func(e *Table) (string, Pos) { return e.ID, e.Pos }, out)
	byID(k.Cases, "case", func(e *Case) (string, Pos) { return e.Name, e.Pos }, out)
	for _, s := range k.Symptoms {
		if c := x.checks[s.ID]; c != nil {
			out.error(s.Pos, "duplicate-id", "rename one: causes speak of both under shows",
				"symptom %q has the id of the check at %s", s.ID, c.Pos)
		}
	}
	x.same = map[string]sameAs{}
	for _, c := range k.Checks {
		for i, o := range c.Options {
			if _, twice := x.same[o.Symptom]; o.Symptom != "" && !twice {
				x.same[o.Symptom] = sameAs{c, i}
			}
		}
	}
	for _, kit := range k.Kits {
		if kit.Name == "" {
			kit.Name = kit.ID
		}
		for i := range kit.Line.Links {
			if l := &kit.Line.Links[i]; l.Name == "" {
				l.Name = spaced(l.ID)
			}
		}
	}
	for _, c := range k.Cases {
		if c.Kit == "" {
			c.Kit = k.About.Generic
		}
	}
}

// requireSections reports sections that no file has; file is where it says so.
func (k *KB) requireSections(file string, out *findings) {
	for _, key := range []string{"about", "kits", "symptoms", "causes", "checks"} {
		if len(k.index.places.sections[key]) == 0 {
			out.error(Pos{file, 1, 1}, "missing-section", "add it to one of the files", "no file has the section %s", key)
		}
	}
}

// byID indexes entities; the first of those with the same id stands.
func byID[T any](all []*T, what string, of func(*T) (string, Pos), out *findings) map[string]*T {
	m := make(map[string]*T, len(all))
	for _, e := range all {
		id, pos := of(e)
		if id == "" {
			continue // reported as a missing key
		}
		if first, twice := m[id]; twice {
			_, at := of(first)
			out.error(pos, "duplicate-id", "rename one or take it away", "%s %q is given twice, first at %s", what, id, at)
			continue
		}
		m[id] = e
	}
	return m
}

// spaced writes an id as words.
func spaced(id string) string {
	b := []byte(id)
	for i := range b {
		if b[i] == '-' {
			b[i] = ' '
		}
	}
	return string(b)
}
