package kb

import "slices"

// index finds entities by id, and the node of each in its file.
type index struct {
	kits     map[string]*Kit
	symptoms map[string]*Symptom
	causes   map[string]*Cause
	remedies map[string]*Remedy
	checks   map[string]*Check
	cautions map[string]*Caution
	access   map[string]*Access
	tables   map[string]*Table
	same     map[string]sameAs // symptom id -> the option that says the same

	places placeIndex
}

type sameAs struct {
	check  *Check
	option int
}

// Kit finds a kit by id; nil when there is none.
func (k *KB) Kit(id string) *Kit { return k.index.kits[id] }

// Symptom finds a symptom by id; nil when there is none.
func (k *KB) Symptom(id string) *Symptom { return k.index.symptoms[id] }

// Cause finds a cause by id; nil when there is none.
func (k *KB) Cause(id string) *Cause { return k.index.causes[id] }

// Remedy finds a remedy by id; nil when there is none.
func (k *KB) Remedy(id string) *Remedy { return k.index.remedies[id] }

// Check finds a check by id; nil when there is none.
func (k *KB) Check(id string) *Check { return k.index.checks[id] }

// Caution finds a caution by id; nil when there is none.
func (k *KB) Caution(id string) *Caution { return k.index.cautions[id] }

// Opening finds by id what is to be opened (the section access); nil when there is none.
func (k *KB) Opening(id string) *Access { return k.index.access[id] }

// Table finds a table by id; nil when there is none.
func (k *KB) Table(id string) *Table { return k.index.tables[id] }

// SameAs finds the option that is the same observation as a symptom; nil, nil
// when no check asks for it.
func (k *KB) SameAs(symptom string) (*Check, *Option) {
	s, ok := k.index.same[symptom]
	if !ok {
		return nil, nil
	}
	return s.check, &s.check.Options[s.option]
}

// OptionsOn are the answers of a look or a try that make sense on a kit; all of
// them where the kit is not known.
func (c *Check) OptionsOn(kit *Kit) []Option {
	if kit == nil {
		return c.Options
	}
	var on []Option
	for _, o := range c.Options {
		if kit.Has(o.Parts) {
			on = append(on, o)
		}
	}
	return on
}

// Has says whether the kit has all of these parts.
func (k *Kit) Has(parts []string) bool {
	for _, p := range parts {
		if !slices.Contains(k.Parts, p) {
			return false
		}
	}
	return true
}

// Plug finds a plug of the kit by id; nil when there is none.
func (k *Kit) Plug(id string) *Plug {
	for _, p := range k.Plugs {
		if p.ID == id {
			return p
		}
	}
	return nil
}

// Pin finds a pin of the plug by id; nil when there is none.
func (p *Plug) Pin(id string) *Pin {
	for i := range p.Pins {
		if p.Pins[i].ID == id {
			return &p.Pins[i]
		}
	}
	return nil
}

// Points lists every point of the line once, in the order of the file.
func (l Line) Points() []string {
	var points []string
	seen := map[string]bool{"": true}
	add := func(p string) {
		if !seen[p] {
			seen[p] = true
			points = append(points, p)
		}
	}
	add(l.Source)
	add(l.Ground)
	for _, link := range l.Links {
		add(link.From)
		add(link.To)
	}
	return points
}

// Outcomes lists the ids of what a check can come out as, in the order of the
// file: its windows or its options.
func (c *Check) Outcomes() []string {
	var ids []string
	for _, w := range c.Windows {
		ids = append(ids, w.ID)
	}
	for _, o := range c.Options {
		ids = append(ids, o.ID)
	}
	return ids
}

// Window finds a window by id; nil when there is none.
func (c *Check) Window(id string) *Window {
	for i := range c.Windows {
		if c.Windows[i].ID == id {
			return &c.Windows[i]
		}
	}
	return nil
}

// Option finds an option by id; nil when there is none.
func (c *Check) Option(id string) *Option {
	for i := range c.Options {
		if c.Options[i].ID == id {
			return &c.Options[i]
		}
	}
	return nil
}
