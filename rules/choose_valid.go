package rules

import (
	"errors"
	"fmt"
	"math"
)

// rowSlack is how far a row of likelihoods may be from summing to one.
const rowSlack = 1e-6

// mostCovers is how many covers the bits of a check can name.
const mostCovers = 64

// Valid says what makes a problem senseless, such as a cost that is not a
// number or likelihoods that do not sum to one. It is nil for a sound problem.
func (p *Problem) Valid() error {
	if !amount(p.HandOver) || math.IsInf(p.HandOver, 1) {
		return fmt.Errorf("handing over costs %v; give a finite number, zero or more", p.HandOver)
	}
	if err := p.probabilitiesValid(); err != nil {
		return err
	}
	if len(p.Access) > mostCovers {
		return fmt.Errorf("%d covers are given; at most %d can be told apart", len(p.Access), mostCovers)
	}
	for i, a := range p.Access {
		if !amount(a) {
			return fmt.Errorf("opening cover %d costs %v; give a number, zero or more", i, a)
		}
	}
	for i, c := range p.Checks {
		if err := p.checkValid(c); err != nil {
			return fmt.Errorf("check %d: %w", i, err)
		}
	}
	for i, r := range p.Remedies {
		if !amount(r.Cost) || !amount(r.Wrong) {
			return fmt.Errorf("remedy %d costs %v, and %v when it is wrong; give numbers, zero or more", i, r.Cost, r.Wrong)
		}
		if len(r.Cures) != len(p.Prob) {
			return fmt.Errorf("remedy %d speaks of %d hypotheses; there are %d", i, len(r.Cures), len(p.Prob))
		}
	}
	return nil
}

// amount says whether a cost or a probability makes sense; NaN does not.
func amount(v float64) bool { return v >= 0 }

func (p *Problem) probabilitiesValid() error {
	sum := 0.0
	for i, v := range p.Prob {
		if !amount(v) || math.IsInf(v, 1) {
			return fmt.Errorf("hypothesis %d has probability %v; give a number from 0 to 1", i, v)
		}
		sum += v
	}
	if sum == 0 {
		return errors.New("no hypothesis has any probability; give at least one that does")
	}
	if math.IsInf(sum, 1) {
		return errors.New("the probabilities sum to infinity; give numbers from 0 to 1")
	}
	return nil
}

func (p *Problem) checkValid(c ProblemCheck) error {
	if !amount(c.Cost) {
		return fmt.Errorf("it costs %v; give a number, zero or more", c.Cost)
	}
	if c.Opens>>len(p.Access) != 0 {
		return fmt.Errorf("it opens covers %b, but only %d covers are given", c.Opens, len(p.Access))
	}
	if len(c.Like) != len(p.Prob) {
		return fmt.Errorf("it has likelihoods for %d hypotheses; there are %d", len(c.Like), len(p.Prob))
	}
	for i, row := range c.Like {
		if len(row) == 0 || len(row) != len(c.Like[0]) {
			return fmt.Errorf("hypothesis %d has %d outcomes, the first has %d; give each the same, at least one", i, len(row), len(c.Like[0]))
		}
		sum := 0.0
		for _, l := range row {
			if !amount(l) {
				return fmt.Errorf("hypothesis %d has likelihood %v; give a number from 0 to 1", i, l)
			}
			sum += l
		}
		if !(math.Abs(sum-1) <= rowSlack) {
			return fmt.Errorf("the likelihoods of hypothesis %d sum to %v; they must sum to one", i, sum)
		}
	}
	return nil
}
