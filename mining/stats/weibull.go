package stats

import (
	"errors"
	"math"
)

// Life is how long something lasted, or has lasted so far.
type Life struct {
	Time   float64
	Failed bool // false: still running at Time (right-censored)
	Count  int  // how many such; 0 counts as 1
}

func (l Life) weight() float64 { return float64(max(1, l.Count)) }

// Weibull is a fitted distribution of life, F(t) = 1 - exp(-(t/Scale)^Shape).
// A shape below 1 means early failures, about 1 chance, above 1 wear.
type Weibull struct {
	Shape, Scale           float64
	ShapeRange, ScaleRange Interval
	LogLikelihood          float64
	Failures, Running      int
}

// ErrFewFailures is returned when the failures cannot carry a fit: fewer than
// two, or all at one time.
var ErrFewFailures = errors.New("fitting a life: at least two failures at different times are needed")

// FitWeibull finds the likeliest Shape β and Scale η with those still running
// taken as right-censored. β solves
//
//	Σ t^β ln t / Σ t^β - 1/β - (Σ over failures of ln t) / r = 0
//
// (sums over all, r failures), and η^β = Σ t^β / r. The intervals are normal
// ones on ln β and ln η, from the observed information, and therefore
// approximate: with few failures they cover somewhat less than level.
//
// Source: NIST/SEMATECH e-Handbook 8.4.1.3; W. Q. Meeker, L. A. Escobar,
// Statistical Methods for Reliability Data (1998), chapter 8.
func FitWeibull(lives []Life, level float64) (Weibull, error) {
	var w Weibull
	var r, sumLog, longest float64
	first, spread := 0.0, false
	for _, l := range lives {
		if !(l.Time > 0) || math.IsInf(l.Time, 1) {
			continue
		}
		longest = max(longest, l.Time)
		if !l.Failed {
			w.Running += max(1, l.Count)
			continue
		}
		w.Failures += max(1, l.Count)
		r += l.weight()
		sumLog += l.weight() * math.Log(l.Time)
		if first == 0 {
			first = l.Time
		}
		spread = spread || l.Time != first
	}
	if w.Failures < 2 || (!spread && longest == first) {
		return w, ErrFewFailures
	}
	// Logarithms of times in units of the longest, so that powers do not overflow.
	x, n := make([]float64, 0, len(lives)), make([]float64, 0, len(lives))
	for _, l := range lives {
		if l.Time > 0 && !math.IsInf(l.Time, 1) {
			x, n = append(x, math.Log(l.Time/longest)), append(n, l.weight())
		}
	}
	meanLog := sumLog/r - math.Log(longest)
	slope := func(b float64) (eq, sum float64) {
		var s0, s1 float64
		for i, v := range x {
			p := n[i] * math.Exp(b*v)
			s0, s1 = s0+p, s1+p*v
		}
		return s1/s0 - 1/b - meanLog, s0
	}
	low, high := 1e-3, 1.0
	for v, _ := slope(high); v < 0; v, _ = slope(high) {
		if low, high = high, high*2; high > 1e4 {
			return w, ErrFewFailures
		}
	}
	for high-low > 1e-12*high {
		mid := (low + high) / 2
		if v, _ := slope(mid); v < 0 {
			low = mid
		} else {
			high = mid
		}
	}
	w.Shape = (low + high) / 2
	_, sum := slope(w.Shape)
	w.Scale = longest * math.Pow(sum/r, 1/w.Shape)
	w.intervals(lives, level)
	return w, nil
}

// intervals works with u = ln η and s = ln β, in which the log-likelihood of a
// life is d (s + v - ln t) - e^v with v = β (ln t - u), d one for a failure.
func (w *Weibull) intervals(lives []Life, level float64) {
	u := math.Log(w.Scale)
	var uu, us, ss float64
	for _, l := range lives {
		if !(l.Time > 0) || math.IsInf(l.Time, 1) {
			continue
		}
		v := w.Shape * (math.Log(l.Time) - u)
		z, d, n := math.Exp(v), 0.0, l.weight()
		if l.Failed {
			d = 1
			w.LogLikelihood += n * (math.Log(w.Shape) + v - math.Log(l.Time))
		}
		w.LogLikelihood -= n * z
		uu += n * w.Shape * w.Shape * z
		us -= n * w.Shape * z * v
		ss += n * (z*v*v - (d-z)*v)
	}
	det := uu*ss - us*us
	q := normalQuantile((1 + level) / 2)
	around := func(x, variance float64) Interval {
		f := math.Exp(q * math.Sqrt(variance))
		return Interval{x / f, x * f}
	}
	w.ScaleRange, w.ShapeRange = around(w.Scale, ss/det), around(w.Shape, uu/det)
}

// Survives is the share that lasts beyond t.
func (w Weibull) Survives(t float64) float64 { return math.Exp(-math.Pow(t/w.Scale, w.Shape)) }

// Reached is the time by which the share p has failed.
func (w Weibull) Reached(p float64) float64 {
	return w.Scale * math.Pow(-math.Log1p(-p), 1/w.Shape)
}

// Mean is the mean life.
func (w Weibull) Mean() float64 { return w.Scale * math.Gamma(1+1/w.Shape) }

// Deviation is the standard deviation of the life.
func (w Weibull) Deviation() float64 {
	g := math.Gamma(1 + 1/w.Shape)
	return w.Scale * math.Sqrt(math.Gamma(1+2/w.Shape)-g*g)
}
