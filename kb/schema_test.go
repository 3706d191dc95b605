package kb

import (
	"encoding/json"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gopkg.in/yaml.v3"
)

func compileSchema(t *testing.T) *jsonschema.Schema {
	t.Helper()
	s, err := jsonschema.NewCompiler().Compile("kb.schema.json")
	require.NoError(t, err)
	return s
}

// validate holds one YAML file to the schema.
func validate(t *testing.T, s *jsonschema.Schema, text []byte) error {
	t.Helper()
	var v any
	require.NoError(t, yaml.Unmarshal(text, &v))
	b, err := json.Marshal(v)
	require.NoError(t, err)
	inst, err := jsonschema.UnmarshalJSON(strings.NewReader(string(b)))
	require.NoError(t, err)
	return s.Validate(inst)
}

func TestSchemaTakesGoodFiles(t *testing.T) {
	s := compileSchema(t)
	for name, fsys := range map[string]fs.FS{"data": Embedded(), "good": os.DirFS("testdata/good"), "warned": os.DirFS("testdata/warned")} {
		files := 0
		err := fs.WalkDir(fsys, ".", func(file string, d fs.DirEntry, err error) error {
			if _, lang := isLang(file); err != nil || d.IsDir() || lang || !strings.HasPrefix(filepath.Ext(file), ".y") {
				return err
			}
			files++
			text, err := fs.ReadFile(fsys, file)
			assert.NoError(t, validate(t, s, text), "%s/%s", name, file)
			return err
		})
		require.NoError(t, err)
		assert.Positive(t, files)
	}
}

// Mistakes of form that a schema for one file cannot see, and why.
var beyondSchema = map[string]string{
	"check-talk-shown":           "the check stands elsewhere",
	"figure-twice":               "numbers are compared with each other",
	"id-duplicate-symptom-check": "ids are compared across sections",
	"key-decimal-comma":          "JSON has text keys only",
	"key-merge":                  "YAML resolves merge keys before the schema",
	"key-of-wrong-kind":          "JSON has text keys only",
	"kind-number-for-check":      "the schema does not know what is a check",
	"kind-octal":                 "YAML reads 010 as a number",
	"limit-not-a-number":         "JSON has no .nan",
	"probe-alone":                "left to the loader",
	"probes-together":            "two pins are compared with each other",
	"range-infinite":             "JSON has no .inf",
	"unknown-option-cures":       "ids are looked up",
}

// What a single file shows of a mistake, an editor must show as well.
func TestSchemaRefusesWhatTheLoaderRefuses(t *testing.T) {
	s := compileSchema(t)
	form := []string{"unknown-key", "missing-key", "kind", "range", "id", "unknown-word", "probe"}
	dirs, err := os.ReadDir("testdata/bad")
	require.NoError(t, err)
	tried := 0
	for _, dir := range dirs {
		text, err := os.ReadFile(filepath.Join("testdata/bad", dir.Name(), "bad.yaml"))
		if err != nil || beyondSchema[dir.Name()] != "" {
			continue
		}
		expected, err := os.ReadFile(filepath.Join("testdata/bad", dir.Name(), "expected.txt"))
		require.NoError(t, err)
		ofForm := func(line string) bool {
			return slices.ContainsFunc(form, func(check string) bool { return strings.HasSuffix(line, "["+check+"]") })
		}
		if slices.ContainsFunc(strings.Split(string(expected), "\n"), ofForm) {
			tried++
			assert.Error(t, validate(t, s, text), dir.Name())
		}
	}
	assert.Greater(t, tried, 15)
}

type schemaNode struct {
	Ref              string                `json:"$ref"`
	Properties       map[string]schemaNode `json:"properties"`
	Additional       any                   `json:"additionalProperties"`
	PropertyNames    *schemaNode           `json:"propertyNames"`
	Required         []string              `json:"required"`
	Enum             []string              `json:"enum"`
	Items            *schemaNode           `json:"items"`
	Pattern          string                `json:"pattern"`
	Minimum          *float64              `json:"minimum"`
	ExclusiveMinimum *float64              `json:"exclusiveMinimum"`
	Maximum          *float64              `json:"maximum"`
	Description      string                `json:"description"`
}

// UnmarshalJSON lets the schemas true and false stand where a schema can.
func (n *schemaNode) UnmarshalJSON(b []byte) error {
	if b[0] != '{' {
		return nil
	}
	type plain schemaNode
	return json.Unmarshal(b, (*plain)(n))
}

// The schema is written by hand for its descriptions, and may not drift from
// what the loader takes: same keys, same required keys, words and ranges.
func TestSchemaAgreesWithLoader(t *testing.T) {
	text, err := os.ReadFile("kb.schema.json")
	require.NoError(t, err)
	var schema struct {
		Properties map[string]schemaNode `json:"properties"`
		Defs       map[string]schemaNode `json:"$defs"`
	}
	require.NoError(t, json.Unmarshal(text, &schema))
	resolve := func(n schemaNode) schemaNode {
		for n.Ref != "" {
			n = schema.Defs[strings.TrimPrefix(n.Ref, "#/$defs/")]
		}
		return n
	}
	assert.ElementsMatch(t, sectionKeys, sortedIDs(schema.Properties))
	for typ, l := range layouts {
		if _, lang := textShapes[typ]; lang {
			continue // FORMAT.md, Languages
		}
		name := kebab(typ.Name())
		def, ok := schema.Defs[name]
		require.True(t, ok, "the schema lacks %s", name)
		assert.ElementsMatch(t, l.keys, sortedIDs(def.Properties), name)
		assert.Equal(t, false, def.Additional, name)
		assert.NotEmpty(t, def.Description, name)
		var must []string
		for _, f := range l.fields {
			if f.rule.must {
				must = append(must, f.key)
			}
			agree(t, name+"."+f.key, f.rule, resolve(def.Properties[f.key]), resolve)
		}
		if name != "probe" { // its oneOf asks for plug and pin, or place
			assert.ElementsMatch(t, must, def.Required, name)
		}
	}
}

func agree(t *testing.T, name string, r rule, n schemaNode, resolve func(schemaNode) schemaNode) {
	t.Helper()
	for n.Items != nil {
		n = resolve(*n.Items)
	}
	keys := n
	if n.PropertyNames != nil {
		keys = resolve(*n.PropertyNames)
	}
	if len(r.words) > 0 {
		assert.Equal(t, r.words, keys.Enum, name)
	}
	assert.Equal(t, r.id, n.Pattern == idForm.String(), "%s: is an id", name)
	assert.Equal(t, r.name, n.Pattern == nameForm.String(), "%s: is a name", name)
	if r.span == nil || n.Additional != nil {
		return // the members of a mapping are compared by hand
	}
	low := n.Minimum
	if r.above {
		low = n.ExclusiveMinimum
	}
	require.NotNil(t, low, name)
	require.NotNil(t, n.Maximum, name)
	assert.Equal(t, *r.span, [2]float64{*low, *n.Maximum}, name)
}

// FORMAT.md names the defaults; what it says must be what stands.
func TestFormatNamesTheDefaults(t *testing.T) {
	text, err := os.ReadFile("FORMAT.md")
	require.NoError(t, err)
	stated := map[string]float64{}
	for _, m := range regexp.MustCompile(`(?m)^ *([a-z-]+): [0-9.]+ +# default ([0-9.]*[0-9])`).FindAllStringSubmatch(string(text), -1) {
		stated[m[1]], err = strconv.ParseFloat(m[2], 64)
		require.NoError(t, err)
	}
	require.GreaterOrEqual(t, len(stated), 8)
	for _, s := range shapes {
		for key, r := range s.rules {
			if d, ok := r.def.(float64); ok {
				assert.Contains(t, stated, key)
				assert.Equal(t, d, stated[key], key)
			}
		}
	}
}

// A rule for a key that no type has would never be applied.
func TestEveryRuleHasItsField(t *testing.T) {
	for typ, s := range shapes {
		for key := range s.rules {
			assert.Contains(t, layouts[typ].keys, key, typ.Name())
		}
	}
	// Every struct that the loader can meet has a shape.
	seen := map[reflect.Type]bool{}
	var visit func(reflect.Type)
	visit = func(typ reflect.Type) {
		switch typ.Kind() {
		case reflect.Pointer, reflect.Slice, reflect.Map, reflect.Array:
			visit(typ.Elem())
		case reflect.Struct:
			if seen[typ] || typ == reflect.TypeFor[Pos]() || typ == reflect.TypeFor[Figure]() || typ == reflect.TypeFor[Show]() {
				return
			}
			seen[typ] = true
			_, ok := layouts[typ]
			assert.True(t, ok, "no shape for %s", typ)
			for i := range typ.NumField() {
				visit(typ.Field(i).Type)
			}
		}
	}
	for i := range reflect.TypeFor[KB]().NumField() {
		if f := reflect.TypeFor[KB]().Field(i); f.IsExported() {
			visit(f.Type)
		}
	}
}
