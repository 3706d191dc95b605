package rehearsal

import (
	"cmp"
	"maps"
	"slices"
)

// Report is what came of a rehearsal.
type Report struct {
	V     int    `json:"v"`
	KB    string `json:"kb"`
	Seeds int    `json:"seeds"`
	Seed  uint64 `json:"seed"`

	Total   Tally   `json:"total"`   // owners with one listed fault
	Sorts   []Tally `json:"sorts"`   // by sort of case
	Kits    []Tally `json:"kits"`    // single faults
	Causes  []Tally `json:"causes"`  // single faults, worst first
	Manners []Tally `json:"manners"` // single faults, by owner

	Reasons    []Count     `json:"reasons"` // of single faults, most frequent first
	Yardsticks *Yardsticks `json:"yardsticks,omitempty"`
	Changes    []Change    `json:"changes,omitempty"`
	Talks      []Talk      `json:"talks"`
}

// Tally counts the talks of a group.
type Tally struct {
	Name      string `json:"name"`
	Talks     int    `json:"talks"`
	Unnoticed int    `json:"unnoticed"` // no talk: the fault does not show
	Stopped   int    `json:"stopped"`   // for a danger told

	// Judged are the rest but for those apart; the shares are of them.
	Judged int   `json:"judged"`
	Right  Share `json:"right"`
	Wrong  Share `json:"wrong"`
	Both   Share `json:"named_both"`
	Handed Share `json:"handed_over"`

	// Apart are owners who cannot part the cause from a rival.
	Apart      int `json:"apart"`
	ApartRight int `json:"apart_right"` // both named and handed over, or cured by a try
	ApartWrong int `json:"apart_wrong"` // guesses among them

	Questions Spread `json:"questions"` // of those that ended right
	Messages  Spread `json:"messages"`
	Minutes   Spread `json:"minutes"`

	DangerTold   int `json:"danger_told"`
	DangerMissed int `json:"danger_missed"`
	Unwarned     int `json:"unwarned"` // cautions due and not said
	Twice        int `json:"twice"`
	Tries        int `json:"tries"` // cheap ones in vain
	Misheard     int `json:"misheard"`
	NotHeard     int `json:"not_heard"`
	Missed       int `json:"missed"`   // symptoms told and not taken in
	Invented     int `json:"invented"` // symptoms taken in and not there

	Reasons []Count `json:"reasons,omitempty"`
}

// Count is how often something occurred, with the seeds of a few occurrences.
type Count struct {
	Name  string   `json:"name"`
	N     int      `json:"n"`
	Cases []string `json:"cases,omitempty"`
}

// Summarise counts talks.
func Summarise(talks []Talk) *Report {
	r := &Report{V: 1, Talks: talks}
	var single []Talk
	for _, t := range talks {
		if t.Sort == Single {
			single = append(single, t)
		}
	}
	r.Total = tally("all", single)
	r.Sorts = grouped(talks, func(t Talk) string { return string(t.Sort) })
	r.Kits = grouped(single, func(t Talk) string { return t.Kit })
	r.Causes = grouped(single, Talk.Name)
	slices.SortStableFunc(r.Causes, func(a, b Tally) int {
		return cmp.Or(cmp.Compare(a.Right.Is-a.Wrong.Is, b.Right.Is-b.Wrong.Is), cmp.Compare(b.Judged, a.Judged))
	})
	r.Manners = grouped(single, func(t Talk) string { return t.Manner })
	r.Reasons = reasons(single)
	return r
}

// grouped tallies by a key, in the order of the keys.
func grouped(talks []Talk, key func(Talk) string) []Tally {
	groups := map[string][]Talk{}
	for _, t := range talks {
		groups[key(t)] = append(groups[key(t)], t)
	}
	var out []Tally
	for _, k := range slices.Sorted(maps.Keys(groups)) {
		out = append(out, tally(k, groups[k]))
	}
	return out
}

func tally(name string, talks []Talk) Tally {
	x := Tally{Name: name, Talks: len(talks), Reasons: reasons(talks)}
	ends := map[Outcome]int{}
	var questions, messages, minutes []float64
	for _, t := range talks {
		x.DangerTold += len(t.DangerTold)
		x.DangerMissed += len(t.DangerMissed)
		x.Unwarned += len(t.Unwarned)
		x.Twice += len(t.Twice)
		x.Tries += len(t.Tries)
		x.Misheard += len(t.Misheard)
		x.NotHeard += len(t.NotHeard)
		x.Missed += len(t.Missed)
		x.Invented += len(t.Invented)
		if t.Outcome == Right {
			questions = append(questions, float64(t.Questions))
			messages = append(messages, float64(t.Messages))
			minutes = append(minutes, t.Minutes)
		}
		switch {
		case t.Outcome == Unnoticed:
			x.Unnoticed++
		case t.Outcome == Stopped:
			x.Stopped++
		case t.Apart:
			x.Apart++
			switch t.Outcome {
			case Right, Both:
				x.ApartRight++
			case Wrong:
				x.ApartWrong++
			}
		default:
			x.Judged++
			ends[t.Outcome]++
		}
	}
	x.Right, x.Wrong = shareOf(ends[Right], x.Judged), shareOf(ends[Wrong], x.Judged)
	x.Both, x.Handed = shareOf(ends[Both], x.Judged), shareOf(ends[Handed]+ends[Endless], x.Judged)
	x.Questions, x.Messages, x.Minutes = spreadOf(questions), spreadOf(messages), spreadOf(minutes)
	return x
}

// shownCases is how many cases stand for a reason.
const shownCases = 4

func reasons(talks []Talk) []Count {
	at := map[string]int{}
	var out []Count
	for _, t := range talks {
		if t.Reason == "" {
			continue
		}
		i, ok := at[t.Reason]
		if !ok {
			i = len(out)
			at[t.Reason] = i
			out = append(out, Count{Name: t.Reason})
		}
		if out[i].N++; len(out[i].Cases) < shownCases {
			out[i].Cases = append(out[i].Cases, t.Case.String())
		}
	}
	slices.SortStableFunc(out, func(a, b Count) int { return cmp.Compare(b.N, a.N) })
	return out
}
