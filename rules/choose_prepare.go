package rules

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
)

// Limits that keep the arithmetic sane: a mass that is only rounding dust must
// not meet a cost so large that the dust decides.
const (
	costMost = 1e9
	rowSlack = 1e-6
)

// hunt is a problem laid out for the search, with all scratch memory.
// Hypotheses are sorted by what cures them, so that those of one class (cured
// by the same remedies) lie together; a class is what must be told apart.
type hunt struct {
	handOver float64
	access   []float64

	prob    []float64
	classOf []int32
	classes []huntClass
	cures   []int32 // remedies of all classes, back to back

	checks   []huntCheck
	remedies []huntRemedy
	flat     []float64 // likelihoods of all checks
	rowIDs   []uint64
	overlap  bool // some remedy cures hypotheses of several classes

	order []int32
	sig   []uint64

	searchState
}

// huntClass is a set of hypotheses that the same remedies cure.
type huntClass struct {
	from, to int     // its remedies in hunt.cures
	end      float64 // the cheapest way it can end: its cheapest remedy or the hand-over
}

type huntCheck struct {
	like     []float64 // [hypothesis*outcomes + outcome]
	rowID    []uint64  // per hypothesis; equal ids mean equal rows
	outcomes int
	cost     float64
	opens    uint64
	index    int
}

type huntRemedy struct {
	cost, wrong float64
	index       int
}

// prepare checks the problem and lays it out.
func (h *hunt) prepare(p *Problem) error {
	if p == nil {
		return errors.New("no problem was given")
	}
	if err := p.Valid(); err != nil {
		return err
	}
	h.handOver = min(p.HandOver, costMost)
	h.access = append(h.access[:0], p.Access...)
	h.layRemedies(p)
	if err := h.layHypotheses(p); err != nil {
		return err
	}
	h.layChecks(p)
	h.opened = p.Opened
	return nil
}

// Valid says what makes a problem senseless, such as a cost that is not a
// number or likelihoods that do not sum to one.
func (p *Problem) Valid() error {
	if !amount(p.HandOver) || math.IsInf(p.HandOver, 1) {
		return fmt.Errorf("the cost of handing over is %v; give a finite number, zero or more", p.HandOver)
	}
	if len(p.Access) > 64 {
		return fmt.Errorf("%d covers are given; at most 64 can be told apart", len(p.Access))
	}
	for i, a := range p.Access {
		if !amount(a) {
			return fmt.Errorf("opening cover %d costs %v; give a number, zero or more", i, a)
		}
	}
	for i, c := range p.Checks {
		if !amount(c.Cost) {
			return fmt.Errorf("check %d costs %v; give a number, zero or more", i, c.Cost)
		}
		if c.Opens>>len(p.Access) != 0 {
			return fmt.Errorf("check %d opens covers %b, but only %d covers are given", i, c.Opens, len(p.Access))
		}
		if len(c.Like) != len(p.Prob) {
			return fmt.Errorf("check %d has likelihoods for %d hypotheses; there are %d", i, len(c.Like), len(p.Prob))
		}
		if err := rowsValid(c.Like); err != nil {
			return fmt.Errorf("check %d: %w", i, err)
		}
	}
	for i, r := range p.Remedies {
		if !amount(r.Cost) || !amount(r.Wrong) {
			return fmt.Errorf("remedy %d costs %v, %v when wrong; give numbers, zero or more", i, r.Cost, r.Wrong)
		}
		if len(r.Cures) != len(p.Prob) {
			return fmt.Errorf("remedy %d speaks of %d hypotheses; there are %d", i, len(r.Cures), len(p.Prob))
		}
	}
	return nil
}

// amount says whether a cost makes sense; NaN does not.
func amount(v float64) bool { return v >= 0 }

func rowsValid(like [][]float64) error {
	for i, row := range like {
		if len(row) == 0 || len(row) != len(like[0]) {
			return fmt.Errorf("hypothesis %d has %d outcomes; the first has %d", i, len(row), len(like[0]))
		}
		sum := 0.0
		for _, l := range row {
			if !(l >= 0) {
				return fmt.Errorf("hypothesis %d has likelihood %v; give numbers from 0 to 1", i, l)
			}
			sum += l
		}
		if !(math.Abs(sum-1) <= rowSlack) {
			return fmt.Errorf("the likelihoods of hypothesis %d sum to %v; they must sum to 1", i, sum)
		}
	}
	return nil
}

// layRemedies keeps the remedies that can be better than handing over at once:
// carrying one out that costs as much never is.
func (h *hunt) layRemedies(p *Problem) {
	h.remedies = h.remedies[:0]
	for i, r := range p.Remedies {
		if r.Cost < h.handOver {
			h.remedies = append(h.remedies, huntRemedy{cost: r.Cost, wrong: min(r.Wrong, costMost), index: i})
		}
	}
}

// layHypotheses keeps what is likely enough to matter, in an order that does
// not depend on how the caller numbered it, and finds the classes.
func (h *hunt) layHypotheses(p *Problem) error {
	total := 0.0
	for i, v := range p.Prob {
		if !amount(v) || math.IsInf(v, 1) {
			return fmt.Errorf("hypothesis %d has probability %v; give numbers from 0 to 1", i, v)
		}
		total += v
	}
	if !(total > 0) || math.IsInf(total, 1) {
		return fmt.Errorf("the probabilities sum to %v; some hypothesis must be possible", total)
	}
	h.order = h.order[:0]
	for i, v := range p.Prob {
		if v > 0 {
			h.order = append(h.order, int32(i))
		}
	}
	words := h.signatures(p)
	slices.SortFunc(h.order, func(a, b int32) int { return h.compare(p, words, a, b) })

	h.prob, h.classOf, h.classes, h.cures = h.prob[:0], h.classOf[:0], h.classes[:0], h.cures[:0]
	for i, o := range h.order {
		if i == 0 || !slices.Equal(h.signature(words, o), h.signature(words, h.order[i-1])) {
			h.addClass(words, o)
		}
		h.prob = append(h.prob, p.Prob[o]/total)
		h.classOf = append(h.classOf, int32(len(h.classes)-1))
	}
	h.overlap = false
	count := make([]int, len(h.remedies))
	for _, r := range h.cures {
		count[r]++
		h.overlap = h.overlap || count[r] > 1
	}
	return nil
}

// signatures writes which remedies cure each hypothesis, a bit each.
func (h *hunt) signatures(p *Problem) (words int) {
	words = (len(h.remedies) + 63) / 64
	h.sig = slices.Grow(h.sig[:0], words*len(p.Prob))[:words*len(p.Prob)]
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
	return h.sig[int(hyp)*words : int(hyp+1)*words]
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

func (h *hunt) addClass(words int, hyp int32) {
	from := len(h.cures)
	end := h.handOver
	for r, rem := range h.remedies {
		if h.sig[int(hyp)*words+r/64]&(1<<(r%64)) != 0 {
			h.cures = append(h.cures, int32(r))
			end = min(end, rem.cost)
		}
	}
	h.classes = append(h.classes, huntClass{from: from, to: len(h.cures), end: end})
}

// layChecks copies the likelihoods into one block, in the order of the
// hypotheses. A check that cannot be afforded is left out.
func (h *hunt) layChecks(p *Problem) {
	h.checks, h.flat, h.rowIDs = h.checks[:0], h.flat[:0], h.rowIDs[:0]
	size := 0
	for _, c := range p.Checks {
		size += len(h.order) * len(c.Like[0])
	}
	h.flat = slices.Grow(h.flat, size)
	h.rowIDs = slices.Grow(h.rowIDs, len(h.order)*len(p.Checks))
	for i, c := range p.Checks {
		if c.Cost >= h.handOver {
			continue
		}
		from, ids := len(h.flat), len(h.rowIDs)
		for _, o := range h.order {
			id := uint64(14695981039346656037)
			for _, l := range c.Like[o] {
				id = (id ^ math.Float64bits(l)) * 1099511628211
				id ^= id >> 29
			}
			h.flat = append(h.flat, c.Like[o]...)
			h.rowIDs = append(h.rowIDs, id)
		}
		h.checks = append(h.checks, huntCheck{
			like: h.flat[from:], rowID: h.rowIDs[ids:], outcomes: len(c.Like[0]),
			cost: c.Cost, opens: c.Opens, index: i,
		})
	}
}
