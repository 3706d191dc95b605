package picture

import "slices"

// flow is what the findings of a case say of a kit's line.
type flow struct {
	proven  map[string]bool // links that a voltage was seen to come through
	dead    map[string]bool // links beyond the place where it stops
	short   map[string]bool // links of a supply that is dragged down
	stops   []string        // links of which one is where it stops, in the order of the file
	dragged []string        // regulators beyond which the supply is dragged down
	weak    bool            // a voltage sags somewhere
	lifted  bool
	seen    bool // anything is known of the line at all
	end     bool // a voltage was seen at the end of the longest way
}

// flowOf works out where a voltage stops: it needs every link on its way and
// on its ground's way; those that another reading has shown good are not it.
// Several readings that fail together fail, as a rule, in what they share.
func flowOf(w wiring, findings []finding) flow {
	f := flow{proven: map[string]bool{}, dead: map[string]bool{}, short: map[string]bool{}}
	for _, x := range findings {
		f.seen = f.seen || x.state != ""
		f.weak = f.weak || x.state == "weak"
		f.lifted = f.lifted || x.state == "lifted"
		if x.state == "dragged" {
			f.drag(w, x)
		}
		if x.verdict == good && x.link != "" {
			f.proven[x.link] = true
		}
		if x.state != "live" && x.state != "lifted" && x.state != "weak" {
			continue
		}
		for _, p := range x.points {
			for _, id := range w.serves(p, x.against) {
				f.proven[id] = true
			}
			f.end = f.end || p == w.end()
		}
	}
	var shared []string
	for _, x := range findings {
		if x.state != "dead" {
			continue
		}
		var may []string
		for _, p := range x.points {
			for _, id := range w.serves(p, x.against) {
				if !f.proven[id] {
					may = append(may, id)
				}
			}
		}
		if both := common(shared, may); len(both) > 0 || shared == nil {
			shared = both
			if shared == nil {
				shared = may
			}
		} else {
			shared = append(shared, may...)
		}
	}
	supply := true
	for _, l := range w.line.Links {
		if slices.Contains(shared, l.ID) {
			f.stops = append(f.stops, l.ID)
			supply = supply && !l.Ground
		}
	}
	f.bury(w, findings, supply)
	return f
}

// end is the last point of the longest way from the source.
func (w wiring) end() string {
	point := w.line.Source
	for range w.line.Links {
		on, _ := w.onward(point)
		if on == nil {
			break
		}
		point = on.To
	}
	return point
}

// drag marks the supply that a short holds down. Its regulator is fed, or
// there would be nothing left to read.
func (f *flow) drag(w wiring, x finding) {
	for _, p := range x.points {
		for _, l := range w.path(p) {
			if !l.Regulates {
				continue
			}
			if !slices.Contains(f.dragged, l.ID) {
				f.dragged = append(f.dragged, l.ID)
			}
			f.proven[l.ID] = true
			for _, id := range w.serves(l.From, l.Return) {
				f.proven[id] = true
			}
			for _, below := range w.below(l.To) {
				for _, kid := range w.kids[below] {
					f.short[kid.ID] = true
				}
			}
			break
		}
	}
}

// bury marks the links beyond the place where the voltage stops. While a
// ground may be what is missing, a dead reading says nothing of the supply.
func (f *flow) bury(w wiring, findings []finding, supply bool) {
	if !supply || len(f.stops) == 0 {
		return
	}
	mark := func(point string) {
		for _, p := range w.below(point) {
			for _, l := range w.kids[p] {
				if !f.proven[l.ID] && !slices.Contains(f.stops, l.ID) {
					f.dead[l.ID] = true
				}
			}
		}
	}
	for _, x := range findings {
		if x.state == "dead" {
			for _, p := range x.points {
				mark(p)
			}
		}
	}
	// Whichever of them it is, what lies behind all of them gets nothing.
	for _, l := range w.line.Links {
		behind := 0
		for _, up := range w.path(l.From) {
			if slices.Contains(f.stops, up.ID) {
				behind++
			}
		}
		if behind == len(f.stops) && !f.proven[l.ID] {
			f.dead[l.ID] = true
		}
	}
}

func common(a, b []string) []string {
	var both []string
	for _, x := range a {
		if slices.Contains(b, x) {
			both = append(both, x)
		}
	}
	return both
}

// rail is how the rail of a link is drawn.
func (f flow) rail(id string) string {
	switch {
	case f.short[id]:
		return "dragged"
	case f.proven[id]:
		return "there"
	case slices.Contains(f.stops, id):
		return "stops"
	case f.dead[id]:
		return "gone"
	}
	return "unknown"
}
