package probe

import (
	"fmt"

	"triagebot/kb"
)

// Spot is where one probe goes: a pin of a plug, or a place in words.
type Spot struct {
	Probe  string // red or black
	Place  string
	Plug   *kb.Plug // as seen from where the probe goes in; nil for a place
	Pin    *kb.Pin
	Unsure bool // left and right may be swapped, see [Seen]
	words  Words
}

// Spots finds the pins of a check's probes on a kit. It is an error when the
// check has no probes, or when the kit has no such plug or pin.
func (w Words) Spots(kit *kb.Kit, c *kb.Check) ([]Spot, error) {
	var spots []Spot
	for _, given := range []struct {
		name  string
		probe *kb.Probe
	}{{"red", c.Red}, {"black", c.Black}} {
		p := given.probe
		if p == nil {
			continue
		}
		s := Spot{Probe: given.name, Place: p.Place, words: w}
		if p.Plug != "" {
			plug := kit.Plug(p.Plug)
			if plug == nil {
				return nil, fmt.Errorf("drawing check %q: kit %q has no plug %q for the %s probe; add it to the kit or limit the check by its parts", c.ID, kit.ID, p.Plug, given.name)
			}
			if s.Pin = plug.Pin(p.Pin); s.Pin == nil || !lies(plug, p.Pin) {
				return nil, fmt.Errorf("drawing check %q: plug %q of kit %q has no pin %q in its rows for the %s probe; add it to pins and rows", c.ID, p.Plug, kit.ID, p.Pin, given.name)
			}
			s.Plug, s.Unsure = w.Seen(plug, c.Side)
		}
		spots = append(spots, s)
	}
	if len(spots) == 0 {
		return nil, fmt.Errorf("drawing check %q: it has no probes, so there is nothing to draw; it is a %s", c.ID, c.Kind)
	}
	return spots, nil
}

func lies(plug *kb.Plug, pin string) bool {
	for _, row := range plug.Rows {
		for _, id := range row {
			if id == pin {
				return true
			}
		}
	}
	return false
}

// Sections groups spots by what they are drawn on: one plug, or the places
// given in words.
func Sections(spots []Spot) [][]Spot {
	if len(spots) == 2 && spots[0].plugID() == spots[1].plugID() {
		return [][]Spot{spots}
	}
	var sections [][]Spot
	for _, s := range spots {
		sections = append(sections, []Spot{s})
	}
	return sections
}

func (s Spot) plugID() string {
	if s.Plug == nil {
		return ""
	}
	return s.Plug.ID
}

// Where says in words where a probe goes, with the wire's colour.
func (s Spot) Where() string {
	switch {
	case s.Plug == nil:
		return s.Place
	case s.Pin.Colour == "":
		return s.words.say("pin", "pin", s.Pin.Name, "plug", s.Plug.Name)
	}
	return s.words.say("pin-coloured", "pin", s.Pin.Name, "plug", s.Plug.Name, "colour", s.Pin.ColourSaid())
}

// Warning says what the drawing of a plug cannot be trusted in, "" for nothing.
func (s Spot) Warning() string {
	if s.Unsure {
		return s.words.say("may-swap")
	}
	return ""
}
