package conversation

import (
	"slices"
	"strings"

	"triagebot/kb"
)

// news says whether a message surely tells something not known yet.
func (t *step) news() bool {
	return len(t.heard.Readings) > 0 || slices.ContainsFunc(t.heard.Symptoms, func(h HeardSymptom) bool {
		old, known := t.st.Symptoms[h.ID]
		return t.e.kb.Symptom(h.ID) != nil && h.Confidence >= firmBeside && (!known || old.Present != h.Present)
	})
}

// tells says whether a message holds anything about the bike.
func (t *step) tells() bool {
	return t.heard.Kit != "" || len(t.heard.Symptoms) > 0 || len(t.heard.Readings) > 0
}

// newTrouble says whether a message tells of a fault, and not only of what was
// round about it.
func (t *step) newTrouble() bool {
	return slices.ContainsFunc(t.heard.Symptoms, func(h HeardSymptom) bool {
		s := t.e.kb.Symptom(h.ID)
		return s != nil && h.Present && h.Confidence >= firmBeside && t.trouble(s)
	})
}

// anotherTrouble says whether a message tells of a fault not complained of yet:
// what was complained of is often named once more when it is gone.
func (t *step) anotherTrouble() bool {
	return slices.ContainsFunc(t.heard.Symptoms, func(h HeardSymptom) bool {
		s := t.e.kb.Symptom(h.ID)
		return s != nil && h.Present && h.Confidence >= firmBeside && t.trouble(s) && !t.st.Symptoms[h.ID].Present
	})
}

// trouble says whether a symptom is a fault, and not what was round about it or
// what a healthy thing shows.
func (t *step) trouble(s *kb.Symptom) bool {
	_, o := t.e.kb.SameAs(s.ID)
	return s.Family != "history" && (o == nil || !o.Healthy)
}

// firmEnough is the confidence from which a symptom is taken from a message;
// in a message that answers something else, words are easily misread.
const (
	firmEnough = 0.5
	firmBeside = 0.8
)

// notice takes over the symptoms a message speaks of.
func (t *step) notice(reply Reply) {
	least := firmEnough
	if answers(reply.Intent) {
		least = firmBeside
	}
	var said []string
	for _, h := range t.heard.Symptoms {
		s := t.e.kb.Symptom(h.ID)
		if s == nil || h.Confidence < least {
			continue
		}
		old, known := t.st.Symptoms[h.ID]
		// An answer to a check does not overturn what was said before; what is
		// said of the bike after a remedy does.
		if known && (old.Present == h.Present || answers(reply.Intent) && reply.Intent != IntentCannot && !t.afterRemedy && !t.overturns) {
			continue
		}
		if h.Present && (t.afterRemedy || t.overturns) {
			t.noLonger(s, h.Confidence)
		} else if against := t.excluded(s); h.Present && against != nil {
			t.say("contradicts", "said", upper(s.Say), "against", against.Say)
		}
		t.emit(Event{Kind: Noticed, ID: h.ID, Yes: h.Present, Sure: h.Confidence})
		if h.Present {
			t.answersAnew(h)
		}
		if h.Present {
			said = append(said, s.Say)
		} else if s.Denied != "" && !t.followsFromPresent(h.ID) {
			said = append(said, s.Denied)
		}
	}
	if len(said) > 0 {
		t.say("understood", "list", strings.Join(said, "; "))
	}
}

// excluded finds a standing symptom that cannot be so beside this one.
func (t *step) excluded(now *kb.Symptom) *kb.Symptom {
	for _, id := range t.st.SymptomIDs() {
		if old := t.e.kb.Symptom(id); old != nil && t.standing(id) && excludes(now, old) {
			return old
		}
	}
	return nil
}

func excludes(a, b *kb.Symptom) bool {
	return slices.Contains(a.Excludes, b.ID) || slices.Contains(b.Excludes, a.ID)
}

// answersAnew lets a symptom that was told outside a check take the place of the
// answer given there before: the last word counts.
func (t *step) answersAnew(h HeardSymptom) {
	c, o := t.e.kb.SameAs(h.ID)
	if c == nil {
		return
	}
	old, ok := t.st.Answer(c.ID)
	if !ok || old.Round != t.st.Round || old.Option == o.ID || old.Turn == t.st.Turn {
		return
	}
	t.say("corrected", "what", c.Name)
	t.corrects = true
	t.emit(Event{Kind: Seen, ID: c.ID, Outcome: o.ID, Sure: h.Confidence, Text: t.st.Transcript[len(t.st.Transcript)-1].Text})
}

// noLonger takes back what was told before and cannot be so beside what is told now.
func (t *step) noLonger(now *kb.Symptom, sure float64) {
	for _, id := range t.st.SymptomIDs() {
		old := t.e.kb.Symptom(id)
		if old == nil || !t.st.Symptoms[id].Present {
			continue
		}
		if excludes(now, old) {
			t.emit(Event{Kind: Noticed, ID: id, Sure: sure})
		}
	}
}

// followsFromPresent says whether a symptom's absence follows from one that is
// said to be there: repeating it would say the same twice.
func (t *step) followsFromPresent(id string) bool {
	for _, h := range t.heard.Symptoms {
		if s := t.e.kb.Symptom(h.ID); h.Present && s != nil && slices.Contains(s.Excludes, id) {
			return true
		}
	}
	return false
}
