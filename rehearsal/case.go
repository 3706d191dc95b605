package rehearsal

import (
	"fmt"
	"slices"
	"strings"

	"triagebot/bench"
	"triagebot/kb"
)

// Sort says what kind of bike a case is about.
type Sort string

// The sorts of case.
const (
	Single  Sort = "single"  // one fault that the knowledge base lists
	Double  Sort = "double"  // two of them at once
	Healthy Sort = "healthy" // nothing wrong; the owner has a vague complaint
	Unknown Sort = "unknown" // a fault that no list names
)

// NothingWrong stands for the cause of a healthy bike.
const NothingWrong = "nothing-wrong"

// Case is one owner with one bike.
type Case struct {
	Kit    string   `json:"kit"`
	Sort   Sort     `json:"sort"`
	Causes []string `json:"causes"`
	Seed   uint64   `json:"seed"`
}

// Name is the case's causes in one word.
func (c Case) Name() string {
	if len(c.Causes) == 0 {
		return NothingWrong
	}
	return strings.Join(c.Causes, "+")
}

// String names the case as the command line takes it.
func (c Case) String() string { return fmt.Sprintf("%s %s seed %d", c.Kit, c.Name(), c.Seed) }

// Plan says which cases to rehearse.
type Plan struct {
	Kits   []string // all when empty
	Causes []string // all when empty; pairs as "a+b", and nothing-wrong
	Seeds  int      // owners per kit and cause
	Seed   uint64   // the first of them
}

// doublesPerSeed is how many pairs of faults are drawn for a kit and seed.
const doublesPerSeed = 4

// Cases lists the cases of a plan in a fixed order. A cause that a kit cannot
// have is passed over; one that no kit can have is an error, as is a kit that
// has no bike on the bench.
func (r *Rehearsal) Cases(p Plan) ([]Case, error) {
	kits, err := r.kits(p.Kits)
	if err != nil {
		return nil, err
	}
	found := map[string]bool{}
	var out []Case
	for _, kit := range kits {
		wanted := p.Causes
		if len(wanted) == 0 {
			wanted = append(r.listed(kit), append(bench.Unknown(), NothingWrong)...)
		}
		for _, name := range wanted {
			c, ok := r.caseOf(kit, name)
			if !ok {
				continue
			}
			found[name] = true
			for i := range p.Seeds {
				c.Seed = p.Seed + uint64(i)
				out = append(out, c)
			}
		}
		if len(p.Causes) == 0 {
			out = append(out, r.doubles(kit, p)...)
		}
	}
	for _, name := range p.Causes {
		if !found[name] {
			return nil, fmt.Errorf("choosing what to rehearse: no bike of %s can have the cause %q", strings.Join(kits, ", "), name)
		}
	}
	return out, nil
}

func (r *Rehearsal) kits(wanted []string) ([]string, error) {
	var all []string
	for _, k := range r.kb.Kits {
		if len(bench.Causes(k.ID)) > 0 {
			all = append(all, k.ID)
		}
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("choosing what to rehearse: the bench has no bike of any kit of %q", r.kb.About.Name)
	}
	for _, id := range wanted {
		if !slices.Contains(all, id) {
			return nil, fmt.Errorf("choosing what to rehearse: the bench has no bike of kit %q; there are: %s", id, strings.Join(all, ", "))
		}
	}
	if len(wanted) > 0 {
		return wanted, nil
	}
	return all, nil
}

// listed are the causes that both the bench and the knowledge base know.
func (r *Rehearsal) listed(kit string) []string {
	var out []string
	for _, c := range bench.Causes(kit) {
		if r.kb.Cause(c) != nil {
			out = append(out, c)
		}
	}
	return out
}

func (r *Rehearsal) caseOf(kit, name string) (Case, bool) {
	if name == NothingWrong {
		return Case{Kit: kit, Sort: Healthy}, true
	}
	causes := strings.Split(name, "+")
	for _, c := range causes {
		if !slices.Contains(bench.Causes(kit), c) {
			return Case{}, false
		}
	}
	c := Case{Kit: kit, Sort: Single, Causes: causes}
	switch {
	case len(causes) > 1:
		c.Sort = Double
	case slices.Contains(bench.Unknown(), causes[0]):
		c.Sort = Unknown
	}
	return c, true
}

// doubles draws pairs of faults with remedies of their own.
func (r *Rehearsal) doubles(kit string, p Plan) []Case {
	list := r.listed(kit)
	var out []Case
	for i := range p.Seeds {
		seed := p.Seed + uint64(i)
		l := lotsFor(seed, "double "+kit)
		for range doublesPerSeed {
			for range 20 { // until two differ
				a, b := l.of(list), l.of(list)
				if x, y := r.kb.Cause(a), r.kb.Cause(b); x != nil && y != nil && x.Remedy != y.Remedy {
					out = append(out, Case{Kit: kit, Sort: Double, Causes: []string{a, b}, Seed: seed})
					break
				}
			}
		}
	}
	return out
}

// mends says whether a remedy is the one for a cause.
func mends(k *kb.KB, remedy, cause string) bool {
	c := k.Cause(cause)
	return c != nil && c.Remedy == remedy
}
