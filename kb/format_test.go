package kb

import (
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gopkg.in/yaml.v3"
)

// shown notes which keys of which type the YAML of n shows.
func shown(n *yaml.Node, t reflect.Type, seen map[reflect.Type]map[string]bool) {
	n = follow(n)
	switch t.Kind() {
	case reflect.Pointer:
		shown(n, t.Elem(), seen)
	case reflect.Slice, reflect.Array:
		for _, c := range n.Content {
			shown(c, t.Elem(), seen)
		}
	case reflect.Map:
		for i := 1; i < len(n.Content); i += 2 {
			shown(n.Content[i], t.Elem(), seen)
		}
	case reflect.Struct:
		l, ok := layouts[t]
		if !ok || n.Kind != yaml.MappingNode {
			return
		}
		if seen[t] == nil {
			seen[t] = map[string]bool{}
		}
		for i := 0; i+1 < len(n.Content); i += 2 {
			if at := slices.Index(l.keys, n.Content[i].Value); at >= 0 {
				seen[t][l.keys[at]] = true
				shown(n.Content[i+1], t.Field(l.fields[at].index).Type, seen)
			}
		}
	}
}

// undocumented lists the keys that no example of a text in Markdown shows.
func undocumented(t *testing.T, text string) []string {
	t.Helper()
	seen := map[reflect.Type]map[string]bool{}
	sections := map[string]reflect.Type{}
	whole := reflect.TypeFor[KB]()
	for i := range whole.NumField() {
		sections[kebab(whole.Field(i).Name)] = whole.Field(i).Type
	}
	for _, b := range strings.Split(text, "```yaml\n")[1:] {
		b, _, _ = strings.Cut(b, "```")
		b = strings.NewReplacer(", ...]", "]", "...", "more").Replace(b)
		var doc yaml.Node
		require.NoError(t, yaml.Unmarshal([]byte(b), &doc))
		for i := 0; i+1 < len(doc.Content[0].Content); i += 2 {
			key := doc.Content[0].Content[i].Value
			require.Contains(t, sections, key)
			shown(doc.Content[0].Content[i+1], sections[key], seen)
		}
	}
	var missing []string
	for typ, l := range layouts {
		if _, lang := textShapes[typ]; lang {
			continue // FORMAT.md, Languages
		}
		for _, key := range l.keys {
			if !seen[typ][key] {
				missing = append(missing, l.name+" ("+typ.Name()+"): "+key)
			}
		}
	}
	slices.Sort(missing)
	return missing
}

// Every key that the loader takes stands in an example of FORMAT.md.
func TestFormatShowsEveryKey(t *testing.T) {
	text, err := os.ReadFile("FORMAT.md")
	require.NoError(t, err)
	assert.Empty(t, undocumented(t, string(text)))
	// The test itself must be able to fail, for a key of each kind of place.
	for _, c := range []struct{ take, want string }{
		{"person: a volunteer", "about (About): person"},
		{"again: meter-check", "remedy (Remedy): again"},
		{", colour: red", ""}, // stands at another pin as well
		{", log: false", "table (Table): log"},
		{", return: b-minus", "link (Link): return"},
	} {
		require.Contains(t, string(text), c.take)
		missing := undocumented(t, strings.Replace(string(text), c.take, "", 1))
		if c.want == "" {
			assert.Empty(t, missing, c.take)
		} else {
			assert.Equal(t, []string{c.want}, missing, c.take)
		}
	}
}

var reported = regexp.MustCompile(`(?m): (error|warning): .*\[([a-z-]+)\]$`)

// Every diagnostic of the broken folders is in the table of FORMAT.md, with
// its severity.
func TestFormatListsWhatIsReported(t *testing.T) {
	text, err := os.ReadFile("FORMAT.md")
	require.NoError(t, err)
	rows := map[string]string{}
	for _, m := range regexp.MustCompile(`(?m)^\| `+"`([a-z-]+)`"+` \| ([a-z, ]+) \|`).FindAllStringSubmatch(string(text), -1) {
		rows[m[1]] = m[2]
	}
	met := map[string]bool{}
	for _, dir := range []string{"testdata", "../checker/testdata"} {
		files, err := filepath.Glob(dir + "/*/*/expected.txt")
		require.NoError(t, err)
		require.NotEmpty(t, files)
		for _, file := range files {
			data, err := os.ReadFile(file)
			require.NoError(t, err)
			for _, m := range reported.FindAllStringSubmatch(string(data), -1) {
				met[m[2]] = true
				assert.Contains(t, rows[m[2]], m[1], "%s is not in FORMAT.md as %s", m[2], m[1])
			}
		}
	}
	assert.Greater(t, len(met), 40)
}

// Keys that must be given are marked so, where an example gives them a line.
func TestFormatMarksWhatMustBeGiven(t *testing.T) {
	text, err := os.ReadFile("FORMAT.md")
	require.NoError(t, err)
	for _, typ := range []reflect.Type{
		reflect.TypeFor[About](), reflect.TypeFor[Kit](), reflect.TypeFor[Symptom](), reflect.TypeFor[Cause](),
		reflect.TypeFor[Remedy](), reflect.TypeFor[Check](),
	} {
		section := strings.ToLower(typ.Name())
		if section != "about" {
			section = map[string]string{"remedy": "remedies"}[section]
			if section == "" {
				section = strings.ToLower(typ.Name()) + "s"
			}
		}
		_, part, ok := strings.Cut(string(text), "\n## "+section)
		require.True(t, ok, section)
		_, part, _ = strings.Cut(part, "```yaml\n")
		part, _, _ = strings.Cut(part, "```")
		depth := "    " // of the keys of an entity in a list
		if section == "about" {
			depth = "  "
		}
		for _, f := range layouts[typ].fields {
			for line := range strings.Lines(part) {
				key, ok := strings.CutPrefix(strings.Replace(line, "  - ", "    ", 1), depth)
				if !ok || !strings.HasPrefix(key, f.key+":") {
					continue
				}
				_, note, _ := strings.Cut(line, "# ")
				marked := strings.HasPrefix(note, "*")
				must := f.rule.must
				for _, of := range keysOf {
					must = must || typ == reflect.TypeFor[Check]() && slices.Contains(of.must, f.key)
				}
				assert.Equal(t, must, marked, "%s: %s", section, strings.TrimSpace(line))
				break
			}
		}
	}
}
