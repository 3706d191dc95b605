package conversation

import (
	"strings"

	"triagebot/kb"
)

// askCheck puts a check to the owner: the caution before the hand moves, what
// to open, where the probes go, and the one question.
func (t *step) askCheck(c *kb.Check, again bool) {
	t.warnDue(c.Cautions)
	set := t.e.stateWords(c)
	p := t.st.Pending
	repeated := p != nil && p.Kind == AskCheck && p.ID == c.ID
	if c.Kind != "try" && set != "" && (set != t.st.Set || again || repeated) { // a try says it in its steps
		t.say("set-first", "state", set)
	}
	for _, id := range c.Access {
		if o := t.e.kb.Opening(id); o != nil && !t.st.Opened[id] {
			t.say("open-first", "access", o.Name, "how", o.How)
		}
	}
	if c.Red != nil && c.Black != nil {
		t.say("probes", "red", t.probeWords(c.Red), "black", t.probeWords(c.Black))
		if c.Side != "" && c.Red.Plug != "" {
			t.say("side", "side", c.SideSaid())
		}
	}
	if c.Meter != "" {
		t.say("meter", "setting", c.MeterSaid())
	}
	if c.Kind == "try" {
		for i, line := range c.How {
			t.say("step", "n", itoa(i+1), "text", line)
		}
	}
	t.ask(&PendingAsk{Kind: AskCheck, ID: c.ID, Again: again, Set: set}, c.Asks)
	t.sayOptions(c)
	if c.Kind == "measure" && !t.explained(c) {
		t.say("how-offer")
	}
}

// stateWords says what state the thing must be in for a check.
func (e *Engine) stateWords(c *kb.Check) string {
	var words []string
	for _, id := range c.State {
		if w := e.kb.About.States[id]; w != "" {
			words = append(words, w)
		}
	}
	return strings.Join(words, ", ")
}

// explained says whether a measure was asked before: the offer to draw it is
// made once.
func (t *step) explained(c *kb.Check) bool {
	for _, a := range t.st.Answers {
		if a.Reading != nil {
			return true
		}
	}
	return false
}

// sayOptions numbers the answers on offer, one a line.
func (t *step) sayOptions(c *kb.Check) {
	for i, o := range c.OptionsOn(t.e.kb.Kit(t.st.Kit)) {
		t.say("which-option", "n", itoa(i+1), "text", o.Label)
	}
	if len(c.Options) > 0 && !t.answeredByNumber() {
		t.say("answer-with")
	}
}

// answeredByNumber says whether a choice was made before: how to answer is
// said once.
func (t *step) answeredByNumber() bool {
	for _, a := range t.st.Answers {
		if a.Reading == nil {
			return true
		}
	}
	return false
}

// warnDue says those of the cautions that are due on this kit.
func (t *step) warnDue(ids []string) {
	for _, id := range ids {
		if t.applies(id) {
			t.warn(id)
		}
	}
}

// applies says whether a caution is due on this kit.
func (t *step) applies(id string) bool {
	c := t.e.kb.Caution(id)
	if c == nil {
		return false
	}
	m, err := t.e.modelOf(t.st)
	if err != nil {
		return true
	}
	conditional := false
	for _, d := range c.Due {
		if d.When == "" {
			continue
		}
		conditional = true
		// In doubt the caution is said.
		if ok, err := m.Scope().Holds(d.When, 0); err != nil || ok {
			return true
		}
	}
	return !conditional
}

// probeWords says where a probe goes, with the wire's colour on this kit.
func (t *step) probeWords(p *kb.Probe) string {
	if p.Plug == "" {
		return p.Place
	}
	plug, pin := t.e.pin(t.st.Kit, p)
	if plug == nil || pin == nil {
		return t.e.words.say("pin", "pin", p.Pin, "plug", strings.ReplaceAll(p.Plug, "-", " "))
	}
	if pin.Colour != "" {
		return t.e.words.say("pin-coloured", "pin", pin.Name, "plug", plug.Name, "colour", pin.ColourSaid())
	}
	return t.e.words.say("pin", "pin", pin.Name, "plug", plug.Name)
}

func (e *Engine) pin(kit string, p *kb.Probe) (*kb.Plug, *kb.Pin) {
	k := e.kb.Kit(kit)
	if k == nil {
		return nil, nil
	}
	for _, plug := range k.Plugs {
		if plug.ID != p.Plug {
			continue
		}
		for i := range plug.Pins {
			if plug.Pins[i].ID == p.Pin {
				return plug, &plug.Pins[i]
			}
		}
	}
	return nil, nil
}
