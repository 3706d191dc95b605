package mining

import (
	"cmp"
	"maps"
	"slices"

	"triagebot/mining/stats"
)

// All stands for all kits together; Unknown for owners whose kit was not known.
const (
	All     = "(all)"
	Unknown = "(unknown)"
)

// Report is what is shown. A count that must not be seen is nil, and so is
// what could be worked back to it. Lists are never nil.
type Report struct {
	V         int          `json:"v"`
	Cases     int          `json:"cases"`
	Demo      bool         `json:"demo"` // at least one record is invented
	From      Day          `json:"from"`
	To        Day          `json:"to"`
	Least     int          `json:"least"` // groups below this are not shown
	Level     float64      `json:"level"` // of intervals
	Rules     []string     `json:"rules"` // versions of the rules that the cases were judged by
	Talks     []Talk       `json:"talks"`
	Counts    []Count      `json:"counts"`
	Pareto    []Rank       `json:"pareto"`
	Checks    []CheckUse   `json:"checks"`
	Readings  []Readings   `json:"readings"`
	Unused    Unused       `json:"unused"`
	Misled    []Misled     `json:"misled"`
	Confusion []Confused   `json:"confusion"`
	Rising    Rising       `json:"rising"`
	Batches   Batches      `json:"batches"`
	Lives     []PartLife   `json:"lives"`
	Wording   WordingFound `json:"wording"`
}

// Share is x of n with its Wilson interval.
type Share struct {
	N     *int            `json:"n"`
	Of    *int            `json:"of"`
	Share *float64        `json:"share"`
	Range *stats.Interval `json:"range"`
}

// Talk is how talks about one kit went.
type Talk struct {
	Kit       string `json:"kit"`
	Solved    Share  `json:"solved"` // without a person
	Questions Middle `json:"questions"`
	Minutes   Middle `json:"minutes"`
}

// Middle describes a distribution; nil where there are too few.
type Middle struct {
	Mean   *float64 `json:"mean"`
	Median *float64 `json:"median"`
	P90    *float64 `json:"p90"`
}

// NewReport works out all statistics. The same aggregate and options give the
// same report.
func NewReport(a *Aggregate, o Options) (*Report, error) {
	o, err := o.filled(a)
	if err != nil {
		return nil, err
	}
	r := &Report{
		V: 1, Cases: a.n, Demo: a.demo > 0, From: a.first, To: a.last, Least: o.Least, Level: o.Level,
		Rules: slices.Sorted(maps.Keys(a.versions)),
	}
	if r.Rules == nil {
		r.Rules = []string{}
	}
	r.Talks = a.talksReport(o)
	r.Counts, r.Pareto = a.countsReport(o)
	r.Checks, r.Readings = a.checksReport(o), a.readingsReport(o)
	r.Unused = a.unused(o)
	r.Misled, r.Confusion = a.confusionReport(o)
	if r.Rising, err = a.rising(o); err != nil {
		return nil, err
	}
	r.Batches = a.batchesReport(o)
	r.Lives = a.lives(o)
	r.Wording = a.wordingReport(o)
	return r, nil
}

func (o Options) share(x, n int) Share {
	if !showable(x, n, o.Least) {
		return Share{}
	}
	p, w := float64(x)/float64(n), stats.Wilson(x, n, o.Level)
	return Share{&x, &n, &p, &w}
}

func (o Options) middle(t *stats.Tally) Middle {
	if t.N() < o.Least {
		return Middle{}
	}
	mean, median, p90 := t.Mean(), t.Quantile(0.5), t.Quantile(0.9)
	return Middle{&mean, &median, &p90}
}

func kitName(kit string) string { return cmp.Or(kit, Unknown) }

func (a *Aggregate) talksReport(o Options) []Talk {
	list := []Talk{}
	kits := slices.Sorted(maps.Keys(a.talks))
	table := make([][]int, len(kits))
	var all talkCounts
	all.reasons = map[string]int{}
	for i, kit := range kits {
		t := a.talks[kit]
		table[i] = []int{t.solved, t.cases - t.solved}
		all.merge(t)
	}
	if len(kits) == 0 {
		return list
	}
	list = append(list, Talk{All, o.share(all.solved, all.cases), o.middle(&all.questions), o.middle(&all.minutes)})
	hidden := hide(table, nil, o.Least)
	for i, kit := range kits {
		t := a.talks[kit]
		row := Talk{Kit: kitName(kit)}
		if !hidden[i][0] && !hidden[i][1] {
			row.Solved = o.share(t.solved, t.cases)
		}
		row.Questions, row.Minutes = o.middle(&t.questions), o.middle(&t.minutes)
		list = append(list, row)
	}
	return list
}
