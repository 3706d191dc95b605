package demostore_test

import (
	"io"
	"log/slog"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
	"triagebot/conversation"
	"triagebot/demostore"
	"triagebot/hearing"
	"triagebot/kb"
	"triagebot/mining"
	"triagebot/mining/demo"
	"triagebot/mining/feed"
)

var engine = sync.OnceValues(func() (*conversation.Engine, error) {
	k, _ := kb.Load(kb.Embedded())
	e, _, err := hearing.Engine(k)
	return e, err
})

var quiet = slog.New(slog.NewTextHandler(io.Discard, nil))

func now() time.Time { return time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC) }

// short is a few weeks with much going wrong.
func short(t testing.TB) demo.Settings {
	start, err := mining.ParseDay("2026-01-05")
	require.NoError(t, err)
	s := demostore.Year(start)
	s.Weeks, s.Bikes, s.Rise.Week = 4, 500, 2
	return s
}

func filled(t testing.TB, set demo.Settings) (*store.Store, *feed.Feed, demostore.Filled) {
	e, err := engine()
	require.NoError(t, err)
	s, err := store.Open(filepath.Join(t.TempDir(), "demo.db"), store.Options{Now: now, Unflushed: true})
	require.NoError(t, err)
	t.Cleanup(func() { _ = s.Close() })
	calls := 0
	done, err := demostore.Fill(t.Context(), s, e, set, func(n, of int) { calls++; assert.LessOrEqual(t, n, of) })
	require.NoError(t, err)
	assert.NotZero(t, calls)
	f, err := feed.New(feed.Config{Store: s, Engine: e, Log: quiet})
	require.NoError(t, err)
	require.NoError(t, f.CatchUp(t.Context()))
	return s, f, done
}

func records(t testing.TB, f *feed.Feed) []mining.Record {
	var list []mining.Record
	for r, err := range f.Records() {
		require.NoError(t, err)
		list = append(list, r)
	}
	return list
}

// Whole cases are in the store, in every state, with talk, readings and life;
// the same settings give the same ones.
func TestFill(t *testing.T) {
	s, f, done := filled(t, short(t))
	assert.True(t, f.Demo())
	assert.NotZero(t, done.Solved)
	for state, n := range map[store.State]int{store.Waiting: done.Waiting, store.Taken: done.Taken, store.Closed: done.Closed} {
		list, err := s.Cases(state, 0, 1000)
		require.NoError(t, err)
		require.Len(t, list, n, state)
		assert.NotZero(t, n, state)
		for _, c := range list {
			assert.True(t, c.Opened.Before(now()))
			_, events, err := s.Conversation(c.Conversation)
			require.NoError(t, err)
			st := conversation.Replay(events)
			assert.True(t, st.Phase.Ended())
			assert.NotEmpty(t, st.Transcript)
		}
	}
	readings := 0
	list := records(t, f)
	for _, r := range list {
		require.True(t, r.Demo)
		readings += len(r.Checks)
	}
	assert.Greater(t, len(list), done.Closed+done.Solved-1, "closed cases and talks that needed none")
	assert.Greater(t, readings, 2*len(list)/3)

	_, again, _ := filled(t, short(t))
	assert.Equal(t, list, records(t, again))
	other := short(t)
	other.Seed, other.Weeks = 2, 1
	_, third, _ := filled(t, other)
	assert.NotEqual(t, list, records(t, third))
}

// A store that holds anything is left as it is.
func TestFillRefuses(t *testing.T) {
	e, err := engine()
	require.NoError(t, err)
	s, err := store.Open(filepath.Join(t.TempDir(), "real.db"), store.Options{Now: now})
	require.NoError(t, err)
	defer s.Close()
	_, err = s.Commit(t.Context(), store.Turn{Conversation: "c", Owner: "o", Time: now(), Events: []conversation.Event{{Kind: conversation.OwnerSaid, Text: "hello", Time: now()}}})
	require.NoError(t, err)
	_, err = demostore.Fill(t.Context(), s, e, short(t), nil)
	require.ErrorIs(t, err, demostore.ErrNotEmpty)
	v, err := s.Setting(feed.SettingDemo)
	require.NoError(t, err)
	assert.Empty(t, v, "it is no demo now either")
}

// What was planted is found in what the simulated owners and volunteers left
// behind: a year with a third of the bikes.
func TestPlantedIsFoundInTheStore(t *testing.T) {
	start, err := mining.ParseDay("2025-11-24")
	require.NoError(t, err)
	set := demostore.Year(start)
	set.Bikes, set.Old, set.Rise.Factor, set.Batch.Factor, set.Wear.Scale = 500, 330, 90, 900, 6000
	_, f, _ := filled(t, set)
	e, err := engine()
	require.NoError(t, err)
	shot, err := f.Refresh(mining.Options{KB: e.KB()}, now())
	require.NoError(t, err)
	r := shot.Report
	part := e.KB().Cause(set.Rise.Cause).Part
	rises := map[string]bool{}
	for _, x := range r.Rising.Found {
		rises[string(x.Kind)+" "+x.ID+" "+x.Kit] = x.Rises && x.Signal != nil
	}
	assert.True(t, rises["part "+part+" "+set.Rise.Kit], "%v", rises)
	var batches []string
	for _, b := range r.Batches.Found {
		batches = append(batches, b.Part+" "+b.Kit+" "+b.Built)
	}
	assert.Equal(t, []string{e.KB().Cause(set.Batch.Cause).Part + " " + set.Batch.Kit + " " + set.Batch.Built.Month()}, batches)
	worn := false
	for _, l := range r.Lives {
		if l.Part == e.KB().Cause(set.Wear.Cause).Part && l.Kit == set.Wear.Kit && l.Unit == "km" {
			worn = true
			assert.Greater(t, l.ShapeRange.Low, 1.0, "it wears")
			assert.True(t, l.Fleet)
		}
	}
	assert.True(t, worn)
}

// A record follows the life of its case.
func TestFeedFollows(t *testing.T) {
	s, f, done := filled(t, short(t))
	n := func() (n int) {
		_, err := f.With(func(a *mining.Aggregate) error { n = a.N(); return nil })
		require.NoError(t, err)
		return n
	}
	all := n()
	list, err := s.Cases(store.Closed, 0, 1)
	require.NoError(t, err)
	c := list[0]
	act := func(a store.Act) {
		a.Time, a.Who = now(), "vera"
		_, _, err := s.Act(t.Context(), c.ID, a)
		require.NoError(t, err)
		require.NoError(t, f.Look(t.Context(), c.Conversation))
	}
	was := f.Change()
	require.NoError(t, f.Look(t.Context(), c.Conversation))
	assert.Equal(t, was, f.Change(), "nothing is new")
	act(store.Act{Deed: store.DeedReopen})
	assert.Equal(t, all-1, n(), "it is not closed any more")
	act(store.Act{Deed: store.DeedTake})
	assert.Equal(t, all-1, n())
	e, err := engine()
	require.NoError(t, err)
	cause := e.KB().Causes[0]
	act(store.Act{Deed: store.DeedClose, Cause: cause.ID, Remedy: cause.Remedy, Bike: &store.Bike{Kit: "sorrel-60", Distance: 1234, Built: "2025-03"}})
	assert.Equal(t, all, n())
	found := 0
	for _, r := range records(t, f) {
		if r.Distance == 1234 {
			found++
			assert.Equal(t, []any{cause.ID, cause.Part, "sorrel-60", "2026-03-02", false}, []any{r.Confirmed, r.Part, r.Kit, r.Closed.String(), r.Solved})
			assert.InDelta(t, 11.6, r.Age, 0.2)
		}
	}
	assert.Equal(t, 1, found)

	// A second feed over the same store reads the same, and makes nothing anew.
	again, err := feed.New(feed.Config{Store: s, Engine: e, Log: quiet})
	require.NoError(t, err)
	require.NoError(t, again.CatchUp(t.Context()))
	assert.ElementsMatch(t, records(t, f), records(t, again))

	_, err = s.Forget(t.Context(), c.Owner)
	require.NoError(t, err)
	f.Forgotten()
	assert.Equal(t, all, n(), "the figures stay")
	for _, r := range records(t, f) {
		if r.Distance == 1234 {
			assert.Empty(t, r.Unmatched)
			assert.Empty(t, r.Bike)
		}
	}
	assert.Greater(t, done.Talks, 10)
}

// What a snapshot holds is marked, and a picture is drawn once it is asked for.
func TestSnapshot(t *testing.T) {
	_, f, _ := filled(t, short(t))
	assert.Nil(t, f.Snapshot())
	e, err := engine()
	require.NoError(t, err)
	shot, err := f.Refresh(mining.Options{KB: e.KB()}, now())
	require.NoError(t, err)
	assert.Same(t, shot, f.Snapshot())
	same, err := f.Refresh(mining.Options{KB: e.KB()}, now())
	require.NoError(t, err)
	assert.Same(t, shot, same, "nothing changed")
	assert.Contains(t, string(shot.JSON), `"demo":true`)
	assert.Contains(t, string(shot.Patch), "DEMO")
	for _, name := range shot.Names {
		assert.Contains(t, name, "demo-")
		assert.NotEmpty(t, shot.Tables[name])
	}
	require.NotEmpty(t, shot.Pictures())
	svg, ok, err := shot.Picture(shot.Pictures()[0].Name + ".svg")
	require.NoError(t, err)
	require.True(t, ok)
	assert.Contains(t, string(svg), "demo: invented cases")
	_, ok, err = shot.Picture("none.svg")
	require.NoError(t, err)
	assert.False(t, ok)
}

// Run takes changes in as they come.
func TestRun(t *testing.T) {
	s, f, _ := filled(t, short(t))
	e, err := engine()
	require.NoError(t, err)
	changes, pause := make(chan feed.Changed), make(chan time.Time)
	ended := make(chan error, 1)
	go func() {
		ended <- f.Run(t.Context(), changes, mining.Options{KB: e.KB()}, now, func(time.Duration) <-chan time.Time { return pause }, time.Second)
	}()
	changes <- "nobody" // taken only once the first report is there
	before := f.Snapshot().Report.Cases
	list, err := s.Cases(store.Closed, 0, 1)
	require.NoError(t, err)
	_, _, err = s.Act(t.Context(), list[0].ID, store.Act{Time: now(), Who: "vera", Deed: store.DeedReopen})
	require.NoError(t, err)
	changes <- feed.Changed(list[0].Conversation)
	pause <- now()
	changes <- "" // taken only once the second one is
	assert.Equal(t, before-1, f.Snapshot().Report.Cases)
	close(changes)
	require.NoError(t, <-ended)
}

// Who looks in and leaves is not counted; of who stays, what was said of the
// fault and not understood is kept, and no misunderstood answer.
func TestWhatIsCounted(t *testing.T) {
	e, err := engine()
	require.NoError(t, err)
	s, err := store.Open(filepath.Join(t.TempDir(), "real.db"), store.Options{Now: now})
	require.NoError(t, err)
	defer s.Close()
	said := func(text string) conversation.Event {
		return conversation.Event{Kind: conversation.OwnerSaid, Time: now(), Text: text}
	}
	asked := func(kind conversation.AskKind, id string) conversation.Event {
		return conversation.Event{Kind: conversation.Asked, Time: now(), Question: &conversation.PendingAsk{Kind: kind, ID: id}}
	}
	for id, events := range map[string][]conversation.Event{
		"gone": {said("hello"), {Kind: conversation.Closed, Time: now(), ID: conversation.ReasonLeft}},
		"told": {
			said("whoosh kaput"), asked(conversation.AskComplaint, ""), said("it does nothing"), {Kind: conversation.Noticed, Time: now(), ID: "no-drive", Yes: true, Sure: 0.9},
			asked(conversation.AskCheck, "throttle-rest"), said("mumble"), {Kind: conversation.Missed, Time: now()}, said("stop"),
			{Kind: conversation.Closed, Time: now(), ID: conversation.ReasonLeft},
		},
	} {
		_, err := s.Commit(t.Context(), store.Turn{Conversation: id, Owner: id, Time: now(), Events: events, Phase: conversation.Replay(events).Phase})
		require.NoError(t, err)
	}
	f, err := feed.New(feed.Config{Store: s, Engine: e, Log: quiet})
	require.NoError(t, err)
	require.NoError(t, f.CatchUp(t.Context()))
	list := records(t, f)
	require.Len(t, list, 1)
	assert.Equal(t, []string{"whoosh kaput"}, list[0].Unmatched)
	assert.Equal(t, []string{"no-drive"}, list[0].Symptoms)
	assert.Equal(t, []any{false, false, conversation.ReasonLeft}, []any{list[0].Solved, list[0].Demo, list[0].Reason})
}
