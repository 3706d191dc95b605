package bench

import (
	"fmt"
	"slices"
)

// Bike is one simulated bike. It is not safe for concurrent use.
type Bike struct {
	seed   uint64
	build  build
	causes []string // still there, in the order given
	works  works
	solved map[scene]*state
	notice map[string]bool // Symptoms, once found
	asked  map[string]int  // how often each check was measured
}

// New builds a bike of a kit with the given faults, none for a sound bike.
// Causes are ids of faults; see Causes. The seed fixes everything that
// differs between bikes: charge, temperature, wires, contacts, throttle, and
// what exactly is wrong where a cause has several forms.
func New(kit string, causes []string, seed uint64) (*Bike, error) {
	made, err := buildOf(kit, seed)
	if err != nil {
		return nil, err
	}
	b := &Bike{seed: seed, build: made, asked: map[string]int{}}
	for _, c := range causes {
		f, ok := faults[c]
		if !ok {
			return nil, fmt.Errorf("building a %q: no fault %q, use one of Causes(%q)", kit, c, kit)
		}
		if f.part != "" && !made.has(f.part) {
			return nil, fmt.Errorf("building a %q: fault %q needs a %s, which this kit has not", kit, c, f.part)
		}
		if !slices.Contains(b.causes, c) {
			b.causes = append(b.causes, c)
		}
	}
	return b, b.assemble()
}

// Causes are the ids of the faults that a kit can have, sorted; among them
// those of Unknown.
func Causes(kit string) []string {
	made, err := buildOf(kit, 0)
	if err != nil {
		return nil
	}
	var out []string
	for id, f := range faults {
		if f.part == "" || made.has(f.part) {
			out = append(out, id)
		}
	}
	slices.Sort(out)
	return out
}

// assemble builds the bike anew: sound, then every fault that is left, each
// with draws of its own, so that mending one does not change another.
func (b *Bike) assemble() error {
	w, err := healthy(b.build, b.seed)
	if err != nil {
		return err
	}
	for _, c := range b.causes {
		faults[c].spoil(&w, b.roll("fault "+c))
	}
	b.works = w
	b.solved, b.notice = map[scene]*state{}, nil
	return nil
}

// Kit is the id of the bike's kit.
func (b *Bike) Kit() string { return b.build.id }

// Label is the voltage printed on the pack.
func (b *Bike) Label() float64 { return b.build.label }

// Faults are the causes still there.
func (b *Bike) Faults() []string { return slices.Clone(b.causes) }

// Faulty says whether any cause is left.
func (b *Bike) Faulty() bool { return len(b.causes) > 0 }

// Fix carries out the remedy of a cause and says whether the bike had it.
func (b *Bike) Fix(cause string) (bool, error) {
	i := slices.Index(b.causes, cause)
	if i < 0 {
		return false, nil
	}
	b.causes = slices.Delete(b.causes, i, i+1)
	return true, b.assemble()
}

// roll is a stream of draws of this bike for a purpose.
func (b *Bike) roll(purpose string) dice { return roll(b.seed, b.build.id+" "+purpose) }
