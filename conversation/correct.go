package conversation

import (
	"cmp"
	"slices"

	"triagebot/kb"
	"triagebot/reading"
)

// correct replaces an earlier answer. done means that the turn is answered.
func (t *step) correct(reply Reply, msg string) (bool, error) {
	if p := t.st.Pending; p != nil && p.Kind == AskCheck && p.Again && len(reply.Values) > 0 {
		// A figure that was just asked for once more is the answer, however it is said.
		reply.Intent = IntentReading
		return t.answerCheck(p, reply, msg)
	}
	earlier := t.answered()
	if len(reply.Values) > 0 { // the check that the words name comes first
		slices.SortStableFunc(earlier, func(a, b *kb.Check) int { return cmp.Compare(fits(b, reply.Rest), fits(a, reply.Rest)) })
	}
	if len(earlier) == 0 && len(t.heard.Readings) == 0 && len(t.heard.Symptoms) == 0 {
		t.say("nothing-to-correct")
		return true, t.repeat()
	}
	if len(t.heard.Readings) > 0 {
		if c := t.e.kb.Check(t.heard.Readings[0].Check); c != nil {
			t.say("corrected", "what", c.Name)
			t.corrects = true
			return false, nil
		}
	}
	for _, c := range earlier {
		if done, err := t.correctsCheck(c, reply, msg); done || err != nil {
			return false, err
		}
	}
	if t.news() || len(earlier) == 0 {
		t.overturns = true
		return false, nil
	}
	t.say("which-to-correct")
	t.askCheck(earlier[0], false)
	return true, nil
}

// correctsCheck takes a correction for one check, where its words or its figure
// fit that check and say something else than was said before.
func (t *step) correctsCheck(c *kb.Check, reply Reply, msg string) (bool, error) {
	said := reply.Rest
	if said == "" && len(reply.Values) == 0 {
		return false, nil
	}
	if said == "" {
		said = msg
	}
	r := t.e.reader.Read(t.e.question(&State{Kit: t.st.Kit, Pending: &PendingAsk{Kind: AskCheck, ID: c.ID}}), said)
	before, _ := t.st.Answer(c.ID)
	switch {
	case len(c.Windows) > 0 && len(r.Values) > 0 && !r.WrongUnit:
		t.say("corrected", "what", c.Name)
		t.corrects = true
		return true, t.enter(c, r, msg)
	case len(c.Options) > 0 && r.Intent == IntentChoice && r.Confidence >= plainEnough && r.Choice != before.Option:
		t.say("corrected", "what", c.Name)
		t.corrects = true
		t.choose(c, r.Choice, r.Confidence, msg)
		if r.Confidence >= offered { // an answer and nothing more
			t.heard.Symptoms, t.heard.Seen = nil, nil
		}
		return true, nil
	}
	return false, nil
}

// readAgain takes a lone figure that answers nothing now for the measure that
// was answered last: the owner has read it once more.
func (t *step) readAgain() (done bool, err error) {
	p, earlier := t.st.Pending, t.answered()
	if p == nil || p.Kind != AskCheck || len(earlier) == 0 {
		return false, nil
	}
	now, last := t.e.kb.Check(p.ID), earlier[0]
	msg := t.st.Transcript[len(t.st.Transcript)-1].Text
	figures := reading.FindIn(t.e.kb.Language, msg, "")
	if now == nil || now.Kind == "measure" || last.Kind != "measure" || len(figures) != 1 {
		return false, nil
	}
	q := figures[0]
	if q.Unit != last.Unit && (q.Unit != "" || q.Decimals == 0) { // "2" may be the number of an answer
		return false, nil
	}
	t.say("corrected", "what", last.Name)
	t.emit(Event{Kind: Understood})
	t.corrects = true
	return true, t.enterOne(last, q, q.Approx, msg)
}

// answered lists the checks that were answered, the latest first.
func (t *step) answered() []*kb.Check {
	answers := slices.Clone(t.st.Answers)
	slices.SortStableFunc(answers, func(a, b Answer) int { return cmp.Compare(b.Turn, a.Turn) })
	var list []*kb.Check
	for _, a := range answers {
		if c := t.e.kb.Check(a.Check); c != nil && !slices.Contains(list, c) {
			list = append(list, c)
		}
	}
	return list
}
