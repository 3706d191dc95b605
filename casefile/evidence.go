package casefile

import (
	"strings"

	"triagebot/conversation"
)

// inWords puts one piece of evidence in words, without its weight.
func (b *builder) inWords(ev conversation.Evidence) Evidence {
	e := Evidence{Kind: "said", Of: []string{ev.Observation.ID}}
	c := ev.Observation.Check
	switch {
	case c == nil:
		e.Says = b.symptomSays(ev.Observation.ID, ev.Outcome == "present")
	case ev.Answer == nil:
		// Said unasked, although a check asks the same.
		e.Of, e.Says = b.saidOf(ev)
	case ev.Answer.Reading != nil:
		e.Kind = c.Kind
		value := conversation.FormatValue(*ev.Answer.Reading)
		name := ev.Outcome
		if w := c.Window(ev.Outcome); w != nil {
			name = w.Name
		}
		form := "evidence-measure"
		if ev.Judgement != nil && ev.Judgement.Close {
			form = "evidence-close"
		}
		e.Says = say(form, "check", c.Name, "value", value, "window", name)
	default:
		e.Kind = c.Kind
		label := ev.Outcome
		if o := c.Option(ev.Outcome); o != nil {
			label = o.Label
		}
		e.Says = say("evidence-option", "check", c.Name, "label", label)
	}
	return e
}

// saidOf lists the symptoms behind evidence that no answer gave.
func (b *builder) saidOf(ev conversation.Evidence) (ids []string, says string) {
	var words []string
	for _, id := range b.st.SymptomIDs() {
		s := b.st.Symptoms[id]
		if c, _ := b.kb.SameAs(id); c == nil || c.ID != ev.Observation.ID || s.Round != ev.Round {
			continue
		}
		ids = append(ids, id)
		words = append(words, b.symptomSays(id, s.Present))
	}
	if len(ids) == 0 {
		return []string{ev.Observation.ID}, ev.Observation.Check.Name
	}
	return ids, strings.Join(words, "; ")
}
