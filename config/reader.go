package config

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"gopkg.in/yaml.v3"

	"triagebot/kb"
)

// reader fills structs from YAML nodes and keeps where each value stood.
type reader struct {
	file  string
	env   func(string) string
	found []Problem
	at    map[string]*yaml.Node // by the name of the value: people[0].token
	bad   map[*yaml.Node]bool
}

func (r *reader) problem(n *yaml.Node, format string, a ...any) {
	p := Problem{File: r.file, Says: fmt.Sprintf(format, a...)}
	if n != nil {
		if r.bad[n] { // one mistake is told once
			return
		}
		r.bad[n] = true
		p.Line, p.Col = n.Line, n.Column
	}
	r.found = append(r.found, p)
}

func (r *reader) sorted() []Problem {
	slices.SortStableFunc(r.found, func(a, b Problem) int { return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Col, b.Col)) })
	return r.found
}

// yamlLine finds the place in what the YAML library says of a file that is none.
var yamlLine = regexp.MustCompile(`^yaml: line (\d+): (.*)$`)

// document reads the one document of a file; false when it is not YAML.
func (r *reader) document(data []byte, into any) bool {
	d := yaml.NewDecoder(bytes.NewReader(data))
	var doc, more yaml.Node
	err := d.Decode(&doc)
	if errors.Is(err, io.EOF) {
		r.problem(nil, "it is empty; start from deploy/triagebot.yaml")
		return false
	}
	if err == nil {
		if again := d.Decode(&more); again == nil {
			r.problem(&more, "there is a second document; a config is one")
			return false
		} else if !errors.Is(again, io.EOF) {
			err = again
		}
	}
	if err != nil {
		p := Problem{File: r.file, Says: err.Error()}
		if m := yamlLine.FindStringSubmatch(err.Error()); m != nil {
			p.Line, _ = strconv.Atoi(m[1]) // digits
			p.Col, p.Says = 1, "this is no YAML: "+m[2]+"; look at the indentation and the quotes here and in the line before"
		}
		r.found = append(r.found, p)
		return false
	}
	r.into(doc.Content[0], into, "")
	return true
}

// into fills the struct that v points to from a mapping.
func (r *reader) into(n *yaml.Node, v any, name string) {
	to := reflect.ValueOf(v).Elem()
	if n.Kind == yaml.AliasNode {
		n = n.Alias
	}
	if n.Kind != yaml.MappingNode {
		r.problem(n, "%s must be keys with values, one a line, not %s", cmp.Or(name, "the config"), kindName(n))
		return
	}
	fields, keys := map[string]int{}, []string{}
	for i := range to.NumField() {
		key := to.Type().Field(i).Tag.Get("yaml")
		fields[key] = i
		keys = append(keys, key)
	}
	seen := map[string]bool{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, value := n.Content[i], n.Content[i+1]
		field, ok := fields[key.Value]
		switch {
		case !ok:
			r.problem(key, "there is no key %q%s; %s", key.Value, in(name), meant(key.Value, keys))
		case seen[key.Value]:
			r.problem(key, "%q is there twice; keep one", key.Value)
		default:
			r.value(value, to.Field(field), join(name, key.Value))
		}
		seen[key.Value] = true
	}
	for i, key := range keys {
		if tag := to.Type().Field(i).Tag; tag.Get("need") != "" && !seen[key] {
			r.problem(n, "%q is missing%s: %s", key, in(name), tag.Get("says"))
		}
	}
}

func in(name string) string {
	if name == "" {
		return ""
	}
	return " in " + name
}

func join(name, key string) string {
	if name == "" {
		return key
	}
	return name + "." + key
}

func meant(word string, known []string) string {
	if near := kb.Likely(word, known); near != "" {
		return fmt.Sprintf("did you mean %q?", near)
	}
	return "there are: " + strings.Join(known, ", ")
}

// oneOf refuses a word that is none of those known.
func (r *reader) oneOf(name, word string, known ...string) {
	if !slices.Contains(known, word) {
		hint := ""
		if near := kb.Likely(word, known); near != "" {
			hint = fmt.Sprintf("; did you mean %q?", near)
		}
		r.problem(r.at[name], "%q is none of %s%s", word, strings.Join(known, ", "), hint)
	}
}

func kindName(n *yaml.Node) string {
	switch n.Kind {
	case yaml.MappingNode:
		return "keys with values"
	case yaml.SequenceNode:
		return "a list"
	case yaml.ScalarNode:
		if n.Tag == "!!null" {
			return "nothing"
		}
		return fmt.Sprintf("%q", n.Value)
	}
	return "this"
}

var (
	typeSecret   = reflect.TypeFor[Secret]()
	typeDuration = reflect.TypeFor[time.Duration]()
)

func (r *reader) value(n *yaml.Node, to reflect.Value, name string) {
	if n.Kind == yaml.AliasNode {
		n = n.Alias
	}
	r.at[name] = n
	switch {
	case to.Type() == typeSecret:
		to.Set(reflect.ValueOf(r.secret(n, name)))
	case to.Type() == typeDuration:
		d, err := time.ParseDuration(n.Value)
		if n.Kind != yaml.ScalarNode || err != nil {
			r.problem(n, "%s must be a time with its unit, such as 30s, 15m or 24h, not %s", name, kindName(n))
			return
		}
		to.SetInt(int64(d))
	case to.Kind() == reflect.Pointer:
		fresh := reflect.New(to.Type().Elem())
		r.into(n, fresh.Interface(), name)
		to.Set(fresh)
	case to.Kind() == reflect.Struct:
		r.into(n, to.Addr().Interface(), name)
	case to.Kind() == reflect.Slice:
		if n.Kind != yaml.SequenceNode {
			r.problem(n, "%s must be a list, such as [a, b], not %s", name, kindName(n))
			return
		}
		for i, item := range n.Content {
			fresh := reflect.New(to.Type().Elem()).Elem()
			r.value(item, fresh, fmt.Sprintf("%s[%d]", name, i))
			to.Set(reflect.Append(to, fresh))
		}
	case to.Kind() == reflect.Map:
		if n.Kind != yaml.MappingNode {
			r.problem(n, "%s must be keys with values, one a line, not %s", name, kindName(n))
			return
		}
		to.Set(reflect.MakeMap(to.Type()))
		for i := 0; i+1 < len(n.Content); i += 2 {
			fresh := reflect.New(to.Type().Elem()).Elem()
			r.value(n.Content[i+1], fresh, join(name, n.Content[i].Value))
			to.SetMapIndex(reflect.ValueOf(n.Content[i].Value).Convert(to.Type().Key()), fresh)
		}
	case n.Kind != yaml.ScalarNode || n.Tag == "!!null":
		r.problem(n, "%s must be %s, not %s", name, plain(to.Kind()), kindName(n))
	default:
		r.scalar(n, to, name)
	}
}

func plain(k reflect.Kind) string {
	switch k {
	case reflect.Int:
		return "a whole number"
	case reflect.Bool:
		return "true or false"
	case reflect.Map:
		return "keys with values"
	}
	return "one word or text"
}

func (r *reader) scalar(n *yaml.Node, to reflect.Value, name string) {
	switch to.Kind() {
	case reflect.String:
		if n.Tag != "!!str" {
			r.problem(n, "%s must be text; put it in quotes: %q", name, n.Value)
			return
		}
		if n.Value == "" {
			r.problem(n, "%s is empty; leave the key out or give it a value", name)
			return
		}
		to.SetString(n.Value)
	case reflect.Int:
		i, err := strconv.Atoi(n.Value)
		if n.Tag != "!!int" || err != nil {
			r.problem(n, "%s must be a whole number, not %q", name, n.Value)
			return
		}
		to.SetInt(int64(i))
	case reflect.Bool:
		if n.Tag != "!!bool" {
			r.problem(n, "%s must be true or false, not %q", name, n.Value)
			return
		}
		to.SetBool(strings.EqualFold(n.Value, "true"))
	default:
		r.problem(n, "%s cannot be given in the config", name)
	}
}
