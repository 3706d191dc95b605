package rehearsal_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"triagebot/conversation"
	"triagebot/kb"
	"triagebot/rehearsal"
	"triagebot/search"
)

// matcher is the bridge that the program has between index and talk.
type matcher struct{ index *search.Index }

func (m matcher) Match(text string) conversation.Heard {
	said := m.index.Match(text)
	h := conversation.Heard{Kit: said.Kit, Danger: said.Danger, Offtopic: said.Offtopic, Unclear: said.Unclear}
	for _, s := range said.Symptoms {
		h.Symptoms = append(h.Symptoms, conversation.HeardSymptom{ID: s.ID, Present: s.Present, Confidence: s.Score})
	}
	for _, r := range said.Readings {
		if r.Check != "" {
			h.Readings = append(h.Readings, conversation.HeardReading{Check: r.Check, Quantity: r.Quantity})
		}
	}
	for _, x := range said.Seen {
		h.Seen = append(h.Seen, conversation.HeardSight{Check: x.Check, Option: x.Option, Confidence: x.Confidence})
	}
	for _, t := range said.Tools {
		h.Tools = append(h.Tools, conversation.HeardTool{ID: t.ID, Has: t.Have})
	}
	return h
}

func newRehearsal(t testing.TB) *rehearsal.Rehearsal {
	t.Helper()
	return rehearsalOf(t, embedded(t))
}

func rehearsalOf(t testing.TB, k *kb.KB) *rehearsal.Rehearsal {
	t.Helper()
	x, err := search.New(k)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, x.Close()) })
	e, err := conversation.New(k, matcher{x})
	require.NoError(t, err)
	r, err := rehearsal.New(e)
	require.NoError(t, err)
	return r
}
