package tests

import (
	"fmt"
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/conversation"
	"triagebot/kb"
	"triagebot/rules"
)

// textbook is an owner whose bike shows just what the rules say of one cause,
// the likeliest outcome every time. It proves that the rules and the talk fit
// together, not that the rules are true.
type textbook struct {
	k     *kb.KB
	m     *rules.Model
	cause int
}

// complaint says the symptoms that this cause makes likely.
func (o textbook) complaint() string {
	text, n := "", 0
	for i, obs := range o.m.Obs {
		if obs.Symptom == nil || obs.Symptom.Family == "history" {
			continue
		}
		p := o.m.Likelihood(i, 0, o.cause)
		if c, opt := o.k.SameAs(obs.ID); c != nil {
			j := o.m.Index(c.ID)
			p = 0
			if j >= 0 && !opt.Healthy {
				p = o.m.Likelihood(j, o.m.Obs[j].Outcome(opt.ID), o.cause)
			}
		}
		if p > 0.5 && n < 2 && obs.Symptom.Danger == "" {
			text += obs.Symptom.Phrases[0] + ". "
			n++
		}
	}
	return text
}

// answer says the likeliest outcome of a check.
func (o textbook) answer(a *conversation.TurnAsk, st *conversation.State) string {
	known := map[string]rules.Known{}
	for _, given := range st.Answers {
		if given.Reading != nil && !given.Reading.Overload {
			known[given.Check] = rules.Known{Value: given.Reading.Value}
		}
	}
	scope := o.m.Scope().With(known)
	obs := o.m.Index(a.Check)
	best := 0
	for i := range o.m.Obs[obs].Outcomes {
		if o.m.Likelihood(obs, i, o.cause) > o.m.Likelihood(obs, best, o.cause) {
			best = i
		}
	}
	c := o.k.Check(a.Check)
	if len(c.Options) > 0 {
		return c.Options[best].Label
	}
	lo, err1 := scope.Number(c.Windows[best].From)
	hi, err2 := scope.Number(c.Windows[best].To)
	if err1 != nil || err2 != nil {
		return "no idea"
	}
	v := (lo + hi) / 2
	if best == 0 {
		v = hi - 0.7*math.Min(hi-lo, hi-math.Min(lo, 0))
	}
	if best == len(c.Windows)-1 {
		v = lo + 0.5*math.Min(hi-lo, math.Max(lo, 1))
	}
	return strconv.FormatFloat(v, 'f', 2, 64) + " " + c.Unit
}

func TestTextbookOwnersReachTheirRemedy(t *testing.T) {
	e := newEngine(t)
	k := e.KB()
	right, wrong, handed, total, questions := 0, 0, 0, 0, 0
	for _, kit := range k.Kits {
		m, err := rules.NewModel(k, kit, nil)
		require.NoError(t, err)
		for i, cause := range m.Causes {
			o := textbook{k, m, i}
			say := o.complaint()
			if say == "" {
				continue
			}
			talk := newTalk(t, e, kit.ID)
			end, n, asked := "", 0, ""
			for end == "" && n < 40 {
				turn := talk.say(say)
				st := talk.st
				switch {
				case turn.State == "handed-over" || turn.State == "stopped":
					end = turn.State + " " + st.Reason
				case turn.Ask == nil:
					end = "nothing asked"
				case turn.Ask.Check == "cured":
					r := st.Attempts[len(st.Attempts)-1].Remedy
					say = "no, the fault is still there"
					if r == cause.Remedy {
						end = "right"
					} else if k.Remedy(r).Wrong >= 20 {
						end = "wrong " + r
					}
				case turn.Ask.Kind == "talk":
					say = "I do not know"
					asked += " " + turn.Ask.Check
				default:
					say = o.answer(turn.Ask, st)
					asked += fmt.Sprintf(" %s=%q", turn.Ask.Check, say)
				}
				n++
			}
			total++
			questions += n
			switch {
			case end == "right":
				right++
			case len(end) > 5 && end[:5] == "wrong":
				wrong++
			default:
				handed++
			}
			if end != "right" {
				t.Logf("%s %s: %s after %d:%s", kit.ID, cause.ID, end, n, asked)
			}
		}
	}
	t.Logf("%d hunts: %d right, %d wrong part, %d handed over; %.1f questions each", total, right, wrong, handed, float64(questions)/float64(total))
	assert.Zero(t, wrong)
}
