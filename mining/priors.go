package mining

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"

	"gopkg.in/yaml.v3"

	"triagebot/kb"
	"triagebot/mining/stats"
)

// Overlay is what closed cases taught about how often each cause is at fault:
// factors on priors per kit that take the place of those in the knowledge
// base. It is a file of its own, so that taking it away takes the learning
// back. It is for keepers: unlike a report it hides no small group.
//
//	overlay: priors
//	v: 1
//	rules: 683d35b0a1c2      # version of the knowledge base it was made over
//	replaces: 1f0c...        # version of the overlay before, "" for the first
//	cases: 1240
//	from: 2025-11-24
//	to: 2026-11-24
//	strength: 200
//	kits:
//	  sorrel-60: {breaker-off: 2.31, throttle-stuck-low: 0.8}
type Overlay struct {
	Kind     string                        `yaml:"overlay"`
	V        int                           `yaml:"v"`
	Rules    string                        `yaml:"rules"`
	Replaces string                        `yaml:"replaces"`
	Cases    int                           `yaml:"cases"` // with a confirmed cause that was counted
	From     string                        `yaml:"from"`
	To       string                        `yaml:"to"`
	Strength float64                       `yaml:"strength"`
	Demo     bool                          `yaml:"demo,omitempty"` // learned from invented cases
	Kits     map[string]map[string]float64 `yaml:"kits"`
}

// Shift is the prior share of one cause among the single causes of a kit,
// before and after.
type Shift struct {
	Kit    string  `json:"kit"`
	Cause  string  `json:"cause"`
	Before float64 `json:"before"`
	Cases  int     `json:"cases"`
	After  float64 `json:"after"`
}

// Learn turns confirmed causes into an overlay. strength is how many cases the
// priors as written weigh (a few hundred: with as many confirmed cases both
// count alike). Always learn over the knowledge base as written, without an
// overlay, and from all cases: then none counts twice. Causes that a kit cannot
// have by its parts, or that the rules do not know, are left out.
func Learn(a *Aggregate, k *kb.KB, strength float64, replaces string) (Overlay, []Shift, error) {
	if !(strength > 0) || math.IsInf(strength, 1) {
		return Overlay{}, nil, fmt.Errorf("learning priors: strength %g: give how many cases the written priors weigh, such as 200", strength)
	}
	o := Overlay{
		Kind: "priors", V: 1, Rules: k.Version, Replaces: replaces, From: a.first.String(), To: a.last.String(), Strength: strength,
		Demo: a.demo > 0, Kits: map[string]map[string]float64{},
	}
	var shifts []Shift
	for _, kit := range k.Kits {
		var causes []*kb.Cause
		var prior []float64
		var n []int
		seen, mass := 0, 0.0
		for _, c := range k.Causes {
			if !kit.Has(c.Parts) || !(c.Prior > 0) || factor(kit, c.ID) == 0 {
				continue
			}
			count := 0
			if s := a.series[series{Causes, c.ID, kit.ID}]; s != nil {
				count = s.n
			}
			causes, prior, n = append(causes, c), append(prior, c.Prior*factor(kit, c.ID)), append(n, count)
			seen += count
			mass += c.Prior * factor(kit, c.ID)
		}
		if seen == 0 {
			continue
		}
		o.Cases += seen
		factors := maps.Clone(kit.Priors)
		if factors == nil {
			factors = map[string]float64{}
		}
		for i, after := range stats.Dirichlet(prior, strength, n) {
			// The kit's whole mass stays, so that what is no single cause keeps its share.
			factors[causes[i].ID] = fourDigits(after * mass / causes[i].Prior)
			shifts = append(shifts, Shift{kit.ID, causes[i].ID, prior[i] / mass, n[i], after})
		}
		o.Kits[kit.ID] = factors
	}
	slices.SortStableFunc(shifts, func(x, y Shift) int {
		return cmp.Or(cmp.Compare(x.Kit, y.Kit), cmp.Compare(math.Abs(y.After-y.Before), math.Abs(x.After-x.Before)))
	})
	return o, shifts, nil
}

func factor(kit *kb.Kit, cause string) float64 {
	if f, ok := kit.Priors[cause]; ok {
		return f
	}
	return 1
}

func fourDigits(v float64) float64 {
	if v == 0 {
		return 0
	}
	f := math.Pow10(3 - int(math.Floor(math.Log10(math.Abs(v)))))
	return math.Round(v*f) / f
}

// Version names this exact content, for the field Replaces of the next.
func (o Overlay) Version() string {
	data, err := yaml.Marshal(o)
	if err != nil {
		return ""
	}
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])[:12]
}

// WriteYAML writes the overlay as its file.
func (o Overlay) WriteYAML(w io.Writer) error {
	e := yaml.NewEncoder(w)
	e.SetIndent(2)
	if err := e.Encode(o); err != nil {
		return fmt.Errorf("writing an overlay: %w", err)
	}
	return e.Close()
}

// ReadOverlay reads what WriteYAML wrote.
func ReadOverlay(r io.Reader) (Overlay, error) {
	var o Overlay
	d := yaml.NewDecoder(r)
	d.KnownFields(true)
	if err := d.Decode(&o); err != nil {
		return o, fmt.Errorf("reading an overlay: %w", err)
	}
	if o.Kind != "priors" || o.V != 1 {
		return o, fmt.Errorf("reading an overlay: kind %q, version %d: only priors of version 1 are known", o.Kind, o.V)
	}
	for _, kit := range slices.Sorted(maps.Keys(o.Kits)) {
		for _, cause := range slices.Sorted(maps.Keys(o.Kits[kit])) {
			if f := o.Kits[kit][cause]; !(f >= 0) || math.IsInf(f, 1) {
				return o, fmt.Errorf("reading an overlay: kit %q, cause %q: factor %g must be 0 or more", kit, cause, f)
			}
		}
	}
	return o, nil
}

// Fits says why the overlay cannot be put over a knowledge base: it was made over
// other rules, and what it learned may not hold for them.
func (o Overlay) Fits(k *kb.KB) error {
	if o.Rules != k.Version {
		return fmt.Errorf("applying an overlay: it was made over rules %q, these are %q: learn anew", o.Rules, k.Version)
	}
	for _, id := range slices.Sorted(maps.Keys(o.Kits)) {
		if k.Kit(id) == nil {
			return fmt.Errorf("applying an overlay: there is no kit %q", id)
		}
		for _, cause := range slices.Sorted(maps.Keys(o.Kits[id])) {
			if k.Cause(cause) == nil {
				return fmt.Errorf("applying an overlay: kit %q: there is no cause %q", id, cause)
			}
		}
	}
	return nil
}

// Apply puts the factors into a knowledge base that was just loaded and is not
// in use yet, and returns how to take them out again. It refuses what does not
// fit.
func (o Overlay) Apply(k *kb.KB) (undo func(), err error) {
	if err := o.Fits(k); err != nil {
		return nil, err
	}
	before := map[*kb.Kit]map[string]float64{}
	for id, factors := range o.Kits {
		kit := k.Kit(id)
		before[kit] = kit.Priors
		kit.Priors = maps.Clone(factors)
	}
	return func() {
		for kit, factors := range before {
			kit.Priors = factors
		}
	}, nil
}
