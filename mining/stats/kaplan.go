package stats

import (
	"cmp"
	"math"
	"slices"
)

// Step is one step of a survival curve, at a time when something failed.
type Step struct {
	Time     float64
	AtRisk   int
	Failed   int
	Survives float64
	Range    Interval // 95 %
}

// KaplanMeier estimates the share that survives beyond each time of failure:
// the product of (1 - failed/at risk) up to it. Who stops being watched at the
// time of a failure still counts as at risk. The interval is Greenwood's
// variance on the scale ln(-ln S), which keeps it within 0..1.
//
// Source: E. L. Kaplan, P. Meier, J. Am. Stat. Assoc. 53 (1958) 457; J. D.
// Kalbfleisch, R. L. Prentice, The Statistical Analysis of Failure Time Data.
func KaplanMeier(lives []Life) []Step {
	sorted := slices.Clone(lives)
	slices.SortStableFunc(sorted, func(a, b Life) int { return cmp.Compare(a.Time, b.Time) })
	risk := 0
	for _, l := range sorted {
		risk += max(1, l.Count)
	}
	var steps []Step
	survives, green := 1.0, 0.0
	for i := 0; i < len(sorted); {
		t, failed, gone := sorted[i].Time, 0, 0
		for ; i < len(sorted) && sorted[i].Time == t; i++ {
			n := max(1, sorted[i].Count)
			gone += n
			if sorted[i].Failed {
				failed += n
			}
		}
		if failed > 0 {
			survives *= 1 - float64(failed)/float64(risk)
			green += float64(failed) / (float64(risk) * float64(risk-failed))
			steps = append(steps, Step{t, risk, failed, survives, logLog(survives, green)})
		}
		risk -= gone
	}
	return steps
}

func logLog(s, green float64) Interval {
	if s <= 0 || s >= 1 {
		return Interval{s, s}
	}
	half := normalQuantile(0.975) * math.Sqrt(green) / math.Abs(math.Log(s))
	return Interval{math.Pow(s, math.Exp(half)), math.Pow(s, math.Exp(-half))}
}
