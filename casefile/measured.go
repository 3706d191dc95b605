package casefile

import (
	"math"
	"strings"

	"triagebot/conversation"
	"triagebot/kb"
	"triagebot/rules"
)

// known is what was read so far, for limits that refer to it: the same that
// the talk judges by.
func (b *builder) known() map[string]rules.Known {
	known := map[string]rules.Known{}
	for _, a := range b.st.Answers {
		c := b.kb.Check(a.Check)
		if c == nil || a.Reading == nil || a.Reading.Overload {
			continue
		}
		known[a.Check] = rules.Known{Value: a.Reading.Value, U: rules.Uncertainty(b.kb.About.Meters[c.Unit], a.Reading.Reading())}
	}
	return known
}

// readings lists the figures in the order in which they were first asked for,
// each with the figures it replaced.
func (b *builder) readings() []Reading {
	list := []Reading{}
	for i := range b.st.Answers {
		ans := &b.st.Answers[i]
		if ans.Reading == nil {
			continue
		}
		r := b.reading(ans)
		r.Counted = b.counted[ans]
		for j := range b.st.Replaced {
			old := &b.st.Replaced[j]
			if old.Check != ans.Check || old.Round != ans.Round || old.Reading == nil {
				continue
			}
			e := b.reading(old)
			e.Replaced = "corrected"
			if e.Odd {
				e.Replaced = "odd"
			}
			r.Earlier = append(r.Earlier, e)
		}
		list = append(list, r)
	}
	return list
}

func (b *builder) reading(ans *conversation.Answer) Reading {
	m := *ans.Reading
	r := Reading{
		Check: ans.Check, Name: ans.Check, Overload: m.Overload, Unit: m.Unit,
		Shown: conversation.FormatValue(m), Given: text(ans.Given), Turn: ans.Turn, Round: ans.Round,
		Windows: []WindowChance{}, Earlier: []Reading{},
	}
	if v := m.Value; !m.Overload && !math.IsNaN(v) && !math.IsInf(v, 0) {
		r.Value = &v
	}
	c := b.kb.Check(ans.Check)
	if c == nil {
		return r
	}
	r.Name, r.Red, r.Black, r.Side = c.Name, b.place(c.Red), b.place(c.Black), c.Side
	if b.scope != nil {
		b.judge(&r, c, m)
	}
	return r
}

// judge fills in how a reading falls. An odd one is in no window: no cause can
// produce it, so no window speaks for anything.
func (b *builder) judge(r *Reading, c *kb.Check, m conversation.Measured) {
	j, err := b.scope.Judge(c, m.Reading())
	if err != nil {
		b.note(err)
		return
	}
	r.Uncertainty = digits(j.Uncertainty)
	if j.Odd {
		r.Odd, r.OddReason = true, j.OddReason
		return
	}
	r.Close, r.Window = j.Close, j.Window
	if w := c.Window(j.Window); w != nil {
		r.WindowName, r.Means = w.Name, w.Means
	}
	for i, w := range j.Windows {
		r.Windows = append(r.Windows, WindowChance{w.ID, c.Windows[i].Name, digits(w.Probability)})
		if w.ID == j.Window {
			r.Probability = digits(w.Probability)
		}
	}
}

// place says where a probe goes, with the wire's colour on this kit.
func (b *builder) place(p *kb.Probe) string {
	if p == nil {
		return ""
	}
	if p.Plug == "" {
		return p.Place
	}
	if b.kit != nil {
		if plug := b.kit.Plug(p.Plug); plug != nil {
			if pin := plug.Pin(p.Pin); pin != nil {
				if pin.Colour != "" {
					return say("pin-coloured", "pin", pin.Name, "plug", plug.Name, "colour", pin.Colour)
				}
				return say("pin", "pin", pin.Name, "plug", plug.Name)
			}
		}
	}
	return say("pin", "pin", strings.ReplaceAll(p.Pin, "-", " "), "plug", strings.ReplaceAll(p.Plug, "-", " "))
}

// looks lists what was seen and tried.
func (b *builder) looks() []Look {
	list := []Look{}
	for i := range b.st.Answers {
		ans := &b.st.Answers[i]
		if ans.Reading != nil {
			continue
		}
		l := b.look(ans)
		l.Counted = b.counted[ans]
		for j := range b.st.Replaced {
			if old := &b.st.Replaced[j]; old.Check == ans.Check && old.Round == ans.Round && old.Reading == nil {
				l.Earlier = append(l.Earlier, b.look(old))
			}
		}
		list = append(list, l)
	}
	return list
}

func (b *builder) look(ans *conversation.Answer) Look {
	l := Look{
		Check: ans.Check, Name: ans.Check, Kind: "look", Option: ans.Option, Label: ans.Option, Given: text(ans.Given),
		Confidence: digits(ans.Sure), Turn: ans.Turn, Round: ans.Round, Earlier: []Look{},
	}
	c := b.kb.Check(ans.Check)
	if c == nil {
		return l
	}
	l.Name = c.Name
	if c.Kind == "try" {
		l.Kind = "try"
	}
	if o := c.Option(ans.Option); o != nil {
		l.Label, l.Means, l.Healthy = o.Label, o.Means, o.Healthy
	}
	return l
}
