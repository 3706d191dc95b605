package picture

import (
	"errors"
	"fmt"
	"strings"

	"triagebot/kb"
	"triagebot/picture/drawing"
)

// spot is where one probe goes: a pin of a plug, or a place in words.
type spot struct {
	probe string // red or black
	place string
	plug  *kb.Plug
	pin   *kb.Pin
}

// Drawable says whether [Check] has something to draw: probes, at pins that
// this kit has.
func Drawable(kit *kb.Kit, c *kb.Check) bool {
	if kit == nil || c == nil || !kit.Has(c.Parts) {
		return false
	}
	_, err := spotsOf(kit, c)
	return err == nil
}

// Check draws where the probes of a check go on a kit, and how the meter is
// set.
func Check(k *kb.KB, kit *kb.Kit, c *kb.Check) (*Picture, error) {
	switch {
	case k == nil || kit == nil || c == nil:
		return nil, errors.New("drawing a check: the knowledge base, the kit or the check is missing; give all three")
	case !kit.Has(c.Parts):
		return nil, fmt.Errorf("drawing check %q: kit %q lacks a part it is about (%s); draw it for a kit that has them", c.ID, kit.ID, strings.Join(c.Parts, ", "))
	}
	spots, err := spotsOf(kit, c)
	if err != nil {
		return nil, err
	}
	sections := sectionsOf(spots)
	width := 0.0
	for _, s := range sections {
		if s[0].plug != nil {
			width = max(width, newFace(s[0].plug, pageWidth-2*margin).box.W+2*margin)
		}
	}
	p := newPage(kit.ID+"-"+c.ID, capital(c.Name), width)
	p.Desc = checkAlt(kit, c, spots)
	p.paragraph(capital(c.Name), sizeTitle, true, ink)
	p.paragraph(kit.Name, sizeBody, false, soft)
	p.y += 8
	for _, s := range sections {
		if s[0].plug != nil {
			p.plug(s, c.Side)
		} else {
			p.places(s)
		}
	}
	if c.Side != "" {
		p.paragraph(stop(say("probe-side", "side", c.Side)), sizeBody, false, ink)
		p.y += 8
	}
	if c.Meter != "" {
		p.meter(c.Meter)
	}
	return &Picture{sheet: p.finish(), text: checkText(kit, c, sections)}, nil
}

// spotsOf finds the pins of a check's probes on a kit.
func spotsOf(kit *kb.Kit, c *kb.Check) ([]spot, error) {
	var spots []spot
	for _, given := range []struct {
		name  string
		probe *kb.Probe
	}{{"red", c.Red}, {"black", c.Black}} {
		p := given.probe
		if p == nil {
			continue
		}
		s := spot{probe: given.name, place: p.Place}
		if p.Plug != "" {
			if s.plug = kit.Plug(p.Plug); s.plug == nil {
				return nil, fmt.Errorf("drawing check %q: kit %q has no plug %q for the %s probe; add it to the kit or limit the check by its parts", c.ID, kit.ID, p.Plug, given.name)
			}
			if s.pin = s.plug.Pin(p.Pin); s.pin == nil || !lies(s.plug, p.Pin) {
				return nil, fmt.Errorf("drawing check %q: plug %q of kit %q has no pin %q in its rows for the %s probe; add it to pins and rows", c.ID, p.Plug, kit.ID, p.Pin, given.name)
			}
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

// sectionsOf groups the probes by what they are drawn on: one plug, or the
// places given in words.
func sectionsOf(spots []spot) [][]spot {
	if len(spots) == 2 && spots[0].plug == spots[1].plug {
		return [][]spot{spots}
	}
	var sections [][]spot
	for _, s := range spots {
		sections = append(sections, []spot{s})
	}
	return sections
}

// where says in words where a probe goes, with the wire's colour.
func (s spot) where() string {
	switch {
	case s.plug == nil:
		return s.place
	case s.pin.Colour == "":
		return say("pin", "pin", s.pin.Name, "plug", s.plug.Name)
	}
	return say("pin-coloured", "pin", s.pin.Name, "plug", s.plug.Name, "colour", s.pin.Colour)
}

// checkAlt says all that the picture shows.
func checkAlt(kit *kb.Kit, c *kb.Check, spots []spot) string {
	alt := []string{stop(say("alt-check", "check", c.Name, "kit", kit.Name))}
	for _, s := range spots {
		alt = append(alt, stop(say("alt-"+s.probe, "where", s.where())))
	}
	for _, section := range sectionsOf(spots) {
		plug := section[0].plug
		if plug == nil {
			continue
		}
		var rows []string
		for _, row := range plug.Rows {
			var names []string
			for _, id := range row {
				names = append(names, pinName(plug, id))
			}
			rows = append(rows, strings.Join(names, ", "))
		}
		alt = append(alt, stop(say("alt-rows", "plug", plug.Name, "rows", strings.Join(rows, "; "))))
		if plug.Viewed != "" {
			alt = append(alt, stop(say("drawn-as", "viewed", plug.Viewed)))
		}
		if plug.Where != "" {
			alt = append(alt, stop(say("alt-where", "plug", plug.Name, "where", plug.Where)))
		}
		if says := orderSays(plug.Viewed, c.Side); says != "" {
			alt = append(alt, says)
		}
	}
	if c.Side != "" {
		alt = append(alt, stop(say("probe-side", "side", c.Side)))
	}
	if c.Meter != "" {
		alt = append(alt, stop(say("alt-meter", "meter", c.Meter)))
	}
	return strings.Join(alt, " ")
}

// pinName is a pin's name for people; a gap in a row is said to be one.
func pinName(plug *kb.Plug, id string) string {
	if id == "" {
		return say("no-pin")
	}
	if pin := plug.Pin(id); pin != nil && pin.Name != "" {
		return pin.Name
	}
	return id
}

// gripRadius is that of a grip's corners: round for red, square for black.
func gripRadius(probe string) float64 {
	if probe == "red" {
		return 13
	}
	return 3
}

func probeColour(probe string) drawing.Colour {
	if probe == "red" {
		return red
	}
	return black
}
