package search

import "triagebot/reading"

// figures are the numbers of a message with the words that are theirs.
type figures struct {
	list   []figure
	groups []int  // of each token: the figure it belongs to, noFigure when to none
	spent  []bool // of each token: it only says how a figure was taken
	named  []bool // of each token: it is a word for what is measured, beside an exact figure
}

// figure is a number that was given, and what a pattern says of it.
type figure struct {
	reading.Quantity
	token int
	check string // of a pattern: the check to which it belongs
	terms int    // of that pattern: the longer one has the number
	torn  bool   // between two checks
}

const noFigure = -1

// figuresIn finds the numbers of a message. What only names something ("the 5 V
// line", "a 48 V bike") is none.
func (x *Index) figuresIn(message string, t *text, kit string) *figures {
	f := &figures{}
	found := reading.FindIn(x.kb.Language, message, "")
	found = found[:min(len(found), maxReadings)]
	if len(found) == 0 || len(t.tokens) == 0 {
		return f
	}
	for _, q := range found {
		if !x.isName(t, q, len(found)) && !(kit != "" && x.standsAlone(t, q)) {
			f.list = append(f.list, figure{Quantity: q, token: x.tokenOf(t, q)})
		}
	}
	f.spent = make([]bool, len(t.tokens))
	f.share(x.lex.g, t)
	f.named = make([]bool, len(t.tokens))
	for i, n := range f.groups {
		f.named[i] = n != noFigure && f.list[n].Decimals > 0 && x.checks.weights[t.tokens[i].literal()] > 1
	}
	return f
}

// standsAlone reports whether a round number with its unit is a clause by
// itself: beside the name of a kit it says what kit it is ("no name kit, 48 V").
func (x *Index) standsAlone(t *text, q reading.Quantity) bool {
	if q.Unit == "" || q.Decimals != 0 || q.Ranged() {
		return false
	}
	c := t.clauses[t.tokens[x.tokenOf(t, q)].seg]
	for i := c.from; i < c.to; i++ {
		tok := &t.tokens[i]
		if !overlaps(tok.word, q) && !tok.light && tok.term != thing {
			return false
		}
	}
	return true
}

// share gives each word the number of its own clause. Of several in one clause
// each has the words behind it, or before it when the clause does not begin
// with a number. A clause without a number hangs on the number before it ("4.1
// when it is open") or leads up to a bare one ("closed: 0.85"); else its words
// are for all.
func (f *figures) share(g *grammar, t *text) {
	f.groups = make([]int, len(t.tokens))
	of := make([][]int, len(t.clauses))
	for i := range f.list {
		k := t.tokens[f.list[i].token].seg
		of[k] = append(of[k], i)
	}
	for k, c := range t.clauses {
		for i := c.from; i < c.to; i++ {
			f.groups[i] = f.ownerIn(t, c, of[k], i)
		}
	}
	for k := len(t.clauses) - 1; k >= 0; k-- {
		if len(of[k]) > 0 {
			continue
		}
		c := t.clauses[k]
		owner := noFigure
		if k+1 < len(of) && len(of[k+1]) == 0 && g.is("joins", t.clauses[k+1].joint) {
			owner = f.groups[t.clauses[k+1].from]
		} else if k+1 < len(of) && len(of[k+1]) == 1 && f.bare(t, t.clauses[k+1], of[k+1][0]) {
			owner = of[k+1][0]
		} else if k > 0 && len(of[k-1]) > 0 && g.is("moment", c.joint) {
			owner = of[k-1][len(of[k-1])-1]
		}
		for i := c.from; i < c.to; i++ {
			f.groups[i] = owner
		}
	}
}

func (f *figures) ownerIn(t *text, c clause, of []int, i int) int {
	if len(of) == 0 {
		return noFigure
	}
	first := c.from
	for first < c.to-1 && (t.tokens[first].cue || t.tokens[first].light) {
		first++
	}
	if first >= f.list[of[0]].token {
		for n := len(of) - 1; n > 0; n-- {
			if i >= f.list[of[n]].token {
				return of[n]
			}
		}
		return of[0]
	}
	for _, n := range of {
		if i <= f.list[n].token {
			return n
		}
	}
	return of[len(of)-1]
}

// bare reports whether a clause has nothing but its number.
func (f *figures) bare(t *text, c clause, n int) bool {
	for i := c.from; i < c.to; i++ {
		if tok := &t.tokens[i]; !overlaps(tok.word, f.list[n].Quantity) && !tok.light && !tok.cue {
			return false
		}
	}
	return true
}

// reachable reports whether a word may speak of figure n: one of its own, one
// that is nobody's, or a part named before it when its own words name none.
func (f *figures) reachable(t *text, n, i int) bool {
	if f.groups[i] == n || f.groups[i] == noFigure {
		return true
	}
	return t.tokens[i].part && i < f.list[n].token && !f.namesPart(t, n)
}

func (f *figures) namesPart(t *text, n int) bool {
	for i, owner := range f.groups {
		if owner == n && t.tokens[i].part && t.tokens[i].term != thing {
			return true
		}
	}
	return false
}

// spend notes that the words of figure n from one to another say how it was taken.
func (f *figures) spend(n, from, to int) {
	for i := from; i < to; i++ {
		if f.groups[i] == n {
			f.spent[i] = true
		}
	}
}

// onlyTaken reports whether what a finding goes by only says how a figure was
// taken: "4.1 wide open" tells of no throttle that is stuck open.
func (f *figures) onlyTaken(t *text, found []hit) bool {
	if len(f.list) == 0 {
		return false
	}
	said := false
	for _, h := range found {
		tok := &t.tokens[h.token]
		if tok.part || tok.light && !tok.pole {
			continue
		}
		if !f.spent[h.token] && !f.named[h.token] {
			return false
		}
		said = true
	}
	return said
}
