// Package language_test holds the labelled sets of owners' words and checks
// that they are well-formed: what they measure is measured elsewhere.
package language_test

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Each symptom must be said this often in the two message sets together, and
// in the test set alone, or its rate of misses says nothing.
const (
	minPresent     = 8
	minPresentTest = 3
	minAbsent      = 4
	minSet         = 600
	minIntent      = 10
)

// figure is a number, or "OL" where the meter shows over-range.
type figure struct {
	Check string `json:"check"`
	Value any    `json:"value"`
	Unit  string `json:"unit"`
}

type message struct {
	ID          string   `json:"id"`
	Text        string   `json:"text"`
	Kit         string   `json:"kit"`
	Danger      []string `json:"danger"`
	Present     []string `json:"present"`
	Absent      []string `json:"absent"`
	Maybe       []string `json:"maybe"`
	MaybeAbsent []string `json:"maybe_absent"`
	Readings    []figure `json:"readings"`
	Offtopic    bool     `json:"offtopic"`
	Kind        string   `json:"kind"`
}

type reply struct {
	ID       string   `json:"id"`
	Check    string   `json:"check"`
	Ask      string   `json:"ask"`
	Asked    string   `json:"asked"`
	Options  []string `json:"options"`
	Text     string   `json:"text"`
	Intent   string   `json:"intent"`
	Also     []string `json:"also"`
	Value    any      `json:"value"`
	Unit     string   `json:"unit"`
	UnitSaid bool     `json:"unit_said"`
	Values   []figure `json:"values"`
	Choice   string   `json:"choice"`
	Approx   *bool    `json:"approx"`
	Kind     string   `json:"kind"`
}

func TestMessagesAreWellFormed(t *testing.T) {
	wellFormedMessages(t, append(load[message](t, "messages.dev.jsonl"), load[message](t, "messages.test.jsonl")...))
}

func wellFormedMessages(t *testing.T, list []message) {
	t.Helper()
	seen, said := map[string]bool{}, map[string]bool{}
	for _, m := range list {
		assert.False(t, seen[m.ID], "%s: id used twice", m.ID)
		assert.False(t, said[strings.ToLower(m.Text)], "%s: text used twice: %q", m.ID, m.Text)
		seen[m.ID], said[strings.ToLower(m.Text)] = true, true

		assert.NotEmpty(t, strings.TrimSpace(m.Text), m.ID)
		assert.NotEmpty(t, m.Kind, m.ID)
		assert.True(t, m.Kit == "" || kits[m.Kit], "%s: unknown kit %q", m.ID, m.Kit)
		known(t, m.ID, symptoms, m.Present, m.Absent, m.Maybe)
		known(t, m.ID, dangers, m.Danger)
		assert.Subset(t, m.Present, m.Danger, "%s: danger not in present", m.ID)
		assert.Subset(t, m.Maybe, m.MaybeAbsent, "%s: maybe_absent not in maybe", m.ID)

		once := map[string]bool{}
		for _, list := range [][]string{m.Present, m.Absent, m.Maybe} {
			for _, id := range list {
				assert.False(t, once[id], "%s: %s labelled twice", m.ID, id)
				once[id] = true
			}
		}
		if m.Offtopic {
			assert.Empty(t, once, "%s: off-topic and labelled", m.ID)
			assert.Empty(t, m.Readings, "%s: off-topic with a reading", m.ID)
		}
		for _, r := range m.Readings {
			assert.True(t, checks[r.Check], "%s: unknown check %q", m.ID, r.Check)
			assertFigure(t, m.ID, r.Value, r.Unit)
		}
	}
}

func TestRepliesAreWellFormed(t *testing.T) {
	wellFormedReplies(t, append(load[reply](t, "replies.dev.jsonl"), load[reply](t, "replies.test.jsonl")...))
}

func wellFormedReplies(t *testing.T, list []reply) {
	t.Helper()
	seen, said := map[string]bool{}, map[[3]string]bool{}
	for _, r := range list {
		key := [3]string{r.Check, r.Asked, strings.ToLower(r.Text)}
		assert.False(t, seen[r.ID], "%s: id used twice", r.ID)
		assert.False(t, said[key], "%s: same question and text twice: %q", r.ID, r.Text)
		seen[r.ID], said[key] = true, true

		assert.NotEmpty(t, strings.TrimSpace(r.Text), r.ID)
		assert.NotEmpty(t, r.Asked, r.ID)
		assert.NotEmpty(t, r.Kind, r.ID)
		assert.True(t, r.Check == "" || checks[r.Check], "%s: unknown check %q", r.ID, r.Check)
		assert.True(t, asks[r.Ask], "%s: unknown ask %q", r.ID, r.Ask)
		known(t, r.ID, intents, []string{r.Intent}, r.Also)
		assert.NotContains(t, r.Also, r.Intent, "%s: intent is in also", r.ID)
		if r.Ask == "look" {
			assert.NotEmpty(t, r.Options, "%s: a look without options", r.ID)
		}

		assert.Equal(t, r.Intent == "choice", r.Choice != "", "%s: choice does not go with intent %s", r.ID, r.Intent)
		if r.Choice != "" {
			assert.Contains(t, r.Options, r.Choice, r.ID)
		}
		assert.Equal(t, r.Intent == "reading", r.Value != nil, "%s: value does not go with intent %s", r.ID, r.Intent)
		if r.Value != nil {
			assertFigure(t, r.ID, r.Value, r.Unit)
		} else {
			assert.Empty(t, r.Unit, "%s: unit without value", r.ID)
			assert.Empty(t, r.Values, "%s: values without value", r.ID)
		}
		for _, v := range r.Values {
			assertFigure(t, r.ID, v.Value, v.Unit)
		}
	}
}

func TestSetsAreSplitByTheFixedRule(t *testing.T) {
	for _, set := range []struct{ name, prefix string }{{"messages", "m"}, {"replies", "r"}} {
		splitByTheRule(t, set.name, set.prefix, minSet)
	}
}

func splitByTheRule(t *testing.T, name, prefix string, least int) {
	t.Helper()
	dev, test := numbers(t, name+".dev.jsonl", prefix), numbers(t, name+".test.jsonl", prefix)
	total := len(dev) + len(test)
	assert.GreaterOrEqual(t, total, least, name)
	assert.Len(t, test, total/3, "%s: the test set is a third", name)
	for _, n := range dev {
		assert.NotZero(t, n%3, "%s%03d belongs in test", prefix, n)
	}
	for _, n := range test {
		assert.Zero(t, n%3, "%s%03d belongs in dev", prefix, n)
	}
}

func TestEverySymptomIsSaidOftenEnough(t *testing.T) {
	present, inTest, absent := map[string]int{}, map[string]int{}, map[string]int{}
	for _, name := range []string{"messages.dev.jsonl", "messages.test.jsonl"} {
		for _, m := range load[message](t, name) {
			for _, id := range m.Present {
				present[id]++
				if name == "messages.test.jsonl" {
					inTest[id]++
				}
			}
			for _, id := range m.Absent {
				absent[id]++
			}
		}
	}
	for id := range symptoms {
		assert.GreaterOrEqual(t, present[id], minPresent, "%s present", id)
		assert.GreaterOrEqual(t, inTest[id], minPresentTest, "%s present in the test set", id)
		assert.GreaterOrEqual(t, absent[id], minAbsent, "%s absent", id)
	}
}

func TestEveryCheckAndIntentIsAsked(t *testing.T) {
	asked, meant := map[string]int{}, map[string]int{}
	for _, r := range append(load[reply](t, "replies.dev.jsonl"), load[reply](t, "replies.test.jsonl")...) {
		asked[r.Check]++
		meant[r.Intent]++
	}
	for id := range checks {
		assert.Positive(t, asked[id], "no reply to %s", id)
	}
	for id := range intents {
		assert.GreaterOrEqual(t, meant[id], minIntent, "intent %s", id)
	}
}

// load reads one object a line and refuses keys it does not know, so that a
// misspelt label is not silently dropped.
func load[T any](t *testing.T, name string) []T {
	t.Helper()
	data, err := os.ReadFile(name)
	require.NoError(t, err)
	var out []T
	for n, line := range bytes.Split(bytes.TrimSuffix(data, []byte("\n")), []byte("\n")) {
		decoder := json.NewDecoder(bytes.NewReader(line))
		decoder.DisallowUnknownFields()
		var one T
		require.NoError(t, decoder.Decode(&one), "%s:%d", name, n+1)
		out = append(out, one)
	}
	return out
}

func numbers(t *testing.T, name, prefix string) []int {
	t.Helper()
	var out []int
	for _, line := range load[map[string]any](t, name) {
		id, _ := line["id"].(string)
		n, err := strconv.Atoi(strings.TrimPrefix(id, prefix))
		require.NoError(t, err, "%s: id %q", name, id)
		out = append(out, n)
	}
	return out
}

func known(t *testing.T, id string, set map[string]bool, lists ...[]string) {
	t.Helper()
	for _, list := range lists {
		for _, s := range list {
			assert.True(t, set[s], "%s: unknown id %q", id, s)
		}
	}
}

func assertFigure(t *testing.T, id string, value any, unit string) {
	t.Helper()
	assert.True(t, units[unit], "%s: unknown unit %q", id, unit)
	switch v := value.(type) {
	case float64:
		assert.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%s: %v is not finite", id, v)
	case string:
		assert.Equal(t, "OL", v, id)
	default:
		assert.Fail(t, "not a figure", "%s: %v", id, value)
	}
}
