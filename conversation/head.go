package conversation

import (
	"slices"
	"strings"
)

// mostAnswer is how many words a yes or no before a comma has.
const mostAnswer = 2

// plainAnswer parts a message into the yes or no that it begins with, once a
// question was asked, and the rest: "no, the display is on" denies no display.
func (t *step) plainAnswer(msg string) (head Intent, rest string) {
	i := strings.IndexAny(msg, ",.;:!")
	if t.st.Phase == Opening || i <= 0 || len(strings.Fields(msg[:i])) > mostAnswer {
		return "", msg
	}
	if rest = strings.TrimSpace(msg[i+1:]); rest == "" {
		return "", msg
	}
	q := Question{Kind: "yesno"}
	if p := t.st.Pending; p != nil && p.Kind == AskCured {
		q = t.e.question(t.st)
	}
	r := t.e.reader.Read(q, msg[:i])
	switch {
	case r.Choice == optionCured, r.Choice == "" && r.Intent == IntentYes:
		return IntentYes, rest
	case r.Choice == optionNotCured, r.Choice == "" && r.Intent == IntentNo:
		return IntentNo, rest
	}
	return "", msg
}

// weighHead lets the yes or no that a message begins with decide whether a
// remedy helped, unless what follows tells of a fault.
func (t *step) weighHead(head Intent, reply Reply) Reply {
	said := reply.Intent == IntentYes || reply.Intent == IntentNo || reply.Intent == IntentChoice || reply.Intent == IntentOther || reply.Intent == IntentNewInfo
	agrees := head == reply.Intent || head == IntentYes && reply.Choice == optionCured || head == IntentNo && reply.Choice == optionNotCured
	if !t.afterRemedy || head == "" || agrees || !said {
		return reply
	}
	if head == IntentYes && slices.ContainsFunc(t.heard.Symptoms, func(h HeardSymptom) bool {
		s := t.e.kb.Symptom(h.ID)
		return s != nil && h.Present && t.trouble(s)
	}) {
		return reply
	}
	reply.Intent, reply.Choice, reply.Confidence = head, "", offered
	return reply
}
