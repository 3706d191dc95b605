package turns

import (
	"fmt"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/conversation"
)

// long is a talk with so many lines of text of its own.
func long(n int) *conversation.State {
	st := conversation.NewState()
	for i := range n {
		st.Transcript = append(st.Transcript, conversation.Line{Text: strings.Repeat(string(rune('a'+i%26)), 80)})
		st.Symptoms[fmt.Sprintf("symptom-%d", i/8)] = conversation.Symptom{}
		if i%8 == 0 {
			st.Answers = append(st.Answers, conversation.Answer{Check: fmt.Sprintf("check-%d", i), Given: strings.Clone("54.2")})
		}
	}
	return st.Clone()
}

// However many conversations there are and however long, those in memory stay
// within what they may take, and the latest are among them.
func TestKeptIsBounded(t *testing.T) {
	heap := func() int {
		runtime.GC()
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return int(m.HeapAlloc)
	}
	for _, lines := range []int{0, 10, 100} {
		const most = 8 << 20
		before := heap()
		k := newKept(most)
		for i := range 10_000 {
			k.put(fmt.Sprintf("talk-%d", i), keptTalk{state: long(lines)})
			if k.bytes > most/2 && i%500 == 0 {
				runtime.GC()
			}
		}
		grown := heap() - before
		assert.LessOrEqual(t, k.bytes, most)
		assert.Less(t, grown, 3*most/2, "%d lines: the weights are too low", lines)
		assert.Greater(t, grown, most/4, "%d lines: the weights are too high", lines)
		_, ok := k.get("talk-9999")
		assert.True(t, ok)
		_, ok = k.get("talk-0")
		assert.False(t, ok)
		t.Logf("%d lines: %d conversations, weight %d, heap %d", lines, len(k.byID), k.bytes, grown)
		k.clear()
		assert.Zero(t, k.bytes)
	}
}

func TestKeptWeighs(t *testing.T) {
	k := newKept(1)
	k.put("a", keptTalk{state: long(1)})
	_, ok := k.get("a")
	assert.True(t, ok, "one is kept however heavy")
	k.put("b", keptTalk{state: long(1)})
	_, ok = k.get("a")
	assert.False(t, ok)
	k.put("b", keptTalk{state: long(2)})
	require.Len(t, k.byID, 1)
	assert.Equal(t, weight("b", long(2)), k.bytes, "the new weight takes the place of the old")
	k.drop("b")
	k.drop("b")
	assert.Zero(t, k.bytes)
}
