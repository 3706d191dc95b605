package desk_test

import (
	"bytes"
	"errors"
	"fmt"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/conversation"
	"triagebot/desk"
)

func deeds(c store.Case) []store.Deed {
	var all []store.Deed
	for _, a := range c.Audit {
		all = append(all, a.Deed)
	}
	return all
}

// The life of a case through the desk, with what its owner and the volunteers
// are told at each change, and a restart in the middle.
func TestLifeOfACase(t *testing.T) {
	r, ctx := newRoom(t), t.Context()
	id := r.handedOver("t1")

	c, err := r.desk.Take(ctx, vera, id)
	require.NoError(t, err)
	assert.Equal(t, store.Taken, c.State)
	assert.Equal(t, "local:vera", c.Taker)
	told := r.chat.await(t, 1)[0]
	assert.Equal(t, store.KindNotice, told.Kind)
	assert.Equal(t, "t1", told.To)
	assert.Equal(t, "A volunteer has your case now and writes to you here.", words(told))

	again, err := r.desk.Take(ctx, vera, id)
	require.NoError(t, err, "taking it twice is a slip of the hand")
	assert.Equal(t, c, again)
	r.chat.nothingMore(t)

	_, err = r.desk.Note(ctx, vera, id, "  sounds like the throttle  ")
	require.NoError(t, err)
	r.chat.nothingMore(t)
	mine, err := r.desk.Mine(vera)
	require.NoError(t, err)
	require.Len(t, mine, 1)

	r.restart()
	_, err = r.desk.HandOn(ctx, vera, id, "local:walt")
	require.NoError(t, err)
	both := r.chat.await(t, 2)
	assert.ElementsMatch(t, []string{"Case 1 was handed on to local:walt.", "Your case goes on to a volunteer who can see further."},
		[]string{words(both[0]), words(both[1])})

	c, err = r.desk.Close(ctx, walt, id, desk.Outcome{Cause: "throttle-dead", Remedy: "replace-throttle"})
	require.Error(t, err, "ids that are not in the knowledge base")
	require.ErrorIs(t, err, desk.ErrUnknown)
	cause := engine(t).KB().Causes[0]
	remedy := engine(t).KB().Remedy(cause.Remedy)
	c, err = r.desk.Close(ctx, walt, id, desk.Outcome{Cause: cause.ID, Remedy: remedy.ID, Text: "loose since spring"})
	require.NoError(t, err)
	assert.Equal(t, store.Closed, c.State)
	told = r.chat.await(t, 1)[0]
	assert.Equal(t, store.KindNotice, told.Kind)
	assert.Contains(t, words(told), fmt.Sprintf("It was %s; what mended it: %s.", cause.Name, remedy.Name))
	assert.Equal(t, conversation.Done, r.state("t1").Phase)
	counts, err := r.store.Counts()
	require.NoError(t, err)
	assert.Equal(t, map[string]uint64{"closed/sorrel-60/" + cause.ID + "/" + remedy.ID: 1}, counts)

	assert.Equal(t, "You are welcome.", words(r.says("t1", "thank you!")))
	c, _, err = r.desk.Case(id)
	require.NoError(t, err)
	assert.Equal(t, store.Closed, c.State, "thanks do not open a case again")

	c, err = r.desk.Reopen(ctx, vera, id)
	require.NoError(t, err)
	assert.Equal(t, store.Waiting, c.State)
	both = r.chat.await(t, 2)
	kinds := []store.Kind{both[0].Kind, both[1].Kind}
	assert.ElementsMatch(t, []store.Kind{store.KindNotice, store.KindCase}, kinds)
	assert.Equal(t, []uint64{id, id}, []uint64{both[0].Case, both[1].Case}, "both say which case")
	assert.Equal(t, []store.Deed{store.DeedOpen, store.DeedTake, store.DeedNote, store.DeedHandOn, store.DeedClose, store.DeedReopen}, deeds(c))
	assert.Equal(t, conversation.Over, r.state("t1").Phase)

	c, doc, err := r.desk.Case(id)
	require.NoError(t, err)
	require.NotNil(t, doc)
	assert.Equal(t, "sounds like the throttle", c.Audit[2].Text)
	assert.NotEmpty(t, doc.Suspects, "a volunteer sees the suspects")
}

// Of many who take a case at once one has it, and each other is told who.
func TestTakersAtOnce(t *testing.T) {
	r := newRoom(t)
	id := r.handedOver("t1")
	var (
		all  sync.WaitGroup
		mu   sync.Mutex
		wins []string
		told []string
	)
	for i := range 20 {
		all.Go(func() {
			p := person(fmt.Sprintf("local:p%d", i), desk.Volunteer)
			_, err := r.desk.Take(t.Context(), p, id)
			mu.Lock()
			defer mu.Unlock()
			var taken *store.TakenError
			switch {
			case err == nil:
				wins = append(wins, p.Name)
			case errors.As(err, &taken):
				told = append(told, taken.By)
			default:
				assert.NoError(t, err)
			}
		})
	}
	all.Wait()
	require.Len(t, wins, 1)
	require.Len(t, told, 19)
	for _, by := range told {
		assert.Equal(t, wins[0], by)
	}
	r.chat.await(t, 1)
	r.chat.nothingMore(t)
}

func TestRoles(t *testing.T) {
	r, ctx := newRoom(t), t.Context()
	id := r.handedOver("t1")
	acts := map[string]func(desk.Person) error{
		"take":    func(p desk.Person) error { _, err := r.desk.Take(ctx, p, id); return err },
		"note":    func(p desk.Person) error { _, err := r.desk.Note(ctx, p, id, "x"); return err },
		"hand on": func(p desk.Person) error { _, err := r.desk.HandOn(ctx, p, id, ""); return err },
		"ask":     func(p desk.Person) error { return r.desk.AskCheck(ctx, p, id, engine(t).KB().Checks[0].ID) },
		"close": func(p desk.Person) error {
			_, err := r.desk.Close(ctx, p, id, desk.Outcome{NotFound: true})
			return err
		},
		"reopen": func(p desk.Person) error { _, err := r.desk.Reopen(ctx, p, id); return err },
		"forget": func(p desk.Person) error { _, err := r.desk.Forget(ctx, p, "owner-t1"); return err },
		"backup": func(p desk.Person) error { _, err := r.desk.Backup(ctx, p, &bytes.Buffer{}); return err },
	}
	for what, act := range acts {
		for _, p := range []desk.Person{guest, shop, person("", desk.Volunteer, desk.Keeper)} {
			assert.ErrorIs(t, act(p), desk.ErrRole, "%s by %q", what, p.Name)
		}
	}
	assert.ErrorIs(t, acts["forget"](vera), desk.ErrRole)
	assert.ErrorIs(t, acts["backup"](vera), desk.ErrRole)
	r.chat.nothingMore(t)
	c, _, err := r.desk.Case(id)
	require.NoError(t, err)
	assert.Equal(t, []store.Deed{store.DeedOpen}, deeds(c), "what was refused is not in the audit")
	require.NoError(t, acts["backup"](kim))
	require.NoError(t, acts["forget"](kim))
	_, _, err = r.desk.Case(id)
	assert.ErrorIs(t, err, store.ErrNoCase)
}

func TestRefusedActs(t *testing.T) {
	r, ctx := newRoom(t), t.Context()
	id := r.handedOver("t1")
	_, err := r.desk.Take(ctx, vera, 99)
	assert.ErrorIs(t, err, store.ErrNoCase)
	_, err = r.desk.Close(ctx, vera, id, desk.Outcome{NotFound: true})
	assert.ErrorIs(t, err, store.ErrNotYours)
	_, err = r.desk.Take(ctx, vera, id)
	require.NoError(t, err)
	r.chat.await(t, 1)
	var taken *store.TakenError
	_, err = r.desk.Close(ctx, walt, id, desk.Outcome{NotFound: true})
	require.ErrorAs(t, err, &taken)
	assert.Equal(t, "local:vera", taken.By)
	assert.ErrorAs(t, r.desk.AskCheck(ctx, walt, id, engine(t).KB().Checks[0].ID), &taken)
	_, err = r.desk.HandOn(ctx, walt, id, "")
	assert.ErrorAs(t, err, &taken)
	for _, o := range []desk.Outcome{{}, {Cause: "x"}, {Remedy: "y"}, {NotFound: true, Cause: "x", Remedy: "y"}} {
		_, err = r.desk.Close(ctx, vera, id, o)
		assert.ErrorIs(t, err, store.ErrHalfFound, "%+v", o)
	}
	_, err = r.desk.Close(ctx, vera, id, desk.Outcome{Cause: desk.Unlisted, Remedy: desk.Unlisted})
	assert.ErrorContains(t, err, "note")
	near := engine(t).KB().Causes[0].ID
	_, err = r.desk.Close(ctx, vera, id, desk.Outcome{Cause: near + "x", Remedy: desk.Unlisted, Text: "x"})
	assert.ErrorContains(t, err, fmt.Sprintf("did you mean %q", near))
	for _, text := range []string{"", " \n", "\xff", string(bytes.Repeat([]byte("x"), 4001))} {
		_, err = r.desk.Note(ctx, vera, id, text)
		assert.Error(t, err)
	}
	_, err = r.desk.HandOn(ctx, vera, id, "a\nb")
	assert.Error(t, err)
	_, err = r.desk.Reopen(ctx, vera, id)
	assert.ErrorIs(t, err, store.ErrNotClosed)
	r.chat.nothingMore(t)

	c, err := r.desk.HandOn(ctx, kim, id, "")
	require.NoError(t, err, "a keeper frees a case whose taker is away")
	assert.Equal(t, store.Waiting, c.State)
	assert.True(t, c.Audit[len(c.Audit)-1].Keeper)
	r.chat.await(t, 2)
}

func TestClosedWithWhatTheRulesDoNotKnow(t *testing.T) {
	r, ctx := newRoom(t), t.Context()
	id := r.handedOver("t1")
	_, err := r.desk.Take(ctx, vera, id)
	require.NoError(t, err)
	r.chat.await(t, 1)
	c, err := r.desk.Close(ctx, vera, id, desk.Outcome{Cause: desk.Unlisted, Remedy: desk.Unlisted, Text: "a mouse in the controller"})
	require.NoError(t, err)
	assert.Equal(t, "a mouse in the controller", c.Audit[len(c.Audit)-1].Text)
	assert.NotContains(t, words(r.chat.await(t, 1)[0]), "mouse", "a note is no owner's reading")
	counts, err := r.store.Counts()
	require.NoError(t, err)
	assert.Equal(t, map[string]uint64{"closed/sorrel-60/unlisted/unlisted": 1}, counts, "no free text in what is kept for good")
}

// While somebody has the case, the bot does not talk into what owner and
// volunteer write to each other; before that the owner gets an answer.
func TestBotKeepsOutOfTheTalkOfPeople(t *testing.T) {
	r := newRoom(t)
	id := r.handedOver("t1")
	assert.Contains(t, words(r.says("t1", "it was raining, by the way")), "I have added that to your case.")
	_, err := r.desk.Take(t.Context(), vera, id)
	require.NoError(t, err)
	r.chat.await(t, 1)
	require.NoError(t, r.runner.Take(t.Context(), turns.Incoming{ID: "p1", Conversation: "t1", Owner: "owner-t1", Text: "I will be home at six"}))
	r.chat.nothingMore(t)
	st := r.state("t1")
	assert.Equal(t, conversation.Line{Owner: true, Text: "I will be home at six", Time: start}, st.Transcript[len(st.Transcript)-1], "it is kept")
	assert.NotEmpty(t, r.says("t1", "now the battery is smoking!").Cautions, "danger is always spoken of")
	r.chat.await(t, 1) // and the volunteers are told
	require.NoError(t, r.runner.Take(t.Context(), turns.Incoming{ID: "p2", Conversation: "t1", Owner: "owner-t1", Text: "I am outside now"}))
	r.chat.nothingMore(t)
	before := len(st.Warned)
	st = r.state("t1")
	assert.Equal(t, "I am outside now", st.Transcript[len(st.Transcript)-1].Text)
	assert.Zero(t, before)
	assert.Len(t, st.Warned, 1, "what was not said is not kept as said")
}
