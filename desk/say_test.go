package desk_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
)

// Words to an owner reach the chat, the talk and the audit; a question that was
// put stands as it was.
func TestSay(t *testing.T) {
	r, ctx := newRoom(t), t.Context()
	id := taken(t, r, "t1")
	require.NoError(t, r.desk.AskCheck(ctx, vera, id, packVolts))
	r.chat.await(t, 1)
	pending := r.state("t1").Pending

	_, err := r.desk.Say(ctx, vera, id, " Could you send a photo?\nOf the plug. ")
	require.NoError(t, err)
	told := r.chat.await(t, 1)[0]
	assert.Equal(t, store.KindNotice, told.Kind)
	assert.Equal(t, []string{"A volunteer writes:", "Could you send a photo?", "Of the plug."}, told.Lines)
	assert.Equal(t, pending, r.state("t1").Pending)
	c, doc, err := r.desk.Case(id)
	require.NoError(t, err)
	assert.Equal(t, store.DeedSay, deeds(c)[len(c.Audit)-1])
	assert.Equal(t, "Of the plug.", doc.Transcript[len(doc.Transcript)-1].Text)

	_, err = r.desk.Say(ctx, walt, id, "hello")
	assert.ErrorContains(t, err, "taken by local:vera")
	for _, text := range []string{"", " \n ", "a\x00b", strings.Repeat("x", 5000)} {
		_, err = r.desk.Say(ctx, vera, id, text)
		assert.Error(t, err)
	}
	r.chat.nothingMore(t)
}
