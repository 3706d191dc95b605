package language_test

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"triagebot/kb"
	"triagebot/search"
)

const confusion = `
const {ConfusionMatrix} = require('ml-confusion-matrix');
const {truth, told} = JSON.parse(require('fs').readFileSync(0, 'utf8'));
const m = ConfusionMatrix.fromLabels(truth, told);
process.stdout.write(JSON.stringify([m.getPositivePredictiveValue(1), m.getTruePositiveRate(1), m.getF1Score(1)]));`

// TestScoresAgainstALibrary gives a general-purpose library the same output, one
// yes or no for each symptom of each message, and asks it for the same figures.
func TestScoresAgainstALibrary(t *testing.T) {
	node, err := exec.LookPath("node")
	dir := os.Getenv("TRIAGEBOT_NODE_MODULES")
	if err != nil || dir == "" {
		if os.Getenv("TRIAGEBOT_TEST_REQUIRE") == "1" {
			t.Fatal("needs node, and TRIAGEBOT_NODE_MODULES naming a folder with ml-confusion-matrix")
		}
		t.Skip("needs node, and TRIAGEBOT_NODE_MODULES naming a folder with ml-confusion-matrix 2.0.0")
	}
	k, found := kb.Load(kb.Embedded())
	require.False(t, kb.HasErrors(found))
	x, err := search.New(k)
	require.NoError(t, err)
	defer x.Close()
	list := messagesOf(t, []string{"dev2"})
	var both struct {
		Truth []int `json:"truth"`
		Told  []int `json:"told"`
	}
	one := map[bool]int{true: 1}
	for _, m := range list {
		said := x.Match(m.Text).Symptoms
		for id := range symptoms {
			told := slices.ContainsFunc(said, func(s search.Symptom) bool { return s.ID == id && s.Present })
			is := slices.Contains(m.Present, id)
			fair := slices.Contains(m.Maybe, id) && !slices.Contains(m.MaybeAbsent, id)
			if fair && !is {
				continue // neither right nor wrong
			}
			both.Truth, both.Told = append(both.Truth, one[is]), append(both.Told, one[told])
		}
	}
	in, err := json.Marshal(both)
	require.NoError(t, err)
	cmd := exec.Command(node, "-e", confusion)
	cmd.Dir, cmd.Stdin = dir, bytes.NewReader(in)
	raw, err := cmd.Output()
	require.NoError(t, err)
	var theirs [3]float64
	require.NoError(t, json.Unmarshal(raw, &theirs))
	ours := scoreMessages(list, x.Match).present
	require.InDelta(t, share(ours.right, ours.right+ours.wrong), theirs[0], 1e-12)
	require.InDelta(t, share(ours.right, ours.right+ours.missed), theirs[1], 1e-12)
	require.InDelta(t, ours.f1(), theirs[2], 1e-12)
}
