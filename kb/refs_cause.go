package kb

import (
	"slices"
	"strconv"
)

// fewPhrases is how many ways of saying a symptom is too few: below it, owners'
// words are met by chance only.
const fewPhrases = 12

func (l *linker) symptom(s *Symptom) {
	kits := l.having(s.Parts, s)
	l.refs("symptom", s.Excludes, s, "excludes")
	l.refs("symptom", s.Implies, s, "implies")
	for _, key := range []string{"excludes", "implies"} {
		list := s.Excludes
		if key == "implies" {
			list = s.Implies
		}
		if slices.Contains(list, s.ID) {
			l.out.error(l.at(s, key, s.ID), "contradiction", "take it away", "symptom %q %s itself", s.ID, key)
		}
	}
	switch {
	case s.Danger != "" && l.ref("caution", s.Danger, s, "danger"):
		if !l.Caution(s.Danger).Danger {
			l.out.error(l.at(s, "danger"), "danger", "set danger: true there, or name another caution",
				"caution %q is said when symptom %q stops the talk, but is not marked as one of danger", s.Danger, s.ID)
		}
	case s.Family == "danger" && s.Danger == "":
		l.out.error(s.Pos, "danger", "add danger: with the id of the caution that is said then",
			"symptom %q is of the family danger and names no caution", s.ID)
	}
	if s.Line != nil {
		l.reads(s.Line, kits, []string{"present"}, s)
	}
	if n := len(s.Phrases); n > 0 && n < fewPhrases {
		l.out.warn(l.at(s, "phrases"), "few-phrases", "add how owners say it, at least "+strconv.Itoa(fewPhrases),
			"symptom %q has only %d phrases", s.ID, n)
	}
}

// onAll warns of kits on which the line says nothing, because they lack the
// one point it is asked about.
func (l *linker) onAll(point string, kits []*Kit, e any, key string) {
	var without []*Kit
	for _, kit := range kits {
		if !hasPoint(kit, point) {
			without = append(without, kit)
		}
	}
	if len(without) > 0 && len(without) < len(kits) {
		l.out.warn(l.at(e, "line", key), "no-kit", "limit it with parts, or give any: with a point of each kit",
			"the line says nothing here on %s, which has no point %q", kitNames(without), point)
	}
}

// contradictions reports symptoms that bring along what they exclude.
func (l *linker) contradictions() {
	for _, s := range l.Symptoms {
		all := l.implied(s)
		for _, a := range all {
			for _, b := range all {
				if a != b && slices.Contains(a.Excludes, b.ID) {
					l.out.error(l.at(s, "implies"), "contradiction", "take one of the two away",
						"symptom %q implies %q and %q, which exclude each other", s.ID, a.ID, b.ID)
				}
			}
		}
	}
}

// implied lists a symptom with all that it implies, directly or not.
func (l *linker) implied(s *Symptom) []*Symptom {
	all := []*Symptom{s}
	for i := 0; i < len(all); i++ {
		for _, id := range all[i].Implies {
			if t := l.Symptom(id); t != nil && !slices.Contains(all, t) {
				all = append(all, t)
			}
		}
	}
	return all
}

// reads checks what the line says of a symptom or a check.
func (l *linker) reads(r *LineReads, kits []*Kit, outcomes []string, e any) {
	ways := 0
	for _, given := range []bool{r.At != "", len(r.Any) > 0, len(r.All) > 0} {
		if given {
			ways++
		}
	}
	if ways != 1 {
		l.out.error(r.Pos, "line", "give exactly one of at, any, all", "line names its points in %d ways", ways)
	}
	for _, p := range []struct{ key, point string }{{"at", r.At}, {"against", r.Against}} {
		if p.point != "" {
			l.onSome("point", p.point, kits, hasPoint, e, "line", p.key)
			l.onAll(p.point, kits, e, p.key)
		}
	}
	for _, id := range r.Any {
		l.onSome("point", id, kits, hasPoint, e, "line", "any", id)
	}
	for _, id := range r.All {
		l.onSome("point", id, kits, hasPoint, e, "line", "all", id)
	}
	for _, state := range sortedIDs(r.Reads) {
		pos := l.at(e, "line", "reads", state)
		for _, id := range sortedIDs(r.Reads[state]) {
			if !slices.Contains(outcomes, id) {
				l.unknown("outcome", id, outcomes, l.at(e, "line", "reads", state, id))
			}
		}
		l.sum(r.Reads[state], pos, "line state "+state)
	}
}

func (l *linker) cause(c *Cause) {
	kits := l.having(c.Parts, c)
	l.ref("remedy", c.Remedy, c, "remedy")
	l.causeLine(c, c.Line, kits, "line")
	for _, s := range c.Shows {
		l.show(c, s, kits, "shows")
	}
	if len(c.Forms) == 1 {
		l.out.error(l.at(c, "forms"), "forms", "say it under the cause itself", "cause %q comes in one form only", c.ID)
	}
	for i, f := range c.Forms {
		at := strconv.Itoa(i)
		if f.Line != nil {
			l.causeLine(c, *f.Line, kits, "forms", at, "line")
		}
		for _, s := range f.Shows {
			l.show(c, s, kits, "forms", at, "shows")
		}
	}
	for i, t := range c.Twins {
		at := strconv.Itoa(i)
		l.ref("cause", t.Cause, c, "twins", at, "cause")
		if t.Cause == c.ID {
			l.out.error(l.at(c, "twins", at, "cause"), "contradiction", "name the other cause", "cause %q is its own twin", c.ID)
		}
	}
}

func (l *linker) causeLine(c *Cause, line CauseLine, kits []*Kit, path ...string) {
	at := func(key, id string) []string { return append(slices.Clone(path), key, id) }
	for _, id := range line.Opens {
		l.onSome("link", id, kits, hasLink, c, at("opens", id)...)
	}
	for _, id := range line.Weakens {
		l.onSome("link", id, kits, hasLink, c, at("weakens", id)...)
	}
	for _, id := range line.Shorts {
		l.onSome("point", id, kits, hasPoint, c, at("shorts", id)...)
	}
}

func (l *linker) show(c *Cause, s Show, kits []*Kit, path ...string) {
	symptom, check := l.Symptom(s.Of), l.Check(s.Of)
	switch {
	case symptom != nil:
		if s.Outcomes != nil {
			l.out.error(s.Pos, "kind", "write "+s.Of+": 0.9", "%q is a symptom and takes one probability, that it is present", s.Of)
		}
		if same, option := l.SameAs(s.Of); same != nil {
			l.out.error(s.Pos, "counts-twice", "write "+same.ID+": {"+option.ID+": ...}",
				"symptom %q is the same observation as option %q of check %q", s.Of, option.ID, same.ID)
		}
		l.sharedKit(symptom.Parts, kits, c, s)
	case check != nil:
		if s.Outcomes == nil {
			l.out.error(s.Pos, "kind", "write "+s.Of+": {outcome: 0.9}", "%q is a check and takes a probability for each outcome", s.Of)
		}
		if check.Kind == "talk" {
			l.out.error(s.Pos, "kind", "take it away, or make the check a look", "check %q is a talk, which no cause can show in", s.Of)
			return
		}
		for _, id := range sortedIDs(s.Outcomes) {
			if outcomes := check.Outcomes(); !slices.Contains(outcomes, id) {
				l.unknown("outcome of "+s.Of, id, outcomes, l.at(c, append(slices.Clone(path), s.Of, id)...))
			}
		}
		l.sum(s.Outcomes, s.Pos, s.Of)
		l.sharedKit(check.Parts, kits, c, s)
	default:
		all := append(slices.Clone(l.known["check"]), l.known["symptom"]...)
		l.unknown("symptom or check", s.Of, all, s.Pos)
	}
}

// sharedKit reports what a cause shows on no kit that can have the cause.
func (l *linker) sharedKit(parts []string, kits []*Kit, c *Cause, s Show) {
	if len(kits) == 0 || slices.ContainsFunc(kits, func(k *Kit) bool { return k.Has(parts) }) {
		return
	}
	l.out.error(s.Pos, "no-kit", "take it away, or change the parts of one",
		"no kit can have both cause %q and %q", c.ID, s.Of)
}
