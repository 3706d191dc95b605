package picture

import (
	"errors"
	"fmt"
	"strings"

	"triagebot/kb"
	"triagebot/picture/drawing"
	"triagebot/probe"
)

// Drawable says whether [Check] has something to draw: probes, at pins that
// this kit has.
func Drawable(kit *kb.Kit, c *kb.Check) bool {
	if kit == nil || c == nil || !kit.Has(c.Parts) {
		return false
	}
	_, err := probe.Spots(kit, c)
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
	v := voice{k.Language}
	spots, err := v.words().Spots(kit, c)
	if err != nil {
		return nil, err
	}
	sections := probe.Sections(spots)
	width := 0.0
	for _, s := range sections {
		if s[0].Plug != nil {
			width = max(width, newFace(v.words(), s[0].Plug, pageWidth-2*margin).box.W+2*margin)
		}
	}
	p := newPage(kit.ID+"-"+c.ID, capital(c.Name), width)
	p.voice = v
	p.Desc = checkAlt(k, kit, c, spots)
	p.paragraph(capital(c.Name), sizeTitle, true, ink)
	p.paragraph(kit.Name, sizeBody, false, soft)
	p.y += 8
	for _, s := range sections {
		if s[0].Plug != nil {
			p.plug(s, c.Side)
		} else {
			p.places(s)
		}
	}
	if here := v.words().Here(c); here != "" {
		p.paragraph(here, sizeBody, true, ink)
		p.y += 8
	}
	if caveat := v.words().Caveat(k, kit, c); caveat != "" {
		p.warning(caveat)
	}
	if c.Meter != "" {
		p.meter(c)
	}
	return &Picture{sheet: p.finish(), text: checkText(k, kit, c)}, nil
}

// checkAlt says all that the picture shows.
func checkAlt(k *kb.KB, kit *kb.Kit, c *kb.Check, spots []probe.Spot) string {
	v := voice{k.Language}
	alt := []string{stop(v.say("alt-check", "check", c.Name, "kit", kit.Name))}
	for _, s := range spots {
		alt = append(alt, stop(v.say("alt-"+s.Probe, "where", s.Where())))
	}
	for _, section := range probe.Sections(spots) {
		plug := section[0].Plug
		if plug == nil {
			continue
		}
		var rows []string
		for _, row := range plug.Rows {
			var names []string
			for _, id := range row {
				names = append(names, v.words().PinName(plug, id))
			}
			rows = append(rows, strings.Join(names, ", "))
		}
		alt = append(alt, stop(v.say("alt-rows", "plug", plug.Name, "rows", strings.Join(rows, "; "))))
		if as := v.words().DrawnAs(plug); as != "" {
			alt = append(alt, as)
		}
		if plug.Where != "" {
			alt = append(alt, stop(v.say("alt-where", "plug", plug.Name, "where", plug.Where)))
		}
		if w := section[0].Warning(); w != "" {
			alt = append(alt, w)
		}
	}
	if here := v.words().Here(c); here != "" {
		alt = append(alt, here)
	}
	if caveat := v.words().Caveat(k, kit, c); caveat != "" {
		alt = append(alt, caveat)
	}
	if c.Meter != "" {
		alt = append(alt, meterSays(v, c))
	}
	return strings.Join(alt, " ")
}

// gripRadius is that of a grip's corners: round for red, square for black.
func gripRadius(colour string) float64 {
	if colour == "red" {
		return 13
	}
	return 3
}

func probeColour(colour string) drawing.Colour {
	if colour == "red" {
		return red
	}
	return black
}
