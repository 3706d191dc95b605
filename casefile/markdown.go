package casefile

import (
	"strconv"
	"strings"
	"time"

	"triagebot/rules"
)

// How much of the owner's words stands outside the transcript.
const (
	complaintRunes = 300
	givenRunes     = 100
	titleRunes     = 80
)

// How much of the belief stands on the page; the JSON holds all.
const (
	ruledNamed = 6 // causes by one piece of evidence
	explained  = 3 // suspects with their evidence
)

// Markdown writes the case as one page: what is wrong, what was measured and
// what that rules out, what is left and what to do next; then the rest.
func (c *Case) Markdown() string {
	p := &page{}
	p.heading(1, upperFirst(c.title()))
	c.writeDangers(p)
	if c.Incomplete != "" {
		p.strong(say("page-incomplete", "what", c.Incomplete))
	}
	c.writeWrong(p)
	c.writeMeasured(p)
	c.writeRuledOut(p)
	c.writeLeft(p)
	c.writeNext(p)
	c.writeRest(p)
	c.writeTranscript(p)
	return p.b.String()
}

func (c *Case) title() string {
	kit := c.Kit.Name
	if c.Kit.ID == "" {
		kit = say("page-title-kit")
	}
	fault := say("page-title-none")
	if len(c.Complaint) > 0 {
		fault = c.Complaint[0]
	}
	said := false
	for _, s := range c.Symptoms {
		if s.State != rules.Present || s.Family == "history" || said && s.Healthy {
			continue
		}
		fault, said = s.Says, true
		if !s.Healthy { // what is well is the title only where nothing else was said
			break
		}
	}
	return say("page-title", "kit", kit, "fault", clip(fault, titleRunes))
}

func (c *Case) writeDangers(p *page) {
	for _, d := range c.Dangers {
		p.strong(say("page-danger", "what", d.Says))
	}
	said := map[string]bool{}
	for _, d := range c.Dangers {
		if said[d.Caution] {
			continue
		}
		said[d.Caution] = true
		for _, line := range d.Do {
			p.bullet(line)
		}
	}
}

func (c *Case) writeWrong(p *page) {
	p.heading(2, say("page-wrong"))
	for _, t := range c.Complaint {
		if oneLine(t) == "" {
			continue
		}
		p.bullet(say("page-complaint", "text", clip(t, complaintRunes)))
	}
	var present, absent, before []string
	for _, s := range c.Symptoms {
		says := s.Says
		if s.Confidence < rules.Sure {
			says = say("page-unsure", "what", says, "percent", percent(s.Confidence))
		}
		switch {
		case s.State != rules.Present:
			absent = append(absent, says)
		case s.Family == "history":
			before = append(before, says)
		default:
			present = append(present, says)
		}
	}
	list := func(name string, what []string) {
		if len(what) > 0 {
			p.bullet(say(name, "list", strings.Join(what, "; ")))
		}
	}
	list("page-understood", present)
	list("page-denied", absent)
	list("page-history", before)
	switch {
	case c.Kit.ID == "":
		p.bullet(say("page-kit-unknown", "kit", c.Kit.JudgedAs))
	case c.Kit.Summary != "":
		p.bullet(say("page-kit-summary", "kit", c.Kit.Name, "summary", c.Kit.Summary))
	default:
		p.bullet(say("page-kit", "kit", c.Kit.Name))
	}
	for _, f := range c.Kit.Figures {
		value := strings.TrimSpace(strconv.FormatFloat(f.Value, 'f', -1, 64) + " " + f.Unit)
		p.bullet(say("page-figure", "name", f.Name, "value", value))
	}
	p.bullet(say("page-ended", "state", sayOr("state-"+c.Ended.State, c.Ended.State), "why", c.Ended.Why))
	if len(c.Suspects) > 0 {
		s := c.Suspects[0]
		p.bullet(say("page-likeliest", "cause", s.names(), "percent", percent(s.Probability)))
	}
}

func (s Suspect) names() string {
	var names []string
	for _, c := range s.Causes {
		names = append(names, c.Name)
	}
	return strings.Join(names, " "+say("and")+" ")
}

// writeRuledOut groups the causes by what spoke most strongly against them: one
// reading usually clears several.
func (c *Case) writeRuledOut(p *page) {
	p.heading(2, say("page-ruled"))
	if len(c.RuledOut) == 0 {
		p.paragraph(say("page-nothing-ruled"))
	}
	var order []string
	group := map[string][]string{}
	for _, r := range c.RuledOut {
		by, line := "", say("page-ruled-cause-plain", "cause", r.Cause.Name, "highest", percent(r.Highest))
		if len(r.By) > 0 {
			by = r.By[0].Says
			if r.By[0].Weight > 0 {
				line = say("page-ruled-cause", "cause", r.Cause.Name, "highest", percent(r.Highest), "ratio", ratio(r.By[0].Weight))
			}
		}
		if group[by] == nil {
			order = append(order, by)
		}
		group[by] = append(group[by], line)
	}
	for _, by := range order {
		causes := group[by]
		if more := len(causes) - ruledNamed; more > 1 {
			causes = append(causes[:ruledNamed:ruledNamed], say("page-ruled-more", "n", strconv.Itoa(more)))
		}
		form := "page-ruled-by"
		if by == "" {
			form = "page-ruled-plain"
		}
		p.bullet(upperFirst(say(form, "says", by, "causes", strings.Join(causes, "; "))))
	}
}

func (e Evidence) line() string {
	if e.Weight == 0 {
		return say("page-weighed-plain", "says", e.Says)
	}
	return say("page-weighed", "says", e.Says, "words", e.Words, "ratio", ratio(e.Weight))
}

func (c *Case) writeLeft(p *page) {
	p.heading(2, say("page-left"))
	if len(c.Suspects) == 0 {
		p.paragraph(say("page-nothing-left"))
		return
	}
	for i, s := range c.Suspects {
		form := "page-suspect-remedy-by"
		switch {
		case s.RemedyName == "":
			form = "page-suspect"
		case s.By == "":
			form = "page-suspect-remedy"
		}
		p.bullet(say(form, "causes", upperFirst(s.names()), "percent", percent(s.Probability), "remedy", s.RemedyName, "by", sayOr("by-"+s.By, s.By)))
		if i >= explained {
			continue
		}
		for _, e := range s.For {
			p.subBullet(e.line())
		}
		for _, e := range s.Against {
			p.subBullet(e.line())
		}
	}
	p.bullet(say("page-rest", "unlisted", percent(c.Unlisted), "fine", percent(c.NothingWrong)))
}

func (c *Case) writeNext(p *page) {
	p.heading(2, say("page-next"))
	p.paragraph(c.Next.Says)
	for i, line := range c.Next.Lines {
		p.item(i+1, upperFirst(line))
	}
}

// writeRest writes what is read when needed; a section without content is left out.
func (c *Case) writeRest(p *page) {
	if len(c.NotDone) > 0 {
		p.heading(2, say("page-not-done"))
	}
	for _, n := range c.NotDone {
		form := "page-not-done-line"
		if n.Given != "" {
			form = "page-not-done-words"
		}
		p.bullet(say(form, "name", upperFirst(n.Name), "says", n.Says, "given", clip(n.Given, givenRunes)))
	}
	if len(c.Remedies) > 0 {
		p.heading(2, say("page-remedies"))
	}
	for _, r := range c.Remedies {
		p.bullet(say("page-remedy", "name", upperFirst(r.Name), "says", r.Says))
	}
	if len(c.Cautions) > 0 {
		p.heading(2, say("page-cautions"))
	}
	for _, w := range c.cautionsGiven() {
		p.bullet(say("page-caution", "turns", w.turns, "text", w.text))
	}
}

// given is a caution with all the turns it was said at.
type given struct{ text, turns string }

// cautionsGiven gathers the turns of each caution, in the order they were first said.
func (c *Case) cautionsGiven() []given {
	var list []given
	place := map[string]int{}
	for _, w := range c.Cautions {
		turn := strconv.Itoa(w.Turn)
		if i, ok := place[w.ID]; ok {
			list[i].turns += ", " + turn
			continue
		}
		text := strings.Join(w.Text, " ")
		if text == "" {
			text = w.ID
		}
		place[w.ID] = len(list)
		list = append(list, given{text, turn})
	}
	return list
}

func (c *Case) writeTranscript(p *page) {
	p.heading(2, say("page-transcript"))
	var before time.Time
	speaking := ""
	for _, l := range c.Transcript {
		if drawn(l.Text) {
			continue
		}
		if l.Who == speaking && l.Who != "owner" {
			p.subBullet(l.Text)
			continue
		}
		speaking = l.Who
		who := say("page-bot")
		if l.Who == "owner" {
			who = say("page-owner")
		}
		if !l.Time.IsZero() {
			form := "15:04"
			if l.Time.YearDay() != before.YearDay() || l.Time.Year() != before.Year() {
				form = "2 January, 15:04"
			}
			before = l.Time
			who += ", " + l.Time.Format(form)
		}
		p.boldBullet(who+":", l.Text)
	}
	p.b.WriteString("\n")
	p.paragraph(say("page-foot", "kb", c.KB.Name, "version", c.KB.Version))
	if !c.Opened.IsZero() {
		p.paragraph(say("page-times", "opened", day(c.Opened), "last", day(c.Last)))
	}
}

// drawn says that a line is part of a plug's picture: a page sets text in a
// face in which its lines would not meet.
func drawn(line string) bool {
	return strings.ContainsAny(line, "│┌├└")
}

func day(t time.Time) string { return t.Format("2 January 2006, 15:04 UTC") }
