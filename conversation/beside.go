package conversation

import "strconv"

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
	if reply.Intent != IntentHow && reply.Intent != IntentWhy || p == nil {
		return false, nil
	}
	switch reply.About {
	case AboutRisk:
		t.say("risk")
		return true, t.inFull()
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
