package rehearsal

import (
	"fmt"
	"slices"
	"time"

	"triagebot/conversation"
	"triagebot/kb"
	"triagebot/rules"
)

// Outcome is how a talk ended; each has one.
type Outcome string

// The outcomes. Where several hold, Stopped goes first, then Wrong.
const (
	Right     Outcome = "right"      // the right remedy was named, or a proper try cured it
	Wrong     Outcome = "wrong"      // a part was named that was not it, or all was called well
	Both      Outcome = "named both" // handed over with the cause among the two or three named
	Handed    Outcome = "handed over"
	Stopped   Outcome = "stopped"   // for a danger that the owner told of
	Unnoticed Outcome = "unnoticed" // the fault does not show on this bike: no talk
	Endless   Outcome = "endless"   // no end after mostMessages
)

// mostMessages is where a talk is broken off.
const mostMessages = 60

// Line is one line of a talk in full.
type Line struct {
	Owner bool   `json:"owner"`
	Text  string `json:"text"`
}

// Talk is what became of one case.
type Talk struct {
	Case
	Manner  string  `json:"manner"`
	Outcome Outcome `json:"outcome"`
	How     string  `json:"how"` // the remedy, or the reason of a hand-over
	// Apart: no check this owner can do parts the cause from Rivals, which have
	// other remedies. To name the cause as sure is a guess then, and wrong.
	Apart  bool     `json:"apart,omitempty"`
	Rivals []string `json:"rivals,omitempty"`

	Questions int     `json:"questions"` // checks asked, up to the right remedy or the end
	Messages  int     `json:"messages"`  // by the owner, up to there
	Minutes   float64 `json:"minutes"`   // checks, covers and remedies in vain, up to there

	WrongNamed []string `json:"wrong_named,omitempty"` // remedies that were not it, named as sure or dear
	Tries      []string `json:"tries,omitempty"`       // cheap remedies, called a try, that were not it

	DangerTold   []string `json:"danger_told,omitempty"`
	DangerMissed []string `json:"danger_missed,omitempty"`
	Unwarned     []string `json:"unwarned,omitempty"` // "check or remedy: caution"
	Twice        []string `json:"twice,omitempty"`    // asked again though answered

	Missed   []string `json:"missed,omitempty"`    // told at the start and not understood
	Invented []string `json:"invented,omitempty"`  // symptoms understood that are not there
	Misheard []string `json:"misheard,omitempty"`  // answers entered as something else
	NotHeard []string `json:"not_heard,omitempty"` // answers that led to nothing
	Misread  int      `json:"misread,omitempty"`   // answers the owner gave wrong and left so
	Unlikely []string `json:"unlikely,omitempty"`  // what the rules hold for all but impossible with this cause
	Suspects []string `json:"suspects,omitempty"`  // what the rules held for likely at the end
	Reason   string   `json:"reason,omitempty"`    // what most likely kept the talk from its right end
	Lines    []Line   `json:"lines,omitempty"`     // only from Talk
}

// talking is a talk under way.
type talking struct {
	Talk
	r     *Rehearsal
	o     *owner
	model *rules.Model
	st    *conversation.State
	now   time.Time
	first string
	heard func(Said) // may be nil

	opened  map[string]bool
	asked   map[string]bool          // questions put in this round
	waits   *conversation.PendingAsk // what waited for an answer
	expects *expected                // what the message just said should lead to
	owes    *owed                    // a misreading to be put right
	helped  map[string]bool          // checks whose "how" or "why" was asked
	settled bool                     // the right remedy has been named: the counts stand
	minutes float64
	checks  int
	said    int
	end     string
}

// expected is what a message meant, to be held against what was understood.
type expected struct {
	check  string
	cannot bool
	shown  shown
}

// owed is a correction.
type owed struct {
	check *kb.Check
	shown shown
}

// begins is when talks take place; only the difference counts.
var begins = time.Date(2026, 11, 2, 10, 0, 0, 0, time.UTC)

// Said is one message of an owner with all that the bot did about it. The first
// one has the greeting before it.
type Said struct {
	Text   string
	Time   time.Time
	Events []conversation.Event
	Turn   conversation.Turn
}

// Talk lets the owner of a case talk with the bot to the end.
func (r *Rehearsal) Talk(c Case) (Talk, error) { return r.Live(c, Scene{From: begins}) }

// Scene is what a talk has beside its case.
type Scene struct {
	From  time.Time
	First string     // what the owner says before all else; "" for nothing
	Heard func(Said) // gets every message as it is said; may be nil
}

// Live is Talk in a scene. The owner needs as long for a check as the knowledge
// base says it takes.
func (r *Rehearsal) Live(c Case, in Scene) (Talk, error) {
	o, err := newOwner(r.kb, r.words, c)
	if err != nil {
		return Talk{Case: c}, err
	}
	t := &talking{
		Talk: Talk{Case: c, Manner: o.name}, r: r, o: o, st: conversation.NewState(), now: in.From, first: in.First, heard: in.Heard,
		opened: map[string]bool{}, asked: map[string]bool{}, helped: map[string]bool{},
	}
	if t.model, err = r.model(c.Kit, o.bike.Label()); err != nil {
		return t.Talk, err
	}
	fine, err := r.works(o)
	if err != nil {
		return t.Talk, err
	}
	if fine && o.bike.Faulty() && !slices.Contains(c.Causes, meterMisused) {
		t.Outcome = Unnoticed
		return t.Talk, nil
	}
	if err := t.run(); err != nil {
		return t.Talk, err
	}
	t.finish()
	return t.Talk, t.explain()
}

// meterMisused leaves the bike in order: only its owner's figures are wrong.
const meterMisused = "meter-misused"

func (t *talking) run() error {
	greeting := t.r.engine.Greet(t.now)
	for _, e := range greeting {
		t.st.Apply(e)
		t.keep(false, e.Lines...)
	}
	if t.first != "" {
		if err := t.say(t.first, greeting); err != nil {
			return err
		}
		greeting = nil
	}
	msg, err := t.o.opening()
	if err != nil {
		return err
	}
	t.told(t.o.told)
	if t.Sort == Single && len(t.o.told) > 0 {
		t.Rivals = rivals(t.model, t.o)
		t.Apart = len(t.Rivals) > 0
	}
	opening := true
	for t.said < mostMessages {
		if err := t.say(msg, greeting); err != nil {
			return err
		}
		greeting = nil
		if opening {
			t.compareOpening()
			opening = false
		}
		if t.st.Phase.Ended() {
			return nil
		}
		if msg, err = t.reply(); err != nil {
			return err
		}
		if late := t.o.later; len(late) > 0 && t.said >= 2 {
			l := t.o.lots("late")
			msg += replace(l.of(t.o.words.Late), "{symptom}", t.o.wording(l, late[0]))
			t.o.later = late[1:]
			t.told(late[:1])
		}
	}
	t.end = string(Endless)
	return nil
}

// told notes the dangers among symptoms that are being told.
func (t *talking) told(symptoms []string) {
	for _, id := range symptoms {
		if s := t.r.kb.Symptom(id); s != nil && s.Danger != "" {
			t.DangerTold = append(t.DangerTold, id)
		}
	}
}

// say gives the bot one message and takes in what it does.
func (t *talking) say(msg string, before []conversation.Event) error {
	t.keep(true, msg)
	t.said++
	t.waits = t.st.Pending
	events, turn, err := t.r.engine.Step(t.st, msg, t.now)
	if err != nil {
		return fmt.Errorf("message %d, %q: %w", t.said, msg, err)
	}
	if t.heard != nil {
		t.heard(Said{msg, t.now, append(before, events...), turn})
	}
	t.understood(events)
	var warned []string
	for _, e := range events {
		if e.Kind == conversation.Warned {
			warned = append(warned, e.ID)
		}
	}
	for _, e := range events {
		t.st.Apply(e)
		t.watch(e, warned)
	}
	t.keep(false, turn.Say...)
	if len(t.DangerTold) > 0 && t.st.Phase != conversation.Stopped {
		for _, id := range t.DangerTold {
			if !slices.Contains(t.DangerMissed, id) {
				t.DangerMissed = append(t.DangerMissed, id)
			}
		}
	}
	t.now = t.now.Add(time.Minute)
	return nil
}

func (t *talking) keep(owner bool, lines ...string) {
	for _, l := range lines {
		t.Lines = append(t.Lines, Line{owner, l})
	}
}

// spend lets time pass.
func (t *talking) spend(minutes float64) {
	t.now = t.now.Add(time.Duration(minutes * float64(time.Minute)))
	if !t.settled {
		t.minutes += minutes
	}
}
