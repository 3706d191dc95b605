package kb_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
)

func torch(t testing.TB) *kb.KB {
	t.Helper()
	k, found := kb.Open("testdata/good/lamp")
	require.NotNil(t, k, lines(found))
	return k
}

func TestEmbeddedHasNoErrors(t *testing.T) {
	k, found := kb.Load(kb.Embedded())
	for _, d := range found {
		if d.Severity == kb.Error {
			t.Error(d)
		}
	}
	if k != nil {
		assert.NotNil(t, k.Kit(k.About.Generic))
	}
}

func TestEmbeddedAndFolderLoadAlike(t *testing.T) {
	k, found := kb.Load(kb.Embedded())
	onDisk, foundOnDisk := kb.Open("data")
	assert.Equal(t, lines(found), lines(foundOnDisk))
	require.Equal(t, k == nil, onDisk == nil)
	if k != nil {
		assert.Equal(t, k.Version, onDisk.Version)
	}
}

func TestDefaults(t *testing.T) {
	k := torch(t)
	assert.Equal(t, "a person", k.About.Person)
	assert.Equal(t, kb.BeliefSettings{Pairs: 0.06, Unlisted: 0.03, NothingWrong: 0.02, Slip: 0.02}, k.About.Belief)
	assert.Equal(t, kb.CostSettings{HandOver: 150, Sure: 0.9}, k.About.Cost)
	assert.Equal(t, 0.05, k.Check("bulb-try").Cannot)
	assert.Zero(t, k.Check("bulb-try").Risk)
	assert.Equal(t, 0.02, k.Symptom("dark").Rate)
	assert.Equal(t, "spring", k.Kit("torch").Line.Links[0].Name)
}

func TestValuesArriveWhereTheyBelong(t *testing.T) {
	k, found := kb.Open("testdata/good/greenhouse")
	require.Empty(t, lines(found))
	bench := k.Kit("bench-12")
	require.NotNil(t, bench)
	assert.Equal(t, kb.Ask{Figure: "supply", Question: "What voltage is printed on the supply?", Unit: "V", From: 9, To: 15, Default: 12,
		Pos: kb.Pos{File: "greenhouse.yaml", Line: 56, Col: 9}}, bench.Ask[0])
	assert.Equal(t, "full_draw", bench.Figures[1].Name)
	assert.Equal(t, "2.5 * empty_draw", bench.Figures[1].Expr)
	assert.Equal(t, [][]string{{"", "signal", ""}, {"five-volt", "", "ground"}}, bench.Plug("probe-plug").Rows)
	assert.Equal(t, "red", bench.Plug("probe-plug").Pin("five-volt").Colour)
	assert.True(t, bench.Line.Links[4].Regulates)
	assert.Equal(t, "timer-minus", bench.Line.Links[4].Return)
	assert.Equal(t, map[string]float64{"filter-blocked": 2}, k.Kit("bay-24").Priors)
	assert.True(t, k.Kit("bay-24").Has([]string{"probe", "pump"}))
	assert.False(t, bench.Has([]string{"probe"}))

	jam := k.Cause("pump-jammed")
	assert.Equal(t, "pump-hums", jam.Shows[0].Of)
	assert.Equal(t, 0.8, jam.Shows[0].Present)
	assert.Equal(t, map[string]float64{"high": 0.9}, jam.Shows[3].Outcomes)
	assert.Equal(t, []string{"probe-5v"}, k.Cause("probe-shorted").Line.Shorts)

	volts := k.Check("pump-volts")
	assert.Equal(t, "0.85 * reading('supply-volts', supply)", volts.Window("low").To)
	assert.Equal(t, "-0.5", volts.Possible.From)
	assert.Equal(t, []string{"none", "low", "good"}, volts.Outcomes())
	assert.Equal(t, "pump-plug", volts.Red.Plug)
	assert.Equal(t, map[string]map[string]float64{"dead": {"none": 0.95}, "weak": {"low": 0.85}}, volts.Line.Reads)
	assert.Equal(t, "turns-again", k.Check("free-pump-try").Cures)
	assert.Equal(t, []kb.Need{{Check: "pump-volts", Outcomes: []string{"good", "low"}, Pos: k.At("checks", "pump-current", "needs", "0")}},
		k.Check("pump-current").Needs)
	assert.Equal(t, []string{"meter", "multimeter", "tester"}, k.Words.Tools["meter"])
	assert.Equal(t, "tank-empty", k.Cause("tank-empty").ID)
	assert.Equal(t, "timer-lid", k.Opening("timer-lid").ID)
	assert.Equal(t, "set-timer", k.Remedy("set-timer").ID)
	assert.True(t, k.Caution("water-and-mains").Danger)
	assert.Nil(t, k.Table("ntc"))
	assert.Equal(t, "bench-12", k.Cases[0].Kit)
}

func TestSameAs(t *testing.T) {
	k, found := kb.Load(laidOver(t, "testdata/warned/symptom-other-kit"))
	require.NotNil(t, k, lines(found))
	check, option := k.SameAs("rattles")
	require.NotNil(t, check)
	assert.Equal(t, "look-glass", check.ID)
	assert.Equal(t, "misty", option.ID)
	check, option = k.SameAs("dark")
	assert.Nil(t, check)
	assert.Nil(t, option)
}

func TestAt(t *testing.T) {
	k := torch(t)
	text, err := os.ReadFile("testdata/good/lamp/checks.yaml")
	require.NoError(t, err)
	// What stands at the place says more than a line number, which moves.
	for _, c := range []struct{ path, starts string }{
		{"checks bulb-volts", "id: bulb-volts"},
		{"checks bulb-volts windows some", "{id: some"},
		{"checks bulb-volts windows some to", `"max(6, reading(`},
		{"checks bulb-volts line reads dead none", "0.97"},
		{"checks battery-volts odd 0 when", `"value < 0"`},
		{"checks battery-volts cautions dry", "dry]"},
		{"checks bulb-try options cures phrases it shines", "it shines]"},
		{"checks bulb-try options cures colour of it", "{id: cures"},
		{"checks bulb-try steps", "id: bulb-try"},
	} {
		path := strings.Split(c.path, " ")
		if len(path) > 5 {
			path = append(path[:5], strings.Join(path[5:], " "))
		}
		pos := k.At(path...)
		require.Equal(t, "checks.yaml", pos.File, c.path)
		line := strings.Split(string(text), "\n")[pos.Line-1]
		assert.True(t, strings.HasPrefix(string([]rune(line)[pos.Col-1:]), c.starts), "%s is at %s: %s", c.path, pos, line)
	}
	assert.Equal(t, kb.Pos{File: "cases.yaml", Line: 6, Col: 48}, k.At("cases", "a failed bulb", "readings", "bulb-try"))
	assert.Equal(t, kb.Pos{File: "about.yaml", Line: 9, Col: 8}, k.At("about", "meters", "Ω"))
	assert.Equal(t, kb.Pos{}, k.At())
	assert.Equal(t, kb.Pos{}, k.At("tables", "none"))
	assert.Equal(t, "checks.yaml", k.At("checks", "no-such-check").File, "the nearest that encloses it is the section")
}

func TestColumnsCountCharacters(t *testing.T) {
	m := fstest.MapFS{"a.yaml": {Data: []byte("words:\n  spelling: {Ωhm: ohm, ohm: Ωhm}\n")}}
	_, found := kb.Load(m)
	assert.Contains(t, lines(found), `a.yaml:2:19: error: spelling "Ωhm" is put right to "ohm"`)
}

func TestVersionNamesTheContent(t *testing.T) {
	base := laidOver(t, "testdata/good/lamp").(fstest.MapFS)
	first, _ := kb.Load(base)
	again, _ := kb.Load(base)
	require.NotNil(t, first)
	assert.Regexp(t, "^[0-9a-f]{12}$", first.Version)
	assert.Equal(t, first.Version, again.Version)

	base["notes.txt"] = &fstest.MapFile{Data: []byte("not read")}
	base[".hidden.yaml"] = &fstest.MapFile{Data: []byte("not: read")}
	base["_draft/a.yaml"] = &fstest.MapFile{Data: []byte("not: read")}
	same, _ := kb.Load(base)
	assert.Equal(t, first.Version, same.Version)

	base["cases.yaml"].Data = append([]byte("# a word more\n"), base["cases.yaml"].Data...)
	other, _ := kb.Load(base)
	assert.NotEqual(t, first.Version, other.Version)
}

func TestFoldersThatAreNone(t *testing.T) {
	empty := t.TempDir()
	file := filepath.Join(empty, "a.txt")
	require.NoError(t, os.WriteFile(file, []byte("x"), 0o600))
	for dir, want := range map[string]string{
		filepath.Join(empty, "none"): "none: error: the folder cannot be read: no such file or directory; give the path of a folder that holds the YAML files [folder]",
		file:                         "a.txt: error: this is a file, not a folder; give the folder that holds it [folder]",
		empty:                        ".: error: there is no .yaml file in this folder; give the folder that holds the knowledge base [folder]",
	} {
		k, found := kb.Open(dir)
		assert.Nil(t, k)
		require.Len(t, found, 1)
		assert.True(t, strings.HasSuffix(found[0].String(), want), found[0].String())
	}
}

func TestFilesThatAreNoFiles(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, syscall.Mkfifo(filepath.Join(dir, "pipe.yaml"), 0o600))
	require.NoError(t, os.Symlink(filepath.Join(dir, "gone"), filepath.Join(dir, "link.yaml")))
	require.NoError(t, os.Mkdir(filepath.Join(dir, "folder.yaml"), 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "large.yaml"), make([]byte, 5<<20), 0o600))
	k, found := kb.Open(dir)
	assert.Nil(t, k)
	assert.Equal(t, strings.Join([]string{
		"large.yaml:1:1: error: the file is larger than 4 MiB; split it into several [file]",
		"link.yaml:1:1: error: cannot be read: no such file or directory; see that it exists and may be read [file]",
		"pipe.yaml:1:1: error: this is not a regular file; move it elsewhere [file]",
	}, "\n")+"\n", lines(found))
}

// Inputs made to tire a parser end in an error, and soon.
func TestHostileInputEnds(t *testing.T) {
	long := func(s string) string { return strings.Repeat(s, (1<<20)/len(s)) }
	nested := "words:\n  off-topic: &a [*a]\n  parts: [*a, *a]\n"
	for name, text := range map[string]string{
		"brackets":     long("["),
		"braces":       long("{a: "),
		"dashes":       long("- "),
		"questions":    long("? "),
		"colons":       "a" + long(": a"),
		"quote":        `words: "` + long("x"),
		"comments":     long("#\n"),
		"anchors":      "words:\n  same:\n" + long("    - &a [b]\n"),
		"aliases":      "words:\n  parts: [&a b" + long(", *a") + "]\n",
		"many items":   "words:\n  parts: [a" + long(", 1") + "]\n",
		"unknown keys": "{" + long("a1: 1, b2: 2, ") + "}",
		"circle":       nested,
		"blank lines":  long("\n"),
		"tabs":         long("\t"),
		"documents":    long("---\n"),
		"long key":     long("k") + ": 1\n",
	} {
		t.Run(name, func(t *testing.T) {
			start := time.Now()
			k, found := kb.Load(fstest.MapFS{"a.yaml": {Data: []byte(text)}})
			assert.Nil(t, k)
			assert.True(t, kb.HasErrors(found))
			assert.LessOrEqual(t, len(found), 1001)
			// Far more than it takes, far less than a reader would call hanging.
			assert.Less(t, time.Since(start), 20*time.Second)
		})
	}
}

func TestNeverStopsAtTheFirstError(t *testing.T) {
	m := laidOver(t, "testdata/bad/unknown-remedy").(fstest.MapFS)
	m["broken.yaml"] = &fstest.MapFile{Data: []byte("causes: [\n")}
	m["second.yaml"] = &fstest.MapFile{Data: []byte("causs: []\nkits: 3\n")}
	_, found := kb.Load(m)
	text := lines(found)
	assert.Contains(t, text, "broken.yaml:")
	assert.Contains(t, text, "second.yaml:1:1: error: unknown key")
	assert.Contains(t, text, "second.yaml:2:7: error: section kits must be a list")
	assert.NotContains(t, text, "change-bulp", "references are not judged while a file cannot be read")
}

func TestTooMany(t *testing.T) {
	_, found := kb.Load(fstest.MapFS{"a.yaml": {Data: []byte(strings.Repeat("x: 1\n", 3000))}})
	require.Len(t, found, 1001)
	assert.Equal(t, "too-many", found[1000].Check)
}

func TestDiagnosticForms(t *testing.T) {
	d := kb.Diagnostic{Pos: kb.Pos{File: "a.yaml", Line: 3, Col: 7}, Severity: kb.Error, Check: "unknown-id", Text: `there is no check "x"`, Cure: "add it"}
	assert.Equal(t, `a.yaml:3:7: error: there is no check "x"; add it [unknown-id]`, d.String())
	b, err := json.Marshal(d)
	require.NoError(t, err)
	assert.JSONEq(t, `{"file":"a.yaml","line":3,"col":7,"severity":"error","check":"unknown-id","text":"there is no check \"x\"","cure":"add it"}`, string(b))
	var back kb.Diagnostic
	require.NoError(t, json.Unmarshal(b, &back))
	assert.Equal(t, d, back)
}

// TestFormatExamples holds FORMAT.md to the loader: every key its examples
// use is known.
func TestFormatExamples(t *testing.T) {
	text, err := os.ReadFile("FORMAT.md")
	require.NoError(t, err)
	blocks := strings.Split(string(text), "```yaml\n")[1:]
	require.Greater(t, len(blocks), 5)
	for i, b := range blocks {
		b, _, _ = strings.Cut(b, "```")
		b = strings.NewReplacer(", ...]", "]", "...", "more").Replace(b)
		_, found := kb.Load(fstest.MapFS{"example.yaml": {Data: []byte(b)}})
		for _, d := range found {
			switch d.Check {
			case "unknown-key", "duplicate-key", "unknown-word", "kind", "yaml", "id", "range":
				t.Errorf("example %d: %s", i+1, d)
			}
		}
	}
}

func BenchmarkLoad(b *testing.B) {
	fsys := kb.Embedded()
	for b.Loop() {
		if _, found := kb.Load(fsys); len(found) > 500 {
			b.Fatal("the embedded knowledge base is broken")
		}
	}
}
