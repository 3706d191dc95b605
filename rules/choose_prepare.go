package rules

import (
	"cmp"
	"errors"
	"slices"
)

// costMost keeps the arithmetic sane: rounding dust in a probability must not
// meet a cost so large that the dust decides.
const costMost = 1e9

// hunt is a problem laid out for the search, with all scratch memory, so that
// a choice allocates next to nothing.
//
// A class is a set of hypotheses that the same remedies cure: classes are what
// must be told apart, hypotheses within one need not be. Hypotheses are sorted
// by class, so that those of one class lie together.
type hunt struct {
	handOver float64
	access   []float64
	opened   uint64
	prob     []float64
	classOf  []int32
	classes  []huntClass
	cures    []int32 // remedies of all classes, back to back
	remedies []huntRemedy
	checks   []huntCheck
	overlap  bool // some class has more than one remedy

	rows    []float64 // distinct likelihood rows of all checks, back to back
	rowOf   []int32
	unusual []int32
	rowLogs []float64
	order   []int32
	sig     []uint64

	huntSearch
}

type huntClass struct {
	from, to int     // its remedies in hunt.cures
	end      float64 // the cheapest way it can end: its cheapest remedy, or handing over
}

type huntRemedy struct {
	cost, wrong float64
	index       int // in the problem
}

// huntCheck keeps likelihoods by distinct row, because most causes leave most
// checks as they usually are: the work is then in the few that do not.
type huntCheck struct {
	rows      []float64
	rowOf     []int32   // per hypothesis, where its row begins in rows
	usual     int32     // where the commonest row begins
	usualLogs []float64 // of the usual row, l log l
	unusual   []int32   // hypotheses with another row
	outcomes  int
	cost      float64
	opens     uint64
	index     int // in the problem
}

// prepare checks the problem and lays it out.
func (h *hunt) prepare(p *Problem) error {
	if p == nil {
		return errors.New("no problem is given; give one with at least one hypothesis")
	}
	if err := p.Valid(); err != nil {
		return err
	}
	h.handOver = min(p.HandOver, costMost)
	h.access = append(h.access[:0], p.Access...)
	h.opened = p.Opened
	h.layRemedies(p)
	h.layHypotheses(p)
	h.layChecks(p)
	return nil
}

// layRemedies keeps the remedies that can be better than handing over at once:
// one that costs as much by itself never is.
func (h *hunt) layRemedies(p *Problem) {
	h.remedies = h.remedies[:0]
	for i, r := range p.Remedies {
		if r.Cost < h.handOver {
			h.remedies = append(h.remedies, huntRemedy{cost: r.Cost, wrong: min(r.Wrong, costMost), index: i})
		}
	}
}

// layHypotheses keeps what is possible, in an order that does not depend on
// how the caller numbered it, and finds the classes.
func (h *hunt) layHypotheses(p *Problem) {
	h.order = h.order[:0]
	sum := 0.0
	for i, v := range p.Prob {
		if v > 0 {
			h.order = append(h.order, int32(i))
		}
	}
	words := h.sign(p)
	slices.SortFunc(h.order, func(a, b int32) int { return h.compare(p, words, a, b) })
	for _, o := range h.order {
		sum += p.Prob[o]
	}
	h.overlap = false
	h.prob, h.classOf, h.classes, h.cures = h.prob[:0], h.classOf[:0], h.classes[:0], h.cures[:0]
	for i, o := range h.order {
		if i == 0 || !slices.Equal(h.signature(words, o), h.signature(words, h.order[i-1])) {
			h.addClass(h.signature(words, o))
		}
		h.prob = append(h.prob, p.Prob[o]/sum)
		h.classOf = append(h.classOf, int32(len(h.classes)-1))
	}
}

// sign writes down which remedies cure each hypothesis, a bit each.
func (h *hunt) sign(p *Problem) (words int) {
	words = (len(h.remedies) + 63) / 64
	h.sig = resized(h.sig, words*len(p.Prob))
	clear(h.sig)
	for r, rem := range h.remedies {
		for i, cures := range p.Remedies[rem.index].Cures {
			if cures {
				h.sig[i*words+r/64] |= 1 << (r % 64)
			}
		}
	}
	return words
}

func (h *hunt) signature(words int, hyp int32) []uint64 {
	return h.sig[int(hyp)*words : (int(hyp)+1)*words]
}

func (h *hunt) compare(p *Problem, words int, a, b int32) int {
	if c := slices.Compare(h.signature(words, a), h.signature(words, b)); c != 0 {
		return c
	}
	if c := cmp.Compare(p.Prob[b], p.Prob[a]); c != 0 {
		return c
	}
	for _, check := range p.Checks {
		if c := slices.Compare(check.Like[a], check.Like[b]); c != 0 {
			return c
		}
	}
	return 0
}

func (h *hunt) addClass(signature []uint64) {
	c := huntClass{from: len(h.cures), end: h.handOver}
	for r, rem := range h.remedies {
		if signature[r/64]>>(r%64)&1 == 1 {
			h.cures = append(h.cures, int32(r))
			c.end = min(c.end, rem.cost)
		}
	}
	c.to = len(h.cures)
	h.overlap = h.overlap || c.to-c.from > 1
	h.classes = append(h.classes, c)
}

// rowsCompared bounds the search for equal rows; with more distinct rows than
// that there is little to be saved.
const rowsCompared = 12

// layChecks copies the likelihoods in the order of the hypotheses, each
// distinct row once. A check that costs as much as handing over is left out.
func (h *hunt) layChecks(p *Problem) {
	h.checks, h.rows, h.rowOf, h.unusual = h.checks[:0], h.rows[:0], h.rowOf[:0], h.unusual[:0]
	h.rowLogs = h.rowLogs[:0]
	size := 0
	for _, c := range p.Checks {
		size += len(h.order) * len(c.Like[0])
	}
	h.rows = slices.Grow(h.rows, size)
	h.rowOf = slices.Grow(h.rowOf, len(h.order)*len(p.Checks))
	h.unusual = slices.Grow(h.unusual, len(h.order)*len(p.Checks))
	for i, c := range p.Checks {
		if c.Cost < h.handOver {
			h.layCheck(i, c)
		}
	}
}

func (h *hunt) layCheck(index int, p ProblemCheck) {
	outcomes := len(p.Like[0])
	firstRow, firstHyp, firstUnusual := len(h.rows), len(h.rowOf), len(h.unusual)
	var count [rowsCompared]int
	distinct := 0
	for _, o := range h.order {
		row := p.Like[o]
		k := 0
		for k < min(distinct, rowsCompared) && !slices.Equal(row, h.rows[firstRow+k*outcomes:firstRow+(k+1)*outcomes]) {
			k++
		}
		if k == min(distinct, rowsCompared) {
			k = distinct
			h.rows = append(h.rows, row...)
			distinct++
		}
		if k < rowsCompared {
			count[k]++
		}
		h.rowOf = append(h.rowOf, int32(k*outcomes))
	}
	usual := 0
	for k, n := range count {
		if n > count[usual] {
			usual = k
		}
	}
	c := huntCheck{
		rows: h.rows[firstRow:], rowOf: h.rowOf[firstHyp:], usual: int32(usual * outcomes),
		outcomes: outcomes, cost: p.Cost, opens: p.Opens, index: index,
	}
	for y, at := range c.rowOf {
		if at != c.usual {
			h.unusual = append(h.unusual, int32(y))
		}
	}
	c.unusual = h.unusual[firstUnusual:]
	firstLog := len(h.rowLogs)
	for _, l := range c.rows[c.usual : int(c.usual)+outcomes] {
		h.rowLogs = append(h.rowLogs, xlog(l))
	}
	c.usualLogs = h.rowLogs[firstLog:]
	h.checks = append(h.checks, c)
}

// resized returns a slice of length n that reuses s; what it holds is left over.
func resized[T any](s []T, n int) []T { return slices.Grow(s[:0], n)[:n] }

func cleared[T any](s []T, n int) []T {
	s = resized(s, n)
	clear(s)
	return s
}
