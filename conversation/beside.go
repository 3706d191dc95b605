package conversation

import (
	"fmt"
	"strconv"
	"strings"
)

// beside answers what an owner asks or says beside the matter: whether it is
// dangerous, how long it takes, thanks. done means that the turn is answered.
func (t *step) beside(reply Reply) (done bool, err error) {
	p := t.st.Pending
	if reply.Thanks {
		t.say("welcome")
		if p != nil && p.Kind == AskCured {
			t.say("ask-cured")
			return true, nil
		}
		return true, t.repeat()
	}
	if reply.About == AboutGuess && !t.anythingKnown() {
		t.say("guess-none")
		return true, t.repeat()
	}
	if reply.Intent != IntentHow && reply.Intent != IntentWhy || p == nil {
		return false, nil
	}
	switch reply.About {
	case AboutGuess:
		if err := t.guess(); err != nil {
			return false, err
		}
	case AboutRisk:
		t.say("risk")
	case AboutCost:
		t.say("price")
	case AboutTime:
		minutes := 0.0
		if c := t.e.kb.Check(p.ID); p.Kind == AskCheck && c != nil {
			minutes = c.Minutes
		} else if r := t.e.kb.Remedy(p.ID); p.Kind == AskCured && r != nil {
			minutes = r.Minutes
		}
		if minutes == 0 {
			return false, nil
		}
		t.say("takes", "minutes", strconv.FormatFloat(minutes, 'f', -1, 64))
	default:
		return false, nil
	}
	return true, t.repeat()
}

// leastGuessed: a suspect less likely than this is not worth a word.
const leastGuessed = 0.05

// mostGuessed bounds the list of suspects an owner is told.
const mostGuessed = 3

// guess says what it may be by now, and that it is too early to buy on it.
func (t *step) guess() error {
	a, err := t.assess()
	if err != nil {
		return err
	}
	var list []string
	for _, s := range a.Belief.Suspects(0) {
		if s.Probability < leastGuessed || len(list) == mostGuessed {
			break
		}
		if len(s.Causes) == 1 {
			list = append(list, fmt.Sprintf("%s (%.0f %%)", s.Causes[0].Name, 100*s.Probability))
		}
	}
	if len(list) == 0 {
		t.say("guess-open")
		return nil
	}
	t.say("guess", "list", strings.Join(list, "; "))
	return nil
}
