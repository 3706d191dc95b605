package casefile_test

import (
	"encoding/json"
	"flag"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile"
	"triagebot/conversation"
	"triagebot/kb"
)

var update = flag.Bool("update", false, "write the golden files anew")

func TestGolden(t *testing.T) {
	e := engine(t)
	for _, name := range slices.Sorted(maps.Keys(talks)) {
		t.Run(name, func(t *testing.T) {
			c := build(t, e, talks[name]().state())
			// Any change to the small rules changes their version.
			c.KB.Version = "000000000000"
			data, err := json.MarshalIndent(c, "", "  ")
			require.NoError(t, err)
			golden(t, name+".json", append(data, '\n'))
			golden(t, name+".md", []byte(c.Markdown()))
		})
	}
}

func golden(t *testing.T, name string, got []byte) {
	path := filepath.Join("testdata", "golden", name)
	if *update {
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, got, 0o644))
		return
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err, "run the test with -update to write it")
	assert.Equal(t, string(want), string(got))
}

func TestDeadThrottle(t *testing.T) {
	c := build(t, engine(t), talks["dead-throttle"]().state())
	assert.Equal(t, "named", c.Ended.State)
	assert.Equal(t, []string{"after-rain"}, c.History)
	assert.Equal(t, []string{"known-good-throttle"}, c.Lacking)

	pack, five, rest := c.Readings[0], c.Readings[1], c.Readings[2]
	require.Len(t, pack.Earlier, 1)
	assert.Equal(t, "odd", pack.Earlier[0].Replaced)
	assert.Equal(t, 653.0, *pack.Earlier[0].Value)
	assert.NotEmpty(t, pack.Earlier[0].OddReason)
	assert.False(t, pack.Earlier[0].Counted)
	assert.Equal(t, "corrected", five.Earlier[0].Replaced)
	assert.Equal(t, "dead", five.Earlier[0].Window)
	assert.Equal(t, "good", five.Window)
	assert.True(t, five.Counted)
	assert.Equal(t, "5 V pin of the throttle plug (red wire)", five.Red)
	assert.Equal(t, "none", rest.Window)
	assert.Greater(t, rest.Probability, 0.95)

	require.NotEmpty(t, c.Suspects)
	assert.Equal(t, "throttle-dead", c.Suspects[0].Causes[0].ID)
	speaks := map[string]float64{}
	for _, ev := range c.Suspects[0].For {
		speaks[ev.Of[0]] = ev.Weight
	}
	assert.Greater(t, speaks["throttle-5v"], 3.0)
	assert.Greater(t, speaks["throttle-rest"], 2.0) // the supply, just read, leaves little else
	assert.Equal(t, casefile.NotDone{Check: "fuse-continuity", Name: "the main fuse", Why: "cannot", Says: "the owner cannot do it",
		Given: "cant get at the fuse, no screwdriver", Tools: []string{}, Needs: []string{}, Covers: []string{"the controller cover"}}, c.NotDone[0])
	assert.Equal(t, "replace-throttle", c.Next.Remedy)
	assert.Equal(t, "Caution: Battery out before any plug is opened or closed.", c.Next.Lines[0])
}

// A cause is ruled out by what contradicts it most, not by what came last.
func TestRuledOutBy(t *testing.T) {
	c := build(t, engine(t), talks["dead-throttle"]().state())
	by := map[string]string{}
	for _, r := range c.RuledOut {
		assert.Less(t, r.Probability, 0.01, r.Cause.ID)
		assert.GreaterOrEqual(t, r.Highest, r.Prior, r.Cause.ID)
		require.NotEmpty(t, r.By, r.Cause.ID)
		assert.Less(t, r.By[0].Weight, 1.0, r.Cause.ID)
		by[r.Cause.ID] = r.By[0].Of[0]
	}
	assert.Equal(t, "throttle-5v", by["ground-open"])
	assert.Equal(t, "pack-volts", by["pack-flat"])
}

func TestRemedyRulesOut(t *testing.T) {
	c := build(t, engine(t), talks["odd-stands"]().state())
	require.Len(t, c.RuledOut, 1)
	assert.Equal(t, "meter-wrong", c.RuledOut[0].Cause.ID)
	assert.Equal(t, casefile.Evidence{Kind: "remedy", Of: []string{"change-meter-battery"}, Says: "carried out: change the meter's battery", Words: "mended"}, c.RuledOut[0].By[0])
	assert.Equal(t, "done", c.Remedies[0].Result)
}

func TestTwins(t *testing.T) {
	c := build(t, engine(t), talks["twins"]().state())
	assert.Equal(t, "not-cured", c.Remedies[0].Result)
	assert.Equal(t, "part-twins", c.Next.Kind)
	assert.ElementsMatch(t, []string{"regulator-failed", "control-pin-loose"}, c.Next.Causes)
	assert.Equal(t, []string{"a probe on the regulator's own pin inside the box"}, c.Next.Lines)
}

func TestNext(t *testing.T) {
	e := engine(t)
	kinds := map[string]string{
		"empty": "ask", "danger": "danger", "cured": "none", "odd-stands": "repeat", "twins": "part-twins", "dead-throttle": "remedy",
	}
	for name, want := range kinds {
		assert.Equal(t, want, build(t, e, talks[name]().state()).Next.Kind, name)
	}
	// What the owner lacks or cannot do does not bind the person who takes over.
	st := newTalk().owner("x").kit("sorrel-60").notice("no-drive", true, 0.95).id(conversation.ToolLacking, "meter").
		event(conversation.Event{Kind: conversation.CannotDo, ID: "look-display", Text: "no"}).
		id(conversation.HandedOver, conversation.ReasonNoCheck).state()
	c := build(t, e, st)
	assert.Equal(t, "check", c.Next.Kind)
	assert.NotEmpty(t, c.Next.Check)
	assert.True(t, st.Lacking["meter"], "the state is not changed")
}

// What was said unasked and what was chosen from answers are told apart, and
// count once.
func TestWhoseWords(t *testing.T) {
	e := engine(t)
	c := build(t, e, talks["handed-over-unmeasured"]().state())
	assert.Equal(t, casefile.Symptom{ID: "display-blank", Name: "display blank", Family: "supply", State: "present", Says: "the display stays dark",
		Confidence: 0.9, From: "own-words"}, c.Symptoms[1])
	assert.Equal(t, "absent", c.Symptoms[2].State)
	assert.Contains(t, c.Markdown(), "the display stays dark, speaks strongly for it")

	c = build(t, e, talks["close-and-overload"]().state())
	assert.Equal(t, "answer", c.Symptoms[1].From)
	assert.Equal(t, "look-display", c.Symptoms[1].Check)
	assert.Equal(t, "no, dark", c.Symptoms[1].Given)
	require.Len(t, c.Looks, 1)
	assert.Equal(t, "dark", c.Looks[0].Option)
	assert.Equal(t, "normal", c.Looks[0].Earlier[0].Option)
	assert.True(t, c.Readings[0].Close)
	assert.True(t, c.Readings[1].Overload)
	assert.Nil(t, c.Readings[1].Value)
	assert.Equal(t, "open", c.Readings[1].Window)
}

func TestNotDone(t *testing.T) {
	c := build(t, engine(t), newTalk().owner("x").kit("sorrel-60").notice("no-drive", true, 0.95).
		id(conversation.ToolLacking, "known-good-throttle").id(conversation.HandedOver, conversation.ReasonPerson).state())
	why := map[string]string{}
	for _, n := range c.NotDone {
		why[n.Check] = n.Why
	}
	assert.Equal(t, map[string]string{
		"look-display": "not-reached", "pack-volts": "not-reached", "throttle-5v": "cover", "throttle-rest": "needs",
		"throttle-try": "tool", "fuse-continuity": "cover",
	}, why)
}

// Rules that cannot be worked out lose nothing that the owner said.
func TestIncomplete(t *testing.T) {
	st := newTalk().owner("it is dead").notice("no-drive", true, 0.9).state()
	st.Answers = append(st.Answers, conversation.Answer{Check: "look-display", Reading: &conversation.Measured{Value: 1, Unit: "V"}, Given: "1"})
	e := engine(t)
	c, err := casefile.Build(e, st)
	require.ErrorContains(t, err, "building the case")
	holds(t, e, st, c)
	assert.NotEmpty(t, c.Incomplete)
	assert.Equal(t, []string{"it is dead"}, c.Complaint)
	assert.Len(t, c.Readings, 1)
	assert.Contains(t, c.Markdown(), "incomplete")
}

// With the embedded rules, every check and every outcome of every kit makes a
// case that conforms.
func TestEmbedded(t *testing.T) {
	k, found := kb.Load(kb.Embedded())
	require.NotNil(t, k, "the embedded rules do not load: %v", found)
	e, err := conversation.New(k, deaf{})
	require.NoError(t, err)
	for _, kit := range k.Kits {
		tk := newTalk().owner("it does nothing").kit(kit.ID)
		for _, s := range k.Symptoms {
			if kit.Has(s.Parts) && s.Danger == "" && len(tk.events) < 12 {
				tk.notice(s.ID, len(tk.events)%2 == 0, 0.8)
			}
		}
		for _, c := range k.Checks {
			switch {
			case !kit.Has(c.Parts):
			case len(c.Windows) > 0:
				tk.read(c.ID, 1.25, 2, c.Unit, "1.25")
			case len(c.Options) > 0:
				tk.see(c.ID, c.Options[0].ID, c.Options[0].Label)
			}
		}
		tk.id(conversation.HandedOver, conversation.ReasonPerson)
		c := build(t, e, tk.state())
		assert.Equal(t, kit.ID, c.Kit.ID)
		assert.NotEmpty(t, c.Readings)
		assert.NotEmpty(t, c.Markdown())
	}
}
