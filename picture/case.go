package picture

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"triagebot/casefile"
	"triagebot/kb"
)

// Case draws the supply line of a case: what was measured where and how it was
// judged, where the voltage stops, and where the suspects sit.
func Case(k *kb.KB, c *casefile.Case) (*Picture, error) {
	if k == nil || c == nil {
		return nil, errors.New("drawing a case: the knowledge base or the case is missing; give both")
	}
	kit := k.Kit(c.Kit.ID)
	if kit == nil {
		kit = k.Kit(c.Kit.JudgedAs)
	}
	if kit == nil {
		kit = k.Kit(k.About.Generic)
	}
	if kit == nil {
		return nil, fmt.Errorf("drawing a case: this knowledge base has neither its kit %q nor a generic one; draw it with the knowledge base it was judged by (version %s)", c.Kit.ID, c.KB.Version)
	}
	w := newWiring(kit.Line)
	l := &ladder{w: w, findings: findingsOf(k, w, c), suspects: suspectsOf(k, w, c)}
	l.flow = flowOf(w, l.findings)
	return l.picture(kit, kit.ID+"-case", say("case-title"), l.summary())
}

// Line draws a kit's supply line as it is, with nothing measured.
func Line(k *kb.KB, kit *kb.Kit) (*Picture, error) {
	if k == nil || kit == nil {
		return nil, errors.New("drawing a line: the knowledge base or the kit is missing; give both")
	}
	l := &ladder{w: newWiring(kit.Line), whole: true}
	return l.picture(kit, kit.ID+"-line", say("line-title"), nil)
}

// summary says in sentences what the picture shows.
func (l *ladder) summary() []string {
	var list []string
	names := make([]string, len(l.flow.stops))
	for i, id := range l.flow.stops {
		names[i] = l.linkName(id)
	}
	switch {
	case len(names) == 1:
		list = append(list, say("stops-at", "link", names[0]))
	case len(names) > 1:
		list = append(list, say("stops-among", "links", strings.Join(names, ", ")))
	case !l.flow.seen:
		list = append(list, say("nothing-known"))
	case len(l.flow.dragged) == 0 && l.flow.end:
		list = append(list, say("reaches-end", "link", l.linkName(l.w.feeder[l.w.end()].ID)))
	case len(l.flow.dragged) == 0:
		list = append(list, say("nothing-stops"))
	}
	for _, id := range l.flow.dragged {
		list = append(list, say("dragged", "link", l.linkName(id)))
	}
	if l.flow.weak {
		list = append(list, say("weak"))
	}
	if l.flow.lifted {
		list = append(list, say("lifted"))
	}
	return list
}

func (l *ladder) linkName(id string) string {
	if link, ok := l.w.link(id); ok && link.Name != "" {
		return link.Name
	}
	return idWords(id)
}

// says is a finding in one line.
func (f finding) says() string {
	if f.judged == "" {
		return say("finding-look", "shown", f.shown)
	}
	return say("finding", "shown", f.shown, "judged", f.judged)
}

func (s suspect) says() string {
	if s.with != "" {
		return say("suspect-pair", "rank", strconv.Itoa(s.rank), "chance", percent(s.chance), "cause", s.cause.Name, "with", s.with)
	}
	return say("suspect", "rank", strconv.Itoa(s.rank), "chance", percent(s.chance), "cause", s.cause.Name)
}

// percent writes a probability without pretending to certainty.
func percent(p float64) string {
	switch {
	case p < 0.005:
		return say("percent-below")
	case p > 0.995:
		return say("percent-over")
	}
	return say("percent", "n", strconv.Itoa(int(math.Round(100*p))))
}

// alt describes a ladder: its summary, the readings and the suspects.
func (l *ladder) alt(kit *kb.Kit, title string, summary []string) string {
	alt := []string{stop(say("alt-line", "title", title, "kit", kit.Name))}
	alt = append(alt, summary...)
	for _, f := range l.findings {
		alt = append(alt, stop(capital(f.name)+": "+f.says()+" ("+say("verdict-"+string(f.verdict))+")"))
	}
	for _, s := range l.suspects {
		alt = append(alt, stop(s.says()))
	}
	if len(l.findings)+len(l.suspects) == 0 {
		names := make([]string, len(l.w.line.Links))
		for i, link := range l.w.line.Links {
			names[i] = l.linkName(link.ID)
		}
		alt = append(alt, stop(say("alt-links", "links", strings.Join(names, ", "))))
	}
	return strings.Join(alt, " ")
}
