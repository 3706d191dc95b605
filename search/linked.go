package search

// link is how an element follows the one before.
type link uint8

const (
	inClause link = iota // in the same clause, a few words later
	either               // the same, or before
	adjacent             // the next word
	later                // later, if need be in another clause
	anywhere             // near, before or after
)

var links = map[string]link{"~": either, "+": adjacent, "..": later, "&": anywhere}

// How far apart the words of a concept may stand, in words.
const (
	nearBy   = 5
	laterBy  = 14
	aroundBy = 26
)

// linked reports whether b may follow a by the link.
func (m *conceiving) linked(c *concept, l link, a, b stretch) bool {
	switch l {
	case adjacent:
		return b.from == a.to && m.t.tokens[b.from].before == none
	case later:
		return b.from >= a.to && b.from-a.to <= laterBy && m.holdsOver(c, a, b)
	case anywhere:
		return b.from >= a.to && b.from-a.to <= aroundBy && m.overContrast(c, a, b) ||
			b.to <= a.from && a.from-b.to <= aroundBy && m.overContrast(c, b, a)
	case either:
		if b.to <= a.from {
			return m.near(c, b, a)
		}
	}
	return b.from >= a.to && m.near(c, a, b)
}

// holdsOver reports whether b may still be said of a, which stands before it:
// not over a "but", and not when another part comes between as the subject of
// b ("horn fine, motor nothing").
func (m *conceiving) holdsOver(c *concept, a, b stretch) bool {
	if !m.overContrast(c, a, b) {
		return false
	}
	if !m.ofPart(a) || m.ofPart(b) {
		return true
	}
	for i := b.from - 1; i >= a.to && m.t.tokens[i].seg == m.t.tokens[b.from].seg; i-- {
		if tok := &m.t.tokens[i]; tok.part && tok.term != thing {
			return false
		}
	}
	return true
}

func (m *conceiving) overContrast(c *concept, a, b stretch) bool {
	if c.contrast {
		return true
	}
	for k := m.t.tokens[a.to-1].seg + 1; k <= m.t.tokens[b.from].seg; k++ {
		if m.x.lex.g.contrast[m.t.clauses[k].joint] {
			return false
		}
	}
	return true
}

// ofPart reports whether the words name a part.
func (m *conceiving) ofPart(s stretch) bool {
	for i := s.from; i < s.to; i++ {
		if m.t.tokens[i].part && m.t.tokens[i].term != thing {
			return true
		}
	}
	return false
}

// near reports whether a and b stand in one clause with little between: other
// parts only where they are a list of subjects ("horn and lights dead").
func (m *conceiving) near(c *concept, a, b stretch) bool {
	t := m.t
	if b.from-a.to > nearBy {
		return false
	}
	part, said := false, false
	for i := a.to; i < b.from; i++ {
		tok := &t.tokens[i]
		if tok.part && tok.term != thing {
			part = true
		} else if !tok.light && !tok.cue {
			said = true
		}
	}
	if part && said {
		return false
	}
	first, last := t.tokens[a.to-1].seg, t.tokens[b.from].seg
	for k := first + 1; k <= last; k++ {
		if !m.runsOn(k, part, said) {
			return false
		}
	}
	return true
}

// runsOn reports whether clause k goes on about what the clause before was
// about: the items of a list, or "the screen, it is dead".
func (m *conceiving) runsOn(k int, part, said bool) bool {
	c := m.t.clauses[k]
	if c.hard || said {
		return false
	}
	switch c.joint {
	case "", "and", "or", "nor":
		return true
	}
	return false
}

// lacks reports whether a kind that must not stand there does, in one of the
// clauses that the concept touches.
func (m *conceiving) lacks(c *concept) bool {
	if len(c.lacks) == 0 && len(c.far) == 0 {
		return false
	}
	first, last := 1<<30, -1
	for i := range c.elements {
		first = min(first, m.t.tokens[m.taken[i].from].seg)
		last = max(last, m.t.tokens[m.taken[i].to-1].seg)
	}
	for _, kind := range c.lacks {
		for _, s := range m.at[kind] {
			if k := m.t.tokens[s.from].seg; k >= first && k <= last {
				return true
			}
		}
	}
	if first > 0 && !m.t.clauses[first].hard {
		first--
	}
	if last+1 < len(m.t.clauses) && !m.t.clauses[last+1].hard {
		last++
	}
	for _, kind := range c.far {
		for _, s := range m.at[kind] {
			if k := m.t.tokens[s.from].seg; k >= first && k <= last {
				return true
			}
		}
	}
	return false
}
