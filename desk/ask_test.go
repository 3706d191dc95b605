package desk_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
	"triagebot/conversation"
	"triagebot/desk"
	"triagebot/kb"
)

// packVolts needs a meter that was tried first; throttleSignal besides that a
// 5 V that is there.
const packVolts, throttleSignal, meterCheck = "pack-volts", "throttle-rest", "meter-check"

func check(t *testing.T, id string) *kb.Check {
	t.Helper()
	c := engine(t).KB().Check(id)
	require.NotNil(t, c, id)
	return c
}

// taken is a case that vera has, with what was sent up to then out of the way.
func taken(t *testing.T, r *room, talk string) uint64 {
	t.Helper()
	id := r.handedOver(talk)
	_, err := r.desk.Take(t.Context(), vera, id)
	require.NoError(t, err)
	r.chat.await(t, 1)
	return id
}

// A check that a person names is asked with its cautions and options, although
// the hunt was handed over; the answer enters belief and case, and a restart in
// between makes no difference.
func TestAskCheck(t *testing.T) {
	r, ctx := newRoom(t), t.Context()
	id := taken(t, r, "t1")
	wanted := check(t, packVolts)
	_, before, err := r.desk.Case(id)
	require.NoError(t, err)
	require.Empty(t, before.Readings)

	require.NoError(t, r.desk.AskCheck(ctx, vera, id, packVolts))
	asked := r.chat.await(t, 1)[0]
	assert.Equal(t, store.KindTurn, asked.Kind)
	assert.Equal(t, id, asked.Case)
	require.NotNil(t, asked.Ask)
	assert.Equal(t, meterCheck, asked.Ask.Check, "what must come before it is asked before it")
	assert.Equal(t, "A volunteer would like to know:", asked.Lines[0])
	assert.NotEmpty(t, asked.Cautions)
	c, _, err := r.desk.Case(id)
	require.NoError(t, err)
	last := c.Audit[len(c.Audit)-1]
	assert.Equal(t, store.DeedAsk, last.Deed)
	assert.Equal(t, packVolts, last.Text)

	r.restart()
	next := r.says("t1", "1.58 V")
	require.NotNil(t, next.Ask)
	assert.Equal(t, packVolts, next.Ask.Check)
	assert.Contains(t, words(next), wanted.Asks)
	assert.Contains(t, next.Cautions, "never-bypass")
	r.restart()
	for _, about := range []string{"how do I do that?", "why?", "say that again"} {
		still := r.says("t1", about)
		require.NotNil(t, still.Ask, "the question stands while the owner asks about it: %s", about)
		assert.Equal(t, packVolts, still.Ask.Check)
	}
	r.restart()
	answer := r.says("t1", "54.2 V")
	assert.Nil(t, answer.Ask)
	assert.Contains(t, words(answer), "Thank you. That goes to a volunteer.")
	c, after, err := r.desk.Case(id)
	require.NoError(t, err)
	assert.Equal(t, store.Taken, c.State)
	require.Len(t, after.Readings, 2)
	assert.Equal(t, packVolts, after.Readings[1].Check)
	assert.Equal(t, 54.2, *after.Readings[1].Value)
	assert.NotEqual(t, before.Suspects, after.Suspects, "the belief takes it in")
	st := r.state("t1")
	assert.Equal(t, conversation.Over, st.Phase, "the hunt stays with the person")
	assert.Nil(t, st.Pending)
}

func TestAskCheckCannot(t *testing.T) {
	r := newRoom(t)
	id := taken(t, r, "t1")
	require.NoError(t, r.desk.AskCheck(t.Context(), vera, id, packVolts))
	r.chat.await(t, 1)
	assert.Contains(t, words(r.says("t1", "I can't do that")), "Thank you. That goes to a volunteer.")
	assert.Contains(t, r.state("t1").Cannot, meterCheck)
	assert.Nil(t, r.state("t1").Pending)
	var not *conversation.NotNowError
	require.ErrorAs(t, r.desk.AskCheck(t.Context(), vera, id, packVolts), &not)
	assert.Equal(t, "before", not.Why)
	assert.Equal(t, meterCheck, not.Before)
}

// What is not understood is asked for once more, and then passed on as it is:
// the owner may be writing to the person who is in the thread.
func TestAskCheckNotUnderstood(t *testing.T) {
	r := newRoom(t)
	id := taken(t, r, "t1")
	require.NoError(t, r.desk.AskCheck(t.Context(), vera, id, packVolts))
	r.chat.await(t, 1)
	again := r.says("t1", "brmpf gnarl")
	require.NotNil(t, again.Ask)
	assert.Contains(t, words(again), check(t, meterCheck).Asks)
	passed := r.says("t1", "brmpf gnarl hm")
	assert.Nil(t, passed.Ask)
	assert.Equal(t, "I pass that on to a volunteer in your words.", words(passed))
	assert.Nil(t, r.state("t1").Pending)
}

// An impossible figure is asked for once more here as well; the second is kept.
func TestAskCheckOdd(t *testing.T) {
	r := newRoom(t)
	id := taken(t, r, "t1")
	require.NoError(t, r.desk.AskCheck(t.Context(), vera, id, packVolts))
	r.chat.await(t, 1)
	odd := r.says("t1", "54.2 V")
	require.NotNil(t, odd.Ask, words(odd))
	assert.True(t, odd.Ask.Again)
	assert.Contains(t, words(odd), "That looks like the pack.")
	stands := r.says("t1", "54.2 V")
	require.NotNil(t, stands.Ask)
	assert.Equal(t, packVolts, stands.Ask.Check, "a person looks at the odd figure; what was wanted is asked all the same")
}

// Danger outranks the question of a person, and afterwards nothing is asked.
func TestAskCheckInDanger(t *testing.T) {
	r := newRoom(t)
	id := taken(t, r, "t1")
	require.NoError(t, r.desk.AskCheck(t.Context(), vera, id, packVolts))
	r.chat.await(t, 1)
	danger := r.says("t1", "the battery is smoking!")
	assert.Nil(t, danger.Ask)
	r.chat.await(t, 1) // the volunteers are told of the danger
	st := r.state("t1")
	assert.Equal(t, conversation.Stopped, st.Phase)
	assert.Nil(t, st.Pending)
	var not *conversation.NotNowError
	require.ErrorAs(t, r.desk.AskCheck(t.Context(), vera, id, packVolts), &not)
	assert.Equal(t, "danger", not.Why)
	r.chat.nothingMore(t)
	c, _, err := r.desk.Case(id)
	require.NoError(t, err)
	assert.Equal(t, "local:vera", c.Taker)
}

func TestAskCheckNotNow(t *testing.T) {
	r := newRoom(t)
	id := taken(t, r, "t1")
	assert.ErrorContains(t, r.desk.AskCheck(t.Context(), vera, id, packVolts+"x"), `did you mean "pack-volts"?`)
	var not *conversation.NotNowError
	require.NoError(t, r.desk.AskCheck(t.Context(), vera, id, throttleSignal))
	r.chat.await(t, 1)
	r.says("t1", "1.55 V")
	r.says("t1", "0.01 V")
	require.ErrorAs(t, r.desk.AskCheck(t.Context(), vera, id, throttleSignal), &not, "no signal without a supply")
	assert.Equal(t, conversation.NotNowError{Check: throttleSignal, Why: "before", Before: "throttle-5v"}, *not)
	require.NoError(t, r.desk.AskCheck(t.Context(), vera, id, packVolts))
	r.chat.await(t, 1)
	r.says("t1", "I have no multimeter")
	require.ErrorAs(t, r.desk.AskCheck(t.Context(), vera, id, packVolts), &not)
	assert.Equal(t, "tool", not.Why)
	r.chat.nothingMore(t)
}

// What an owner writes after a case was closed starts the hunt anew, and nobody
// asks checks for a closed case.
func TestAskCheckOfAClosedCase(t *testing.T) {
	r, ctx := newRoom(t), t.Context()
	id := taken(t, r, "t1")
	_, err := r.desk.Close(ctx, vera, id, desk.Outcome{NotFound: true})
	require.NoError(t, err)
	r.chat.await(t, 1)
	back := r.says("t1", "now the motor stutters and the display flickers")
	require.NotNil(t, back.Ask, words(back))
	assert.Equal(t, conversation.Asking, r.state("t1").Phase)
	assert.ErrorIs(t, r.desk.AskCheck(ctx, vera, id, packVolts), store.ErrCaseClosed)
}
