package conversation

import (
	"bufio"
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// labelled is one line of testdata/replies.jsonl: a reply as an owner might
// write it, and what it means. A third of the lines (set "aside") took no part
// in the making of the cues and is only reported.
type labelled struct {
	ID     string          `json:"id"`
	Set    string          `json:"set"`
	Q      string          `json:"q"`
	Text   string          `json:"text"`
	Intent Intent          `json:"intent"`
	Values []labelledValue `json:"values"`
	Choice string          `json:"choice"`
	Approx bool            `json:"approx"`
	Doubt  bool            `json:"doubt"`
	Wrong  bool            `json:"wrong_unit"`
}

type labelledValue struct {
	Value    float64 `json:"value"`
	Unit     string  `json:"unit"`
	Overload bool    `json:"overload"`
	Place    string  `json:"place"`
}

func testQuestions(t testing.TB) map[string]Question {
	t.Helper()
	data, err := os.ReadFile("testdata/questions.json")
	require.NoError(t, err)
	var list []struct {
		Name, Check, Kind, Unit, Asked string
		Options                        []Choice
	}
	require.NoError(t, json.Unmarshal(data, &list))
	out := map[string]Question{}
	for _, q := range list {
		out[q.Name] = Question{Check: q.Check, Kind: q.Kind, Unit: q.Unit, Asked: q.Asked, Options: q.Options}
	}
	return out
}

func labelledReplies(t testing.TB, file string) []labelled {
	t.Helper()
	f, err := os.Open(file)
	require.NoError(t, err)
	defer f.Close()
	var out []labelled
	lines := bufio.NewScanner(f)
	for lines.Scan() {
		if strings.TrimSpace(lines.Text()) == "" {
			continue
		}
		var l labelled
		require.NoError(t, json.Unmarshal(lines.Bytes(), &l), lines.Text())
		out = append(out, l)
	}
	require.NoError(t, lines.Err())
	return out
}

// sameValues compares figures, units and, where labelled, states.
func sameValues(want []labelledValue, got []Value) bool {
	if len(want) != len(got) {
		return false
	}
	for i, w := range want {
		g := got[i]
		if w.Overload != g.Overload || math.Abs(w.Value-g.Value) > 1e-9*math.Max(1, math.Abs(w.Value)) {
			return false
		}
		if w.Unit != "" && w.Unit != g.Unit || w.Place != "" && w.Place != g.Place {
			return false
		}
	}
	return true
}

func TestLabelledReplies(t *testing.T) {
	questions := testQuestions(t)
	reader, err := NewReader()
	require.NoError(t, err)
	type tally struct{ all, intent, valued, values, chosen, choice int }
	sets := map[string]*tally{"dev": {}, "aside": {}}
	for _, l := range labelledReplies(t, "testdata/replies.jsonl") {
		q, ok := questions[l.Q]
		require.True(t, ok, "question %q", l.Q)
		got := reader.Read(q, l.Text)
		n := sets[l.Set]
		n.all++
		bad := false
		if got.Intent == l.Intent {
			n.intent++
		} else {
			bad = true
		}
		if len(l.Values) > 0 {
			n.valued++
			if sameValues(l.Values, got.Values) {
				n.values++
			} else {
				bad = true
			}
		}
		if l.Choice != "" {
			n.chosen++
			if got.Choice == l.Choice {
				n.choice++
			} else {
				bad = true
			}
		}
		if bad && l.Set == "dev" {
			t.Logf("%s %s %q: want %s %v %s; got %s %v %s", l.ID, l.Q, l.Text, l.Intent, l.Values, l.Choice, got.Intent, got.Values, got.Choice)
		}
	}
	for _, s := range []string{"dev", "aside"} {
		n := sets[s]
		t.Logf("%s: intent %d/%d, figures with unit and state %d/%d, choice %d/%d", s, n.intent, n.all, n.values, n.valued, n.choice, n.chosen)
	}
	dev := sets["dev"]
	require.GreaterOrEqual(t, dev.intent*100, dev.all*95)
	require.GreaterOrEqual(t, dev.values*100, dev.valued*97)
	require.GreaterOrEqual(t, dev.choice*100, dev.chosen*92)
}
