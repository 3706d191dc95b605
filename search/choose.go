package search

import (
	"cmp"
	"slices"
)

// choose settles which findings stand. A word explains one symptom; the surest
// finding takes it first.
func (x *Index) choose(t *text, found []finding, off offtopic, figures *figures) []finding {
	order := make([]int, 0, len(found))
	for i := range found {
		f := &found[i]
		if f.symptom < 0 {
			continue
		}
		if c := t.clauses[f.clause]; c.answeredNo || c.gone && x.isCured(f) {
			f.present = !f.present
			f.same = false
		}
		f.why = x.objection(t, f, off)
		if f.why == "" && figures.onlyTaken(t, f.found) {
			f.why = "its words say how a figure was taken"
		}
		if f.why == "" {
			order = append(order, i)
		}
	}
	order = x.dangerStands(found, order)
	order = x.complaintStands(found, order)
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(found[b].conf, found[a].conf), cmp.Compare(found[a].phrase, found[b].phrase))
	})
	order = x.lastResort(t, found, order, off, figures)
	explained := make([]int, len(t.tokens)) // by the kept finding of that number, from 1
	var kept []finding
	for _, i := range order {
		f := &found[i]
		var fresh, all float64
		for _, h := range f.found {
			all += h.weight
			if n := explained[h.token]; n == 0 || x.sayTogether(&kept[n-1], f) {
				fresh += h.weight
			}
		}
		if fresh < 0.5*all {
			f.why = "its words are explained by a surer one"
			continue
		}
		if why := x.clashes(kept, f); why != "" {
			f.why = why
			if n := slices.IndexFunc(kept, func(k finding) bool { return k.symptom == f.symptom && k.present == f.present && k.overlaps(f) }); n >= 0 && f.concept {
				x.explain(explained, f, n+1) // said once more, in other words
			}
			continue
		}
		kept = append(kept, *f)
		x.explain(explained, f, len(kept))
	}
	return kept
}

// lastResort takes the likeliest finding where nothing else was understood at all,
// if no other is nearly as likely: whoever writes here has something to tell.
func (x *Index) lastResort(t *text, found []finding, order []int, off offtopic, figures *figures) []int {
	if x.without[LastResort] || len(order) > 0 || len(figures.list) > 0 || off.score >= chatterSure || off.command || off.foreign {
		return order
	}
	best, second := -1, 0.0
	for i := range found {
		f := &found[i]
		if f.symptom < 0 || f.why != "not sure enough" || !f.present || x.objectionOnceSure(t, f, off) != "" {
			continue
		}
		switch {
		case best < 0 || f.conf > found[best].conf:
			if best >= 0 && found[best].symptom != f.symptom {
				second = found[best].conf
			}
			best = i
		case f.symptom != found[best].symptom:
			second = max(second, f.conf)
		}
	}
	if best >= 0 && found[best].conf >= resort && found[best].conf-second >= wonderGap {
		found[best].why = ""
		return []int{best}
	}
	return order
}

// objectionOnceSure says what else speaks against a finding that is not sure enough.
func (x *Index) objectionOnceSure(t *text, f *finding, off offtopic) string {
	g := *f
	g.conf = 1
	return x.objection(t, &g, off)
}

// explain notes that the words of a finding are explained by the nth that was kept.
func (x *Index) explain(explained []int, f *finding, nth int) {
	for _, h := range f.found {
		// What only leads up to the matter is left for others to tell.
		if explained[h.token] == 0 && !x.phrases[f.phrase].terms[h.term].aside {
			explained[h.token] = nth
		}
	}
	for _, h := range f.also {
		if explained[h.token] == 0 {
			explained[h.token] = nth
		}
	}
}

// isCured: what used to be so and is no longer is told not to be so, unless the
// words are about the past of their own accord ("used to do 40 km").
func (x *Index) isCured(f *finding) bool {
	p := &x.phrases[f.phrase]
	return f.present && !p.past && !x.healthy[f.symptom] && x.symptoms[f.symptom].Danger == "" && x.symptoms[f.symptom].Family != "history"
}

// dangerStands takes out what denies a danger that another clause tells of: "no
// smoke now, but it smoked when I plugged it in".
func (x *Index) dangerStands(found []finding, order []int) []int {
	told := map[int]bool{}
	for _, i := range order {
		if f := &found[i]; f.present && f.conf >= believe && x.symptoms[f.symptom].Danger != "" {
			told[f.symptom] = true
		}
	}
	return slices.DeleteFunc(order, func(i int) bool {
		f := &found[i]
		if !f.present && told[f.symptom] && !x.surerThere(found, f) {
			f.why = "another clause tells of it"
			return true
		}
		return false
	})
}

// complaintStands takes out what is said to be well when a later clause complains
// of the same: "the fuse holds for a minute, then blows".
func (x *Index) complaintStands(found []finding, order []int) []int {
	return slices.DeleteFunc(order, func(i int) bool {
		f := &found[i]
		if f.present {
			return false
		}
		for _, j := range order {
			if g := &found[j]; g.symptom == f.symptom && g.present && g.clause > f.clause && g.clause <= f.clause+2 && g.conf >= believe && g.concept && !g.overlaps(f) {
				f.why = "a later clause complains of it"
				return true
			}
		}
		return false
	})
}

// surerThere reports whether the same clause denies the danger more surely
// than it tells of it, so that only one of the two was meant.
func (x *Index) surerThere(found []finding, absent *finding) bool {
	for i := range found {
		f := &found[i]
		if f.symptom == absent.symptom && f.present && f.conf >= believe && f.why == "" && (f.clause != absent.clause || f.conf > absent.conf) {
			return false
		}
	}
	return true
}

// objection says why a finding does not count, "" when it does.
func (x *Index) objection(t *text, f *finding, off offtopic) string {
	c := t.clauses[f.clause]
	s := x.symptoms[f.symptom]
	p := &x.phrases[f.phrase]
	need := believe
	if s.Danger != "" && f.present {
		need = believeDanger
	} else if !f.present {
		need = believeAbsent
	}
	well := !f.present || x.healthy[f.symptom]
	switch {
	case f.conf < need:
		return "not sure enough"
	case c.foreign && !p.foreign:
		return "said of another machine"
	case c.hypothetical && !p.asks && !(s.Danger != "" && x.pointsAt(t, f)):
		return "asked or feared, not told"
	case c.over && s.Danger != "" && f.present:
		return "was so long ago, and is mended"
	case s.Family == "history" && f.present && c.mends:
		return "mended what was so long ago"
	case s.Family == "history" && t.attempted(f.found):
		return "was done to cure the fault"
	case c.gone && !p.past && s.Danger == "" && f.present:
		return "was so, is no longer"
	case p.past && !x.pastIn(t, f):
		return "the phrase is about the past"
	case c.past && !p.past && well:
		return "was well before"
	case well && x.hedged(t, f):
		return "is well at times only"
	case !f.present && !f.concept && !f.same && x.lex.g.hanging[c.joint]:
		return "only says when or why something else was"
	case off.plain && !f.concept && f.conf < exactly:
		return "said in passing in other talk"
	case off.command && well:
		return "part of an order to the bot"
	}
	return ""
}

// hedged reports whether what is said to be well is so at times only, or hardly:
// "the lights work now and then", "it only comes on when warm".
func (x *Index) hedged(t *text, f *finding) bool {
	own := func(i int) bool { return slices.ContainsFunc(f.found, func(h hit) bool { return h.token == i }) }
	c := t.clauses[f.clause]
	for i := c.from; i < c.to; i++ {
		if _, n := x.lex.g.seldom.at(t.key, i, len(t.tokens)); n > 0 && !own(i) {
			return true
		}
		if !x.lex.g.is("scarcely", t.tokens[i].text) || own(i) {
			continue
		}
		before := i > c.from && own(i-1) && !t.tokens[i-1].part
		behind := i+1 < c.to && own(i+1) && !t.tokens[i+1].part
		if before && !(i+1 < c.to && t.tokens[i+1].part) || behind {
			return true
		}
	}
	return false
}

// attempted reports whether some of the words tell what was done to cure the fault.
func (t *text) attempted(found []hit) bool {
	for _, h := range found {
		if t.clauses[t.tokens[h.token].seg].attempt {
			return true
		}
	}
	return false
}

// pointsAt reports whether a question takes what it asks about as met: "is this
// smoke dangerous?".
func (x *Index) pointsAt(t *text, f *finding) bool {
	for _, h := range f.found {
		tok := &t.tokens[h.token]
		if h.token > 0 && !tok.part && !tok.light && x.lex.g.pointing[t.tokens[h.token-1].text] && f.present {
			return true
		}
	}
	return false
}

// pastIn reports whether one of the clauses in which words were found is past.
func (x *Index) pastIn(t *text, f *finding) bool {
	for _, h := range f.found {
		if c := t.clauses[t.tokens[h.token].seg]; c.past || c.gone {
			return true
		}
	}
	return false
}

// clashes: one symptom is told once, and present before absent; a symptom
// that excludes one already kept needs words of its own clause.
func (x *Index) clashes(kept []finding, f *finding) string {
	for i := range kept {
		k := &kept[i]
		if k.symptom == f.symptom {
			return "told already"
		}
		if f.present && k.present && (k.clause == f.clause || k.overlaps(f)) && x.excludes(k.symptom, f.symptom) {
			return "cannot be together with a surer one"
		}
	}
	return ""
}

// sayTogether: the same words may say that one symptom is there and another is
// not ("the screen is fine": normal, and not dark), where the knowledge base
// says that they exclude each other.
func (x *Index) sayTogether(a, b *finding) bool {
	switch {
	case a.deniesOutright() || b.deniesOutright():
		return true
	case a.present && b.present:
		return slices.Contains(x.symptoms[a.symptom].Implies, x.symptoms[b.symptom].ID) ||
			slices.Contains(x.symptoms[b.symptom].Implies, x.symptoms[a.symptom].ID)
	}
	return a.present != b.present && x.excludes(a.symptom, b.symptom)
}

// deniesOutright: a pattern was written for the very case that all is well.
func (f *finding) deniesOutright() bool { return f.concept && !f.present && f.same }

// overlaps reports whether two findings go by one word of the message.
func (f *finding) overlaps(g *finding) bool {
	for _, a := range f.found {
		for _, b := range g.found {
			if a.token == b.token {
				return true
			}
		}
	}
	return false
}

func (x *Index) excludes(a, b int) bool { return excludes(x.symptoms[a], x.symptoms[b]) }

// unclear finds a clause of which nothing was understood for sure, and for
// which two or three symptoms are as likely as each other.
func (x *Index) unclear(t *text, found, kept []finding) []string {
	for k := range t.clauses {
		c := t.clauses[k]
		if c.foreign || c.hypothetical || c.gone || slices.ContainsFunc(kept, func(f finding) bool { return f.clause == k }) {
			continue
		}
		var likely []finding
		for _, f := range found {
			if f.clause == k && f.symptom >= 0 && f.present && f.conf >= wonder && f.why == "not sure enough" {
				likely = append(likely, f)
			}
		}
		slices.SortStableFunc(likely, func(a, b finding) int {
			return cmp.Or(cmp.Compare(b.conf, a.conf), cmp.Compare(a.symptom, b.symptom))
		})
		n := 0
		for n < len(likely) && n < 4 && likely[n].conf >= likely[0].conf-wonderGap {
			n++
		}
		if n == 2 || n == 3 {
			ids := make([]string, n)
			for i := range ids {
				ids[i] = x.symptoms[likely[i].symptom].ID
			}
			return ids
		}
	}
	return nil
}
