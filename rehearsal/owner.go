package rehearsal

import (
	"slices"
	"strconv"

	"triagebot/bench"
	"triagebot/kb"
)

// manner is a way of being an owner. The shares and rates are assumptions, no
// source: they are there so that every hindrance turns up often enough.
type manner struct {
	name     string
	share    float64
	tools    map[string]float64 // chance that the owner has one
	shut     []string           // covers that stay on
	alone    bool               // cannot work the throttle and hold two probes
	misreads float64            // share of answers that are not what was there
	typos    float64            // share of longer words
}

var manners = []manner{
	{name: "usual", share: 0.38, tools: map[string]float64{"meter": 1, "usb-supply": 0.25, "known-good-throttle": 0.08, "known-good-display": 0.03, "spare-bulb": 0.4}, typos: 0.03},
	{name: "well equipped", share: 0.17, tools: map[string]float64{"meter": 1, "usb-supply": 0.9, "known-good-throttle": 0.6, "known-good-display": 0.5, "spare-bulb": 0.9}, typos: 0.02},
	{name: "no meter", share: 0.12, tools: map[string]float64{"spare-bulb": 0.3}, typos: 0.05},
	{name: "leaves covers on", share: 0.1, tools: map[string]float64{"meter": 1, "spare-bulb": 0.3}, shut: []string{"controller-cover"}, typos: 0.03},
	{name: "alone", share: 0.1, tools: map[string]float64{"meter": 1, "usb-supply": 0.2, "spare-bulb": 0.4}, alone: true, typos: 0.03},
	{name: "hasty", share: 0.13, tools: map[string]float64{"meter": 1, "usb-supply": 0.2, "spare-bulb": 0.3}, misreads: 0.06, typos: 0.1},
}

// awkward is how often one check cannot be done for a reason of its own: out of
// reach, seized, too dark.
const awkward = 0.03

// owner is one person with one bike.
type owner struct {
	kb    *kb.KB
	words *words
	c     Case
	bike  *bench.Bike
	manner
	has      map[string]bool // tools
	told     []string        // symptoms said to be there
	denied   []string        // symptoms said not to be there
	later    []string        // danger still to be told
	wordings map[string]int  // how often a symptom was worded: the next time otherwise
	tries    map[string]int  // how often a question was answered
	misread  int             // answers given wrong and not put right
}

func newOwner(k *kb.KB, w *words, c Case) (*owner, error) {
	b, err := bench.New(c.Kit, c.Causes, c.Seed)
	if err != nil {
		return nil, err
	}
	o := &owner{kb: k, words: w, c: c, bike: b, has: map[string]bool{}, wordings: map[string]int{}, tries: map[string]int{}}
	l := o.lots("manner")
	var weights []float64
	for _, m := range manners {
		weights = append(weights, m.share)
	}
	o.manner = manners[l.weigh(weights)]
	var tools []string
	for _, ch := range k.Checks {
		for _, t := range ch.Tools {
			if !slices.Contains(tools, t) {
				tools = append(tools, t)
			}
		}
	}
	slices.Sort(tools)
	for _, t := range tools {
		o.has[t] = l.chance(o.tools[t])
	}
	return o, nil
}

func (o *owner) lots(purpose string) lots {
	return lotsFor(o.c.Seed, o.c.Kit+" "+o.c.Name()+" "+purpose)
}

// hinders says why the owner cannot do a check: a tool's id, "cover", "alone",
// "other", or "" when they can.
func (o *owner) hinders(c *kb.Check) string {
	for _, t := range c.Tools {
		if !o.has[t] {
			return t
		}
	}
	for _, a := range c.Access {
		if slices.Contains(o.shut, a) {
			return "cover"
		}
	}
	if o.alone && c.Kind == "measure" && slices.Contains(c.State, "wheel-up") && c.Red != nil {
		return "alone"
	}
	if o.lots("awkward " + c.ID).chance(awkward) {
		return "other"
	}
	return ""
}

// shown is what the bike shows at a check.
type shown struct {
	option  string
	reading *bench.Reading
}

// perform does a check on the bike.
func (o *owner) perform(c *kb.Check) (shown, error) {
	switch c.Kind {
	case "measure":
		r, err := o.bike.Measure(c.ID)
		return shown{reading: &r}, err
	case "try":
		s, err := o.bike.Try(c.ID)
		return shown{option: s}, err
	}
	s, err := o.bike.Look(c.ID)
	return shown{option: s}, err
}

// misreading is what a hasty owner says instead.
func misreading(l lots, c *kb.Check, s shown) shown {
	if s.reading == nil {
		if len(c.Options) < 2 {
			return s
		}
		for {
			if o := c.Options[l.IntN(len(c.Options))].ID; o != s.option {
				return shown{option: o}
			}
		}
	}
	r := *s.reading
	switch {
	case r.Overload:
		r.Overload, r.Decimals = false, 2
		r.Value = float64(l.IntN(100)) / 100
	case l.chance(0.5): // the point one place off
		r.Value *= 10
		r.Decimals--
	default: // two digits the other way round
		r.Value = swapped(r.Value, max(r.Decimals, 0))
	}
	return shown{reading: &r}
}

// swapped turns the first two digits of a figure round that differ.
func swapped(v float64, decimals int) float64 {
	text := []byte(strconv.FormatFloat(v, 'f', decimals, 64))
	for i := 0; i+1 < len(text); i++ {
		a, b := text[i], text[i+1]
		if a != b && a >= '0' && a <= '9' && b >= '0' && b <= '9' {
			text[i], text[i+1] = b, a
			break
		}
	}
	out, err := strconv.ParseFloat(string(text), 64)
	if err != nil {
		return v
	}
	return out
}

// alsoMends are causes that the steps of another cause's remedy mend on the way,
// whatever the knowledge base holds it to be for: who charges the pack fully to
// see whether the limit was to blame has charged an empty pack.
var alsoMends = map[string][]string{"charge-or-correct-limit": {"pack-flat"}}

// mend carries out a remedy: every cause it mends goes, and nothing else. It
// says whether the bike had one of them.
func (o *owner) mend(remedy string) (bool, error) {
	had := false
	for _, c := range o.bike.Faults() {
		if !o.mendedBy(remedy, c) {
			continue
		}
		fixed, err := o.bike.Fix(c)
		if err != nil {
			return had, err
		}
		had = had || fixed
	}
	return had, nil
}

// mendedBy says whether a remedy, carried out, takes a cause away.
func (o *owner) mendedBy(remedy, cause string) bool {
	return mends(o.kb, remedy, cause) || slices.Contains(alsoMends[remedy], cause)
}
