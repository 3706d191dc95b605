package kb

import (
	"maps"
	"reflect"
	"slices"

	"gopkg.in/yaml.v3"
)

// textSections are the keys that a file of a language may have at its top.
var textSections = func() []string {
	var keys []string
	t := reflect.TypeFor[texts]()
	for i := range t.NumField() {
		keys = append(keys, kebab(t.Field(i).Name))
	}
	return keys
}()

// reader reads the files of one language and joins them.
type textReader struct {
	texts
	out      *findings
	places   map[string]map[string]place // section, id -> where it stands
	keys     map[string]map[string]Pos   // the same: its key
	entities map[any]place               // cases
}

func readTexts(files []file, out *findings) *textReader {
	r := &textReader{out: out, places: map[string]map[string]place{}, keys: map[string]map[string]Pos{}, entities: map[any]place{}}
	g := guard{left: maxNodes, out: out}
	for _, f := range files {
		g.file = f.name
		root := parse(f, out)
		if root == nil || !g.passes(root, 0, nil) {
			continue
		}
		r.file(f.name, follow(root))
	}
	return r
}

func (r *textReader) file(name string, root *yaml.Node) {
	d := decoder{file: name, out: r.out, places: newPlaceIndex()}
	v := reflect.ValueOf(&r.texts).Elem()
	d.pairs(root, "the file", func(key, value *yaml.Node) {
		i := slices.Index(textSections, key.Value)
		if i < 0 {
			d.unknownKey(key, textSections, "the file")
			return
		}
		into := v.Field(i)
		part := reflect.New(into.Type()).Elem()
		d.value(value, part, rule{}, "section "+key.Value)
		value = follow(value)
		r.note(name, key.Value, value)
		switch {
		case key.Value == "words":
			w, _ := part.Interface().(Words)
			d.join(&r.Words, w, value)
		case key.Value == "about":
			into.Set(part)
		case into.Kind() == reflect.Slice:
			maps.Copy(r.entities, d.places.entities)
			into.Set(reflect.AppendSlice(into, part))
		case into.Kind() == reflect.Map:
			r.join(key.Value, into, part)
		}
	})
}

// note keeps where each id of a section stands.
func (r *textReader) note(file, section string, n *yaml.Node) {
	if r.places[section] == nil {
		r.places[section], r.keys[section] = map[string]place{}, map[string]Pos{}
	}
	if section == "words" {
		r.places[section][file] = place{file, n}
		return
	}
	for i := 0; n.Kind == yaml.MappingNode && i+1 < len(n.Content); i += 2 {
		id := n.Content[i].Value
		at := Pos{file, n.Content[i].Line, n.Content[i].Column}
		if first, twice := r.keys[section][id]; twice {
			r.out.error(at, "duplicate-id", "join them", "%q is given twice under %s, first at %s", id, section, first)
			continue
		}
		r.places[section][id], r.keys[section][id] = place{file, n.Content[i+1]}, at
	}
}

// join adds the entries of one file to those of the files before.
func (r *textReader) join(section string, into, part reflect.Value) {
	if into.IsNil() {
		into.Set(reflect.MakeMap(into.Type()))
	}
	for _, key := range part.MapKeys() {
		if !into.MapIndex(key).IsValid() { // a second one is reported by note
			into.SetMapIndex(key, part.MapIndex(key))
		}
	}
}

// unknownIDs reports ids that the base does not have.
func (r *textReader) unknownIDs(k *KB) {
	x := &k.index
	for _, s := range []struct {
		section, what string
		has           []string
	}{
		{"kits", "kit", idsOf(x.kits)}, {"symptoms", "symptom", idsOf(x.symptoms)}, {"causes", "cause", idsOf(x.causes)},
		{"remedies", "remedy", idsOf(x.remedies)}, {"checks", "check", idsOf(x.checks)}, {"cautions", "caution", idsOf(x.cautions)},
		{"access", "access", idsOf(x.access)},
	} {
		for _, id := range slices.Sorted(maps.Keys(r.keys[s.section])) {
			r.known(r.keys[s.section][id], s.what, id, s.has)
		}
	}
	for id, c := range r.Checks {
		base := k.Check(id)
		if base == nil {
			continue
		}
		at := func(path ...string) Pos {
			p, _ := descend(r.places["checks"][id], path)
			return p.pos()
		}
		for w := range c.Windows {
			r.known(at("windows", w), "window", w, base.Outcomes())
		}
		for o := range c.Options {
			r.known(at("options", o), "option", o, base.Outcomes())
		}
		if len(c.Odd) > 0 && len(c.Odd) != len(base.Odd) {
			r.out.error(at("odd"), "texts", "give as many, in the same order", "check %q has %d texts under odd, the base has %d", id, len(c.Odd), len(base.Odd))
		}
	}
	for _, section := range []struct {
		name  string
		lists map[string][]string
		has   []string
	}{
		{"told", r.Words.Told, append(idsOf(x.symptoms), OffTopicWords)}, {"denied", r.Words.Denied, idsOf(x.symptoms)}, {"figures", r.Words.Figures, idsOf(x.checks)},
	} {
		for id := range section.lists {
			r.known(r.wordsAt(section.name, id), "id", id, section.has)
		}
	}
}

func (r *textReader) wordsAt(path ...string) Pos {
	var best place
	deepest := -1
	for _, file := range slices.Sorted(maps.Keys(r.places["words"])) {
		if p, depth := descend(r.places["words"][file], path); depth > deepest {
			best, deepest = p, depth
		}
	}
	if deepest < 0 {
		return Pos{}
	}
	return best.pos()
}

func (r *textReader) known(at Pos, what, id string, has []string) {
	if slices.Contains(has, id) {
		return
	}
	cure := "use an id of the base language"
	if near := Likely(id, has); near != "" {
		cure = "did you mean \"" + near + "\"? " + cure
	}
	r.out.error(at, "unknown-id", cure, "there is no %s %q in the base language", what, id)
}

func idsOf[T any](m map[string]T) []string { return slices.Sorted(maps.Keys(m)) }
