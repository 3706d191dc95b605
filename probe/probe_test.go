package probe_test

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gopkg.in/yaml.v3"

	"triagebot/kb"
	"triagebot/probe"
)

// Two halves of a plug lie on one axis, face to face. Who looks at the wires of
// the one looks the same way as who looks at the mating face of the other; who
// looks the other way has left and right swapped.
func TestSeenFromEverySide(t *testing.T) {
	type view struct {
		half, side string
		forward    bool // looks along the axis, from the bike's wires to the motor's
	}
	views := []view{
		{"bike", "from the wire side", true}, {"bike", "from the mating face", false},
		{"motor", "from the wire side", false}, {"motor", "from the mating face", true},
	}
	words := map[string]string{"from the wire side": "back-probed, plugged in, on the %'s half", "from the mating face": "at the %'s half, unplugged"}
	for _, from := range views {
		plug := &kb.Plug{ID: "p", Viewed: from.side + " of the " + from.half + "'s half, latch up", Rows: [][]string{{"a", "b", "c"}, {"d"}}}
		for _, to := range views {
			seen, unsure := probe.Seen(plug, strings.Replace(words[to.side], "%", to.half, 1))
			assert.False(t, unsure)
			assert.Equal(t, to.side+" of the "+to.half+"'s half, latch up", seen.Viewed)
			if from.forward == to.forward {
				assert.Equal(t, plug.Rows, seen.Rows, "%v from %v", to, from)
			} else {
				assert.Equal(t, [][]string{{"c", "b", "a"}, {"", "", "d"}}, seen.Rows, "%v from %v", to, from)
			}
		}
		assert.Equal(t, [][]string{{"a", "b", "c"}, {"d"}}, plug.Rows, "the knowledge base stays as it is")
	}
}

func TestSeenWhereTooLittleIsTold(t *testing.T) {
	plug := &kb.Plug{ID: "p", Viewed: "from the wire side of the bike's half, latch up", Rows: [][]string{{"a", "b"}}}
	for side, unsure := range map[string]bool{
		"": false, "on the lugs": false, "back-probed, plugged in": false, "mating face, charger off": true, "unplugged": true,
	} {
		seen, got := probe.Seen(plug, side)
		assert.Same(t, plug, seen, side)
		assert.Equal(t, unsure, got, side)
	}
	bare := &kb.Plug{ID: "p", Viewed: "sideways"}
	seen, unsure := probe.Seen(bare, "at the bike's half, unplugged")
	assert.Same(t, bare, seen)
	assert.False(t, unsure)
}

// No check of the built-in kits leaves the owner to guess which way round.
func TestNoBuiltInDrawingIsUnsure(t *testing.T) {
	k, found := kb.Load(kb.Embedded())
	require.False(t, kb.HasErrors(found))
	for _, kit := range k.Kits {
		for _, c := range k.Checks {
			if !kit.Has(c.Parts) || c.Red == nil && c.Black == nil {
				continue
			}
			spots, err := probe.Spots(kit, c)
			require.NoError(t, err)
			for _, s := range spots {
				assert.Empty(t, s.Warning(), "%s on %s", c.ID, kit.ID)
			}
		}
	}
}

func TestTextMarksTheProbedPins(t *testing.T) {
	kit := &kb.Kit{ID: "kit", Plugs: []*kb.Plug{{
		ID: "p", Name: "throttle plug", Where: "behind the lamp", Viewed: "from the wire side of the throttle's half, latch down",
		Rows: [][]string{{"five", "ground"}, {"", "signal"}},
		Pins: []kb.Pin{{ID: "five", Name: "5 V", Colour: "red"}, {ID: "ground", Name: "ground"}, {ID: "signal", Name: "signal", Colour: "green"}},
	}}}
	c := &kb.Check{ID: "c", Kind: "measure", Red: &kb.Probe{Plug: "p", Pin: "signal"}, Black: &kb.Probe{Plug: "p", Pin: "ground"}, Side: "at the throttle's half, unplugged"}
	assert.Equal(t, strings.Split(strings.Trim(`
Throttle plug, behind the lamp.
Drawn as seen from the mating face of the throttle's half, latch down.
  ┌────────────┬────────────┐
  │   ground   │    5 V     │
  │ any colour │  red wire  │
  │   BLACK    │            │
  ├────────────┼────────────┤
  │   signal   │            │
  │ green wire │            │
  │    RED     │            │
  └────────────┴────────────┘
            [latch]
  RED → signal pin of the throttle plug, green wire
  BLACK → ground pin of the throttle plug
Probe here: at the throttle's half, unplugged.
`, "\n"), "\n"), probe.Text(kit, c))

	c.Black = &kb.Probe{Place: "pack minus"}
	lines := probe.Text(kit, c)
	assert.Contains(t, lines, "  BLACK → ( ) pack minus")
	c.Black = &kb.Probe{Plug: "gone", Pin: "x"}
	assert.Empty(t, probe.Text(kit, c))
	assert.Empty(t, probe.Text(nil, c))
}

func TestKeyIsReadFromWords(t *testing.T) {
	for viewed, want := range map[string]probe.Key{
		"from the wire side, latch up":              {There: true, Word: "latch"},
		"from the mating face, notch down":          {There: true, Notch: true, Down: true, Word: "notch"},
		"from the mating face, latch or notch up":   {There: true, Word: "latch or notch"},
		"from the wire side":                        {},
		"from the wire side, whichever way it lies": {},
	} {
		assert.Equal(t, want, probe.KeyOf(viewed), viewed)
	}
}

// Every sentence that is asked for is there, and every one there is asked for.
func TestSentences(t *testing.T) {
	data, err := os.ReadFile("sentences.yaml")
	require.NoError(t, err)
	all := map[string]map[string]string{}
	require.NoError(t, yaml.Unmarshal(data, &all))
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	asked := []string{"red", "black"} // asked for by the colour of a probe
	for _, f := range files {
		source, err := os.ReadFile(f)
		require.NoError(t, err)
		for _, m := range regexp.MustCompile(`say\("([a-z-]+)"`).FindAllStringSubmatch(string(source), -1) {
			asked = append(asked, m[1])
		}
	}
	for name := range all["en"] {
		assert.Contains(t, asked, name)
	}
	for _, name := range slices.Compact(asked) {
		assert.Contains(t, all["en"], name)
	}
}
