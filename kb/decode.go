package kb

import (
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strings"

	"gopkg.in/yaml.v3"
)

// decoder fills Go values from the nodes of one file. It goes on after every
// mistake: what cannot be read stays at its zero value.
type decoder struct {
	file   string
	out    *findings
	places placeIndex
	// passedOver is set when a whole section was not read.
	passedOver bool
}

func (d *decoder) at(n *yaml.Node) Pos { return Pos{d.file, n.Line, n.Column} }

var digits = regexp.MustCompile(`^[0-9]+$`)

var (
	figuresType = reflect.TypeFor[Figures]()
	showsType   = reflect.TypeFor[[]Show]()
	pointsType  = reflect.TypeFor[[][2]float64]()
)

// value decodes node n into v. what names the value for messages.
func (d *decoder) value(n *yaml.Node, v reflect.Value, r rule, what string) {
	n = follow(n)
	if n.Kind == yaml.ScalarNode && n.Tag == "!!null" {
		d.out.error(d.at(n), "no-value", "give one, or take it away; text that begins with # needs quotes", "%s has no value", what)
		return
	}
	switch {
	case v.Type() == figuresType:
		v.Set(reflect.ValueOf(d.figures(n, what)))
	case v.Type() == showsType:
		v.Set(reflect.ValueOf(d.shows(n, r, what)))
	case v.Type() == pointsType:
		v.Set(reflect.ValueOf(d.points(n, r, what)))
	case v.Kind() == reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		d.object(n, v.Elem(), what)
	case v.Kind() == reflect.Struct:
		d.object(n, v, what)
	case v.Kind() == reflect.Slice:
		d.list(n, v, r, what)
	case v.Kind() == reflect.Map:
		d.mapping(n, v, r, what)
	case v.Kind() == reflect.Bool:
		v.SetBool(d.boolean(n, what))
	case v.Kind() == reflect.Float64:
		v.SetFloat(d.number(n, r, what))
	case v.Kind() == reflect.String:
		v.SetString(d.text(n, r, what))
	}
}

// pairs goes through a mapping's keys, each once. It is false when keys may be
// given in a way that is not read.
func (d *decoder) pairs(n *yaml.Node, what string, each func(key, value *yaml.Node)) bool {
	if n.Kind != yaml.MappingNode {
		d.wrongKind(n, what, "a mapping (key: value)")
		return false
	}
	ok := true
	first := map[string]*yaml.Node{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		key := follow(n.Content[i])
		switch before := first[key.Value]; {
		case key.Kind != yaml.ScalarNode:
			d.out.error(d.at(n.Content[i]), "kind", "write one word before the colon", "a key of %s is %s", what, kindOf(key))
		case key.Value == "":
			d.out.error(d.at(n.Content[i]), "kind", "write one word before the colon", "a key of %s is empty", what)
		case key.Tag == "!!merge":
			d.out.error(d.at(n.Content[i]), "unknown-key", "write the keys out, or use an alias for a whole value",
				"%s uses the merge key <<, which is not read here", what)
			ok = false // what it would have brought is not missing
		case before != nil:
			d.out.error(d.at(n.Content[i]), "duplicate-key", "keep one of them",
				"key %q is given twice in %s, first at %s", key.Value, what, d.at(before))
		default:
			first[key.Value] = n.Content[i]
			each(key, n.Content[i+1])
		}
	}
	return ok
}

// object decodes a mapping whose keys are the fields of a struct.
func (d *decoder) object(n *yaml.Node, v reflect.Value, what string) {
	l := layouts[v.Type()]
	name := l.name + named(n)
	if what == "" || n.Kind == yaml.MappingNode && name != l.name {
		what = name
	}
	if l.pos >= 0 {
		v.Field(l.pos).Set(reflect.ValueOf(d.at(n)))
	}
	given := map[string]bool{}
	ok := d.pairs(n, what, func(key, value *yaml.Node) {
		i := slices.Index(l.keys, key.Value)
		if i < 0 && value.Tag == "!!null" && digits.MatchString(key.Value) {
			d.out.error(d.at(key), "unknown-key", "write a point for the decimals, as in 0.4; a comma parts keys", "%q in %s is read as a key of its own", key.Value, what)
			return
		}
		if i < 0 && value.Tag == "!!null" && strings.Contains(key.Value, " ") {
			d.out.error(d.at(key), "unknown-key", "put text that holds a comma in quotes", "%q in %s is read as a key of its own", key.Value, what)
			return
		}
		if i < 0 {
			d.unknownKey(key, l.keys, what)
			return
		}
		given[key.Value] = true
		f := l.fields[i]
		before := len(d.out.list)
		d.value(value, v.Field(f.index), f.rule, fmt.Sprintf("%q of %s", f.key, what))
		if f.rule.must && len(d.out.list) == before && isEmpty(v.Field(f.index)) {
			d.out.error(d.at(value), "missing-key", "give it a value", "%q of %s is empty", f.key, what)
		}
	})
	for _, f := range l.fields {
		switch {
		case given[f.key]:
		case f.rule.must && ok:
			d.out.error(d.at(n), "missing-key", "add it", "%s lacks %q", what, f.key)
		case f.rule.def != nil:
			v.Field(f.index).Set(reflect.ValueOf(f.rule.def))
		case v.Field(f.index).Kind() == reflect.Struct:
			d.defaults(v.Field(f.index))
		}
	}
}

// defaults fills a section that is not given at all.
func (d *decoder) defaults(v reflect.Value) {
	for _, f := range layouts[v.Type()].fields {
		if f.rule.def != nil {
			v.Field(f.index).Set(reflect.ValueOf(f.rule.def))
		}
	}
}

func isEmpty(v reflect.Value) bool {
	switch v.Kind() {
	case reflect.String, reflect.Slice, reflect.Map:
		return v.Len() == 0
	}
	return false
}

func (d *decoder) unknownKey(key *yaml.Node, allowed []string, what string) {
	sorted := slices.Sorted(slices.Values(allowed))
	cure := "allowed are " + strings.Join(sorted, ", ")
	if near := Likely(key.Value, sorted); near != "" {
		cure = fmt.Sprintf("did you mean %q? %s", near, cure)
	}
	d.out.error(d.at(key), "unknown-key", cure, "unknown key %q in %s", key.Value, what)
}

// list decodes a sequence.
func (d *decoder) list(n *yaml.Node, v reflect.Value, r rule, what string) {
	if n.Kind != yaml.SequenceNode {
		cure := "write it as a list, one item after each dash or between [ and ]"
		d.out.error(d.at(n), "kind", cure, "%s must be a list, not %s", what, kindOf(n))
		return
	}
	member := r
	member.must = r.must && v.Type().Elem().Kind() != reflect.Slice
	v.Set(reflect.MakeSlice(v.Type(), len(n.Content), len(n.Content)))
	for i, c := range n.Content {
		e := v.Index(i)
		switch e.Kind() {
		case reflect.Struct, reflect.Pointer:
			d.value(c, e, member, layouts[structOf(e.Type())].name)
			if e.Kind() == reflect.Pointer && !e.IsNil() {
				d.places.put(e.Interface(), d.file, follow(c))
			}
		default:
			before := len(d.out.list)
			d.value(c, e, member, "an item of "+what)
			if e.Kind() == reflect.String && e.Len() == 0 && !r.gaps && len(d.out.list) == before {
				d.out.error(d.at(c), "missing-key", "give it a value or take it away", "an item of %s is empty", what)
			}
		}
	}
	if v.Type().Elem().Kind() == reflect.Pointer {
		// An item without a value would be a nil for everybody to trip over.
		v.Set(reflect.ValueOf(dropNil(v)))
	}
	if r.set {
		d.once(n, what)
	}
}

func dropNil(v reflect.Value) any {
	kept := reflect.MakeSlice(v.Type(), 0, v.Len())
	for i := range v.Len() {
		if !v.Index(i).IsNil() {
			kept = reflect.Append(kept, v.Index(i))
		}
	}
	return kept.Interface()
}

func structOf(t reflect.Type) reflect.Type {
	if t.Kind() == reflect.Pointer {
		return t.Elem()
	}
	return t
}

func (d *decoder) once(n *yaml.Node, what string) {
	first := map[string]*yaml.Node{}
	for _, c := range n.Content {
		s := follow(c)
		if s.Kind != yaml.ScalarNode {
			continue
		}
		if before := first[s.Value]; before != nil {
			d.out.warn(d.at(c), "given-twice", "keep one of them", "%q stands twice in %s, first at %s", s.Value, what, d.at(before))
			continue
		}
		first[s.Value] = c
	}
}

// mapping decodes a mapping with free keys.
func (d *decoder) mapping(n *yaml.Node, v reflect.Value, r rule, what string) {
	v.Set(reflect.MakeMap(v.Type()))
	member := r
	member.words, member.must = nil, false
	d.pairs(n, what, func(key, value *yaml.Node) {
		if len(r.words) > 0 && !slices.Contains(r.words, key.Value) {
			d.unknownKey(key, r.words, what)
			return
		}
		e := reflect.New(v.Type().Elem()).Elem()
		d.value(value, e, member, fmt.Sprintf("%q of %s", key.Value, what))
		v.SetMapIndex(reflect.ValueOf(key.Value), e)
	})
}

// named gives ` "id"` of a mapping for messages, or nothing.
func named(n *yaml.Node) string {
	for _, want := range []string{"id", "name", "figure", "check", "cause"} {
		for i := 0; n.Kind == yaml.MappingNode && i+1 < len(n.Content); i += 2 {
			if v := follow(n.Content[i+1]); n.Content[i].Value == want && v.Kind == yaml.ScalarNode && v.Value != "" {
				return fmt.Sprintf(" %q", v.Value)
			}
		}
	}
	return ""
}

func kindOf(n *yaml.Node) string {
	switch n.Kind {
	case yaml.MappingNode:
		return "a mapping"
	case yaml.SequenceNode:
		return "a list"
	}
	switch n.Tag {
	case "!!int", "!!float":
		return "the number " + n.Value
	case "!!bool":
		return n.Value
	case "!!null":
		return "nothing"
	}
	return fmt.Sprintf("%q", n.Value)
}

func (d *decoder) wrongKind(n *yaml.Node, what, want string) {
	cure := "see FORMAT.md for how it is written"
	switch {
	case want == "text" && n.Kind == yaml.MappingNode:
		cure = "put text that holds a colon in quotes"
	case want == "text" && n.Kind == yaml.SequenceNode:
		cure = "take the brackets or dashes away, or put text that begins with [ in quotes"
	case want == "true or false":
		cure = "write true or false, without quotes"
	}
	d.out.error(d.at(n), "kind", cure, "%s must be %s, not %s", what, want, kindOf(n))
}
