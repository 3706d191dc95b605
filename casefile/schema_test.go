package casefile_test

import (
	"encoding/json"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile"
)

type node struct {
	Type                 any             `json:"type"`
	Ref                  string          `json:"$ref"`
	Description          string          `json:"description"`
	AdditionalProperties *bool           `json:"additionalProperties"`
	Required             []string        `json:"required"`
	Properties           map[string]node `json:"properties"`
	Items                *node           `json:"items"`
	Defs                 map[string]node `json:"$defs"`
}

// The schema and the types are written apart; they must name the same fields,
// demand those that are always there, describe each, and allow no others.
func TestSchemaFitsTypes(t *testing.T) {
	var root node
	require.NoError(t, json.Unmarshal(casefile.Schema(), &root))
	seen := map[string]bool{}
	var fits func(path string, s node, typ reflect.Type)
	fits = func(path string, s node, typ reflect.Type) {
		if s.Ref != "" {
			name := strings.TrimPrefix(s.Ref, "#/$defs/")
			def, ok := root.Defs[name]
			require.True(t, ok, "%s: %s", path, s.Ref)
			if seen[name] {
				return
			}
			seen[name] = true
			s = def
		}
		if typ.Kind() == reflect.Slice {
			require.Equal(t, "array", s.Type, path)
			require.NotNil(t, s.Items, path)
			fits(path+"[]", *s.Items, typ.Elem())
			return
		}
		if typ.Kind() != reflect.Struct || typ == reflect.TypeFor[time.Time]() {
			return
		}
		require.NotNil(t, s.AdditionalProperties, path)
		assert.False(t, *s.AdditionalProperties, path)
		assert.NotEmpty(t, s.Description, path)
		var fields, required []string
		for i := range typ.NumField() {
			tag := strings.Split(typ.Field(i).Tag.Get("json"), ",")
			fields = append(fields, tag[0])
			if len(tag) == 1 {
				required = append(required, tag[0])
			}
			p, ok := s.Properties[tag[0]]
			require.True(t, ok, "%s.%s is not in the schema", path, tag[0])
			assert.NotEmpty(t, p.Description, "%s.%s", path, tag[0])
			fits(path+"."+tag[0], p, typ.Field(i).Type)
		}
		assert.Len(t, s.Properties, len(fields), path)
		assert.ElementsMatch(t, required, s.Required, path)
	}
	fits("case", root, reflect.TypeFor[casefile.Case]())
	assert.Len(t, seen, len(root.Defs), "every definition is used")
}

func TestSchemaIsACopy(t *testing.T) {
	casefile.Schema()[0] = 'x'
	assert.Equal(t, byte('{'), casefile.Schema()[0])
}

func TestSchemaRefuses(t *testing.T) {
	for _, bad := range []string{`{}`, `{"v": 2}`, `[]`} {
		var doc any
		require.NoError(t, json.Unmarshal([]byte(bad), &doc))
		assert.Error(t, schema(t).Validate(doc), bad)
	}
	// A whole case with one thing more, or one thing wrong.
	data, err := json.Marshal(build(t, engine(t), talks["dead-throttle"]().state()))
	require.NoError(t, err)
	for _, spoil := range []func(m map[string]any){
		func(m map[string]any) { m["more"] = 1 },
		func(m map[string]any) { m["unlisted"] = 1.5 },
		func(m map[string]any) { m["readings"].([]any)[0].(map[string]any)["extra"] = true },
		func(m map[string]any) { m["ended"].(map[string]any)["state"] = "gone" },
		func(m map[string]any) { delete(m, "transcript") },
		func(m map[string]any) { m["opened"] = "yesterday" },
	} {
		var doc map[string]any
		require.NoError(t, json.Unmarshal(data, &doc))
		spoil(doc)
		assert.Error(t, schema(t).Validate(doc))
	}
}
