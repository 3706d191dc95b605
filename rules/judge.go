package rules

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"triagebot/kb"
)

// Sure is the probability from which a reading counts as being in a window;
// below it, it is too close to call. It is the usual 95 % of a conformity
// statement (ILAC-G8).
const Sure = 0.95

// Reading is a number as the owner gave it, in the base unit of its check.
type Reading struct {
	Value    float64 // +Inf for overload
	Unit     string
	Decimals int     // places written, -1 when not known
	Spread   float64 // half the range the owner gave, or how far "about" may be off
}

// WindowProb is how likely a reading lies in a window.
type WindowProb struct {
	ID          string  `json:"id"`
	Probability float64 `json:"probability"`
}

// Judgement is how a reading falls in the windows of its check.
type Judgement struct {
	Windows     []WindowProb `json:"windows"`     // in the order of the check
	Uncertainty float64      `json:"uncertainty"` // standard uncertainty of the reading
	Window      string       `json:"window"`      // the likeliest
	Close       bool         `json:"close"`       // too close to call: Window is likeliest but not sure
	Odd         bool         `json:"odd"`         // no cause can produce this figure
	OddReason   string       `json:"odd_reason,omitempty"`
}

// Soft returns the probabilities in the order of the check's windows, as
// evidence for [Belief.Observe]. Of an odd reading it is nil.
func (j Judgement) Soft() []float64 {
	if j.Odd {
		return nil
	}
	e := make([]float64, len(j.Windows))
	for i, w := range j.Windows {
		e[i] = w.Probability
	}
	return e
}

// Uncertainty is the standard uncertainty of a reading: the meter's limits
// ±(percent of reading + digits) and the half-step of the last written place
// are rectangular, a/√3 (JCGM 100, 4.3.7), and so is a spread the owner gave.
func Uncertainty(m kb.Meter, r Reading) float64 {
	y := math.Abs(r.Value)
	if math.IsInf(y, 0) {
		return 0
	}
	limits := m.Percent/100*y + m.Digits*step(m.Counts, y)
	rounding := 0.0
	if r.Decimals >= 0 {
		rounding = 0.5 * math.Pow(10, -float64(r.Decimals))
	}
	return math.Sqrt(limits*limits+rounding*rounding+r.Spread*r.Spread) / math.Sqrt(3)
}

// step is the value of one count of an autoranging display: with 6000 counts
// 5.31 V is shown in steps of 1 mV and 42.0 V in steps of 10 mV.
func step(counts, y float64) float64 {
	if counts <= 0 {
		return 0
	}
	full := counts / 1000
	s := 0.001
	for full < y && s < 1e6 {
		full, s = full*10, s*10
	}
	return s
}

// Judge says how a reading falls in the windows of a check: the probability of
// each window is the integral over it of the normal distribution that the
// reading stands for (JCGM 106, clause 7). A reading beyond what is possible by more
// than twice its uncertainty is odd.
func (s *Scope) Judge(c *kb.Check, r Reading) (Judgement, error) {
	if len(c.Windows) == 0 {
		return Judgement{}, fmt.Errorf("check %q takes no figure: it is a %s", c.ID, c.Kind)
	}
	if math.IsNaN(r.Value) {
		return Judgement{}, fmt.Errorf("judging check %q: the reading is not a number", c.ID)
	}
	u := Uncertainty(s.kb.About.Meters[c.Unit], r)
	j := Judgement{Uncertainty: u}
	if c.Possible != nil {
		lo, err := s.Number(c.Possible.From)
		if err != nil {
			return j, fmt.Errorf("check %q, possible: %w", c.ID, err)
		}
		hi, err := s.Number(c.Possible.To)
		if err != nil {
			return j, fmt.Errorf("check %q, possible: %w", c.ID, err)
		}
		over := math.IsInf(r.Value, 1) && hi < 1e9
		if r.Value < lo-2*u || over || (!math.IsInf(r.Value, 0) && r.Value > hi+2*u) {
			j.Odd, j.OddReason = true, s.oddReason(c, r.Value)
		}
	}
	edges := make([]limit, 0, len(c.Windows)+1)
	for i, w := range c.Windows {
		if i == 0 {
			l, err := s.limit(w.From)
			if err != nil {
				return j, fmt.Errorf("check %q, window %q: %w", c.ID, w.ID, err)
			}
			edges = append(edges, l)
		}
		l, err := s.limit(w.To)
		if err != nil {
			return j, fmt.Errorf("check %q, window %q: %w", c.ID, w.ID, err)
		}
		edges = append(edges, l)
	}
	best := 0.0
	for i, w := range c.Windows {
		hi, lo := 1.0, 0.0
		// The outer edges are those of what is possible, judged above: beyond
		// them a reading belongs to the outer window.
		if i > 0 {
			lo = below(edges[i], r.Value, u)
		}
		if i < len(c.Windows)-1 {
			hi = below(edges[i+1], r.Value, u)
		}
		p := math.Max(0, hi-lo)
		j.Windows = append(j.Windows, WindowProb{ID: w.ID, Probability: p})
		if p > best {
			best, j.Window = p, w.ID
		}
	}
	j.Close = !j.Odd && best < Sure
	return j, nil
}

// below is the probability that the quantity behind reading y lies below a limit.
func below(l limit, y, u float64) float64 {
	if math.IsInf(y, 1) {
		return 0
	}
	if u = math.Hypot(u, l.u); u == 0 {
		if y < l.value {
			return 1
		}
		return 0
	}
	return Conformity(math.Inf(-1), l.value, y, u)
}

// Conformity is the probability that a quantity measured as y with standard
// uncertainty u lies between lo and hi, either of which may be infinite
// (JCGM 106, equations of 7.2 to 7.4).
func Conformity(lo, hi, y, u float64) float64 {
	n := distuv.UnitNormal
	return n.CDF((hi-y)/u) - n.CDF((lo-y)/u)
}

func (s *Scope) oddReason(c *kb.Check, value float64) string {
	for _, o := range c.Odd {
		if ok, err := s.Holds(o.When, value); err == nil && ok {
			return o.Say
		}
	}
	return ""
}

// NewReading is a reading of a value written with so many decimals, -1 when
// that is not known.
func NewReading(value float64, overload bool, unit string, decimals int) Reading {
	if overload {
		value = math.Inf(1)
	}
	return Reading{Value: value, Unit: unit, Decimals: decimals}
}

// Overload says whether the meter showed a reading beyond its range.
func (r Reading) Overload() bool { return math.IsInf(r.Value, 1) }
