package rehearsal

import (
	"fmt"
	"slices"
)

// Change is what became different for a cause between two rehearsals of the
// same owners.
type Change struct {
	Cause  string   `json:"cause"`
	Better []string `json:"better"` // cases, each with both outcomes
	Worse  []string `json:"worse"`
	Other  []string `json:"other"` // as good, but by another way or after more or fewer questions
	// Questions is the change of the sum over talks that ended right in both.
	Questions int `json:"questions"`
}

// worth ranks the ends of a talk.
func worth(t Talk) int {
	switch {
	case t.Apart && t.Outcome == Both, t.Outcome == Right, t.Outcome == Stopped, t.Outcome == Unnoticed:
		return 3
	case t.Outcome == Both:
		return 2
	case t.Outcome == Handed:
		return 1
	}
	return 0
}

// Compare lists, per cause, what a change of the rules did. The same cases are
// paired; a case that only one of the two has is passed over.
func Compare(before, after []Talk) []Change {
	old := map[string]Talk{}
	for _, t := range before {
		old[t.Case.String()] = t
	}
	at := map[string]int{}
	var out []Change
	for _, t := range after {
		o, ok := old[t.Case.String()]
		if !ok {
			continue
		}
		asked := 0
		if t.Outcome == Right && o.Outcome == Right {
			asked = t.Questions - o.Questions
		}
		if t.Outcome == o.Outcome && t.How == o.How && asked == 0 {
			continue
		}
		i, known := at[t.Name()]
		if !known {
			i = len(out)
			at[t.Name()] = i
			out = append(out, Change{Cause: t.Name()})
		}
		c := &out[i]
		c.Questions += asked
		line := fmt.Sprintf("%s seed %d: %s (%s), was %s (%s)", t.Kit, t.Seed, t.Outcome, t.How, o.Outcome, o.How)
		switch a, b := worth(t), worth(o); {
		case a > b:
			c.Better = append(c.Better, line)
		case a < b:
			c.Worse = append(c.Worse, line)
		case asked != 0 && t.How == o.How:
			c.Other = append(c.Other, fmt.Sprintf("%s seed %d: %s after %d questions, was %d", t.Kit, t.Seed, t.How, t.Questions, o.Questions))
		default:
			c.Other = append(c.Other, line)
		}
	}
	slices.SortStableFunc(out, func(a, b Change) int {
		return len(b.Worse) + len(b.Better) - len(a.Worse) - len(a.Better)
	})
	return out
}
