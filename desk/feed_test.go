package desk_test

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gopkg.in/yaml.v3"

	"triagebot/casefile/store"
	"triagebot/desk"
)

func TestWatch(t *testing.T) {
	r, ctx := newRoom(t), t.Context()
	changes, stop := r.desk.Watch()
	defer stop()
	id := r.handedOver("t1")
	_, err := r.desk.Take(ctx, vera, id)
	require.NoError(t, err)
	_, err = r.desk.Take(ctx, walt, id)
	require.Error(t, err)
	_, err = r.desk.Note(ctx, vera, id, "x")
	require.NoError(t, err)
	_, err = r.desk.Close(ctx, vera, id, desk.Outcome{NotFound: true})
	require.NoError(t, err)
	for _, want := range []desk.Change{
		{Conversation: "t1", Kind: desk.ChangeTurn}, {Case: id, Conversation: "t1", Kind: string(store.DeedOpen)},
		{Case: id, Conversation: "t1", Kind: string(store.DeedTake)}, {Case: id, Conversation: "t1", Kind: string(store.DeedNote)},
		{Case: id, Conversation: "t1", Kind: string(store.DeedClose)},
	} {
		assert.Equal(t, want, <-changes)
	}
	assert.Empty(t, changes, "every change once")
	stop()
	stop()
	_, open := <-changes
	assert.False(t, open)
}

// Who does not read holds nobody up, learns that something was left out, and
// misses nothing after that.
func TestSlowWatcher(t *testing.T) {
	f := desk.NewFeed()
	changes, stop := f.Watch()
	defer stop()
	for i := range 10_000 {
		f.Turn(store.Turn{Conversation: fmt.Sprintf("t%d", i)}, store.Committed{})
	}
	var got []desk.Change
	for len(changes) > 0 {
		got = append(got, <-changes)
	}
	require.Len(t, got, 65)
	assert.Equal(t, desk.LookAgain, got[64].Kind)
	assert.Equal(t, "t63", got[63].Conversation)
	f.Turn(store.Turn{Conversation: "later"}, store.Committed{})
	assert.Equal(t, "later", (<-changes).Conversation)
}

// Every sentence that is said is there, and every one that is there is said.
func TestSentences(t *testing.T) {
	data, err := os.ReadFile("sentences.yaml")
	require.NoError(t, err)
	var all map[string]map[string]string
	require.NoError(t, yaml.Unmarshal(data, &all))
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	var code strings.Builder
	for _, name := range files {
		if !strings.HasSuffix(name, "_test.go") {
			text, err := os.ReadFile(name)
			require.NoError(t, err)
			code.Write(text)
		}
	}
	for _, m := range regexp.MustCompile(`(?:say\(|sentence :?= )"([a-z-]+)"`).FindAllStringSubmatch(code.String(), -1) {
		assert.Contains(t, all["en"], m[1])
	}
	for name := range all["en"] {
		assert.Contains(t, code.String(), `"`+name+`"`, "%q is never said", name)
	}
}
