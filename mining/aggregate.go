package mining

import (
	"hash/fnv"

	"triagebot/mining/stats"
)

// Kind says what a series counts cases of.
type Kind string

// The kinds. Cases counts every case, under the id "".
const (
	Cases    Kind = "case"
	Symptoms Kind = "symptom"
	Causes   Kind = "cause"
	Remedies Kind = "remedy"
	Parts    Kind = "part"
)

// NotFound is the id under which Causes counts cases where none was found, and
// Unconfirmed that of cases that nobody confirmed; with both, the causes of a
// kit add up to its cases.
const (
	NotFound    = "(not found)"
	Unconfirmed = "(not confirmed)"
)

type series struct {
	kind    Kind
	id, kit string
}

// counts is how often one thing was seen, and along what.
type counts struct {
	n        int
	months   map[int]int
	weeks    map[int]int
	distance [len(distanceBands)]int
	age      [len(ageBands)]int
}

// The bands, by their upper ends; the last has none, and place 0 is not known.
var (
	distanceBands = [...]float64{0, 500, 1000, 2000, 4000, 8000, 16000, 0}
	ageBands      = [...]float64{0, 3, 6, 12, 24, 48, 96, 0}
)

func band(bands []float64, v float64) int {
	if !(v > 0) {
		return 0
	}
	for i := 1; i < len(bands)-1; i++ {
		if v < bands[i] {
			return i
		}
	}
	return len(bands) - 1
}

type checkKey struct{ check, kit string }

type checkCounts struct {
	asked, close, odd, overload int
	cannot                      map[string]int // why
	outcomes                    map[string]int
	values                      stats.Tally
	unit                        string
}

type talkCounts struct {
	cases, solved      int
	questions, minutes stats.Tally
	reasons            map[string]int
}

type pair struct{ kit, named, confirmed string }

// batchKey is the cases over one part of bikes built in one month, by their age then.
type batchKey struct {
	kit   string
	built int
	band  int
	part  string
}

// visit is a bike seen at a case, or running.
type visit struct {
	bike          uint64 // 0: not known, a bike of its own
	day           Day
	distance, age float32
	kit, part     uint16 // places in names; part 0: no part was at fault
	replaced      bool
	running       bool
}

// Aggregate is what a stream of records adds up to. The zero value is not
// usable; make one with NewAggregate. Not safe for use by several goroutines.
type Aggregate struct {
	n           int
	demo        int
	first, last Day
	series      map[series]*counts
	checks      map[checkKey]*checkCounts
	talks       map[string]*talkCounts
	confusion   map[pair]int
	suspects    map[string]int
	versions    map[string]int
	batches     map[batchKey]int
	wording     map[string]*wordCounts
	leftOut     int // wordings beyond what is kept
	visits      []visit
	names       []string
	places      map[string]uint16
}

// NewAggregate is one over no records.
func NewAggregate() *Aggregate {
	return &Aggregate{
		series: map[series]*counts{}, checks: map[checkKey]*checkCounts{}, talks: map[string]*talkCounts{}, confusion: map[pair]int{},
		suspects: map[string]int{}, versions: map[string]int{}, batches: map[batchKey]int{}, wording: map[string]*wordCounts{},
		names: []string{""}, places: map[string]uint16{"": 0},
	}
}

// N is how many records were added.
func (a *Aggregate) N() int { return a.n }

// place gives a name its number. Beyond what fits, all are one: nobody has
// 65,000 kinds of parts, and the input must not be able to break the counting.
func (a *Aggregate) place(name string) uint16 {
	p, ok := a.places[name]
	if !ok {
		if len(a.names) > 65000 {
			return uint16(len(a.names) - 1)
		}
		p = uint16(len(a.names))
		a.names = append(a.names, name)
		a.places[name] = p
	}
	return p
}

func bikeKey(kit, bike string) uint64 {
	if bike == "" {
		return 0
	}
	h := fnv.New64a()
	h.Write([]byte(kit))
	h.Write([]byte{0})
	h.Write([]byte(bike))
	return h.Sum64() | 1
}
