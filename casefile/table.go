package casefile

import (
	"strings"
)

// writeMeasured writes the table of readings, then what was looked at and tried.
func (c *Case) writeMeasured(p *page) {
	p.heading(2, say("page-measured"))
	if len(c.Readings) == 0 {
		p.paragraph(say("page-nothing-measured"))
	} else {
		p.row(say("page-col-what"), say("page-col-where"), say("page-col-value"), say("page-col-judged"))
		p.rule(4)
	}
	for _, r := range c.Readings {
		name := r.Name
		if r.Round > 0 {
			name = say("page-round", "what", name)
		}
		p.row(name, r.where(), r.figures(), r.judged())
	}
	if len(c.Looks) == 0 {
		return
	}
	p.heading(3, say("page-looked"))
	for _, l := range c.Looks {
		p.bullet(l.line())
	}
}

func (r Reading) where() string {
	if r.Red == "" || r.Black == "" {
		return ""
	}
	form := "page-probes"
	if r.Side != "" {
		form = "page-probes-side"
	}
	return say(form, "red", r.Red, "black", r.Black, "side", r.Side)
}

// figures shows the figure that counts, and the ones before it.
func (r Reading) figures() string {
	value := r.Shown
	for _, e := range r.Earlier {
		value = say("page-earlier-"+e.Replaced, "value", value, "earlier", e.Shown)
	}
	return value
}

func (r Reading) judged() string {
	switch {
	case r.Odd:
		return strings.TrimSpace(say("page-judged-odd", "reason", r.OddReason))
	case r.Window == "":
		return say("page-judged-none")
	case r.Close:
		var list []string
		for _, w := range r.Windows {
			if w.Probability >= closeShown {
				list = append(list, say("page-judged", "window", r.nameOf(w.ID), "percent", percent(w.Probability)))
			}
		}
		return say("page-judged-close", "windows", strings.Join(list, ", "))
	}
	return say("page-judged", "window", r.WindowName, "percent", percent(r.Probability))
}

// closeShown: of a reading too close to call, windows this likely are named.
const closeShown = 0.01

func (r Reading) nameOf(window string) string {
	for _, w := range r.Windows {
		if w.ID == window && w.Name != "" {
			return w.Name
		}
	}
	return window
}

func (l Look) line() string {
	name := l.Name
	if l.Round > 0 {
		name = say("page-round", "what", name)
	}
	form := "page-look"
	if l.Means != "" {
		form = "page-look-means"
	}
	line := upperFirst(say(form, "name", name, "label", l.Label, "means", l.Means))
	if len(l.Earlier) == 0 {
		return line
	}
	var labels []string
	for _, e := range l.Earlier {
		labels = append(labels, e.Label)
	}
	return say("page-look-earlier", "text", line, "labels", strings.Join(labels, ", "))
}
