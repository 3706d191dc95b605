package desk

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"time"

	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/conversation"
)

// Times say when something is due. What is 0 gets a default; what is negative
// never happens.
type Times struct {
	Every         time.Duration // between two looks at what is due
	Remind        time.Duration // a case waits so long before volunteers are reminded
	RemindAgain   time.Duration // and so long before each further reminder
	Reminders     int           // at most so many for one wait
	Silent        time.Duration // an owner is silent so long before being asked whether to go on
	Aside         time.Duration // and so long after that until the talk is laid aside
	RetentionDays int           // talks in which nothing was said so long are erased; 0 keeps them
}

func (t *Times) complete() {
	for _, n := range []struct {
		value   *time.Duration
		usually time.Duration
	}{
		{&t.Every, 5 * time.Minute}, {&t.Remind, 6 * time.Hour}, {&t.RemindAgain, 24 * time.Hour},
		{&t.Silent, 24 * time.Hour}, {&t.Aside, 48 * time.Hour},
	} {
		if *n.value == 0 {
			*n.value = n.usually
		}
	}
	if t.Reminders == 0 {
		t.Reminders = 3
	}
}

// Run looks at what is due from time to time until ctx ends. What fails is
// logged and tried again at the next look. The first look comes after a pause:
// owners may have written while the bot was away, and a chat needs a moment to
// hand that in.
func (d *Desk) Run(ctx context.Context) error {
	if err := d.eachTalk(func(string, store.Talk) error { return nil }); err != nil {
		d.c.Log.Error("counting the open talks", "error", err)
	}
	for {
		select {
		case <-d.c.After(d.c.Times.Every):
		case <-ctx.Done():
			return nil
		}
		if err := d.Tick(ctx, d.c.Now()); err != nil && ctx.Err() == nil {
			d.c.Log.Error("looking at what is due", "error", err)
		}
	}
}

// Tick does what is due: it reminds of cases that nobody takes, asks silent
// owners once whether to go on, lays their talks aside after that, and erases
// what is too old. That it was done is kept with it, so that a second Tick at
// the same time does nothing.
func (d *Desk) Tick(ctx context.Context, now time.Time) error {
	return errors.Join(d.remind(ctx, now), d.nudge(ctx, now), d.expire(ctx, now))
}

func (d *Desk) remind(ctx context.Context, now time.Time) error {
	if d.c.Times.Remind < 0 || d.c.Announce == "" {
		return nil
	}
	return d.eachCase(store.Waiting, func(c store.Case) error {
		since, reminders := waiting(c)
		pause := d.c.Times.Remind
		if reminders > 0 {
			pause = d.c.Times.RemindAgain
		}
		if reminders >= d.c.Times.Reminders || pause < 0 || now.Sub(c.Changed) < pause {
			return nil
		}
		say := []string{d.words.say("remind", "case", strconv.FormatUint(c.ID, 10), "since", d.long(now.Sub(since)))}
		if c.Kit != "" {
			say = append(say, d.words.say("remind-kit", "kit", d.kitName(c.Kit)))
		}
		tell := d.announce(store.KindWord, say...)
		if reminders == 0 {
			tell = append(tell, d.notice(c, "waiting-long"))
		}
		_, queued, err := d.c.Store.Act(ctx, c.ID, store.Act{Time: now, Who: store.Bot, Deed: store.DeedRemind}, tell...)
		switch {
		case errors.Is(err, store.ErrNotWaiting) || errors.Is(err, store.ErrNoCase): // in the meantime
			return nil
		case err != nil:
			return fmt.Errorf("reminding of case %d: %w", c.ID, err)
		}
		d.c.Feed.tell(Change{c.ID, c.Conversation, string(store.DeedRemind)})
		d.c.Runner.Send(queued...)
		return nil
	})
}

// waiting says since when a case waits for somebody, and how many reminders of
// it there were.
func waiting(c store.Case) (since time.Time, reminders int) {
	since = c.Opened
	for _, a := range c.Audit {
		switch a.Deed {
		case store.DeedRemind:
			reminders++
		case store.DeedOpen, store.DeedRenew, store.DeedReopen, store.DeedHandOn, store.DeedTake:
			since, reminders = a.Time, 0
		}
	}
	return since, reminders
}

func (d *Desk) long(t time.Duration) string {
	if h := int(t.Hours()); h < 48 {
		return d.words.say("hours", "n", strconv.Itoa(h))
	}
	return d.words.say("days", "n", strconv.Itoa(int(t.Hours())/24))
}

func (d *Desk) kitName(id string) string {
	if k := d.c.Engine.KB().Kit(id); k != nil {
		return k.Name
	}
	return id
}

// talksAtOnce bounds one look at the talks.
const talksAtOnce = 500

// mostNudged bounds what one tick does to silent talks, so that a bot that was
// away for long does not flood the chat; the others are due at the next tick.
const mostNudged = 200

func (d *Desk) nudge(ctx context.Context, now time.Time) error {
	nudged, failed := 0, error(nil)
	err := d.eachTalk(func(id string, t store.Talk) error {
		step := d.dueOf(t, now)
		if step == nil || nudged == mostNudged {
			return nil
		}
		nudged++
		err := d.c.Runner.Aside(ctx, turns.Aside{Conversation: id, Step: step})
		switch {
		case errors.Is(err, turns.ErrNoTalk): // forgotten in the meantime
		case errors.Is(err, turns.ErrClosed), errors.Is(err, store.ErrClosed), ctx.Err() != nil:
			return err
		case err != nil: // one that fails keeps nobody else waiting
			failed = fmt.Errorf("asking a silent owner: %w", err)
		}
		return nil
	})
	return errors.Join(err, failed)
}

// eachTalk goes through all talks, in short looks at the store, and counts those
// that the bot leads.
func (d *Desk) eachTalk(do func(id string, t store.Talk) error) error {
	open := int64(0)
	for after := ""; ; {
		ids, talks, err := d.c.Store.Talks(after, talksAtOnce)
		if err != nil {
			return err
		}
		if len(ids) == 0 {
			d.open.Store(open)
			return nil
		}
		after = ids[len(ids)-1]
		for i, t := range talks {
			if !t.Phase.Ended() {
				open++
			}
			if err := do(ids[i], t); err != nil {
				return err
			}
		}
	}
}

type aside = func(*conversation.State, time.Time) ([]conversation.Event, conversation.Turn, error)

// dueOf is what a silent owner's talk is due for, or nil. Only the bot's own
// questions are meant; once people have the case, they ask.
func (d *Desk) dueOf(t store.Talk, now time.Time) aside {
	if t.Phase.Ended() || d.c.Times.Silent < 0 {
		return nil
	}
	if t.Nudged.IsZero() {
		if now.Sub(t.Last) < d.c.Times.Silent {
			return nil
		}
		return func(st *conversation.State, at time.Time) ([]conversation.Event, conversation.Turn, error) {
			if st.Nudged || st.Phase.Ended() || now.Sub(st.Last) < d.c.Times.Silent {
				return nil, conversation.Turn{}, nil
			}
			return d.c.Engine.Nudge(st, at)
		}
	}
	if d.c.Times.Aside < 0 || now.Sub(t.Nudged) < d.c.Times.Aside {
		return nil
	}
	return func(st *conversation.State, at time.Time) ([]conversation.Event, conversation.Turn, error) {
		if !st.Nudged || st.Phase.Ended() {
			return nil, conversation.Turn{}, nil
		}
		return d.c.Engine.LayAside(st, at)
	}
}

const settingErased = "erased-on"

// expire erases what is too old, once a day.
func (d *Desk) expire(ctx context.Context, now time.Time) error {
	if d.c.Times.RetentionDays <= 0 {
		return nil
	}
	today := now.UTC().Format(time.DateOnly)
	if last, err := d.c.Store.Setting(settingErased); err != nil || last == today {
		return err
	}
	e, err := d.c.Runner.Expire(ctx, d.c.Times.RetentionDays)
	if err != nil {
		return fmt.Errorf("erasing what is too old: %w", err)
	}
	d.c.Log.Info("erased what was too old", "conversations", e.Conversations, "cases", e.Cases)
	if e.Conversations > 0 {
		d.c.Feed.tell(Change{Kind: LookAgain})
	}
	return d.c.Store.Set(ctx, settingErased, today)
}
