package picture_test

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"triagebot/kb"
	"triagebot/picture"
	"triagebot/picture/drawing"
	"triagebot/probe"
)

func TestEveryMeasurementOfEveryKitIsDrawn(t *testing.T) {
	t.Parallel()
	k := embedded(t)
	for _, kit := range k.Kits {
		for _, c := range k.Checks {
			if c.Kind == "measure" && kit.Has(c.Parts) {
				require.True(t, picture.Drawable(kit, c), "%s on %s", c.ID, kit.ID)
				p, err := picture.Check(k, kit, c)
				require.NoError(t, err)
				requireProbes(t, p, kit, c)
			}
		}
	}
}

// requireProbes holds the drawing against the check: each probe's tip lies in
// the pin of the check, in no other, and its needle passes over no other.
func requireProbes(t require.TestingT, p *picture.Picture, kit *kb.Kit, c *kb.Check) {
	svg := parse(t, p)
	for name, probe := range map[string]*kb.Probe{"red": c.Red, "black": c.Black} {
		groups := svg.groups(p, "probe-"+name)
		if probe == nil {
			require.Empty(t, groups)
			continue
		}
		require.Len(t, groups, 1, "%s: one %s probe", p.Name(), name)
		assert.Equal(t, []string{strings.ToUpper(name)}, groups[0].texts())
		needle := groups[0].points(t)
		if probe.Plug == "" {
			box := svg.groups(p, "terminal-"+name)
			require.Len(t, box, 1)
			assert.True(t, holds(box[0].box(t), needle[0]))
			assert.Equal(t, wanted(probe.Place), strings.Join(box[0].texts(), " "))
			continue
		}
		pin := kit.Plug(probe.Plug).Pin(probe.Pin)
		hit := ""
		for _, g := range svg.groups(p, "pin-"+probe.Plug+"-") {
			cell := g.box(t)
			if g.attr("data-pin") == probe.Pin {
				assert.Contains(t, strings.Fields(g.attr("data-marked")), name)
				assert.True(t, holds(cell, needle[0]), "%s: the %s tip is not in %s", p.Name(), name, probe.Pin)
				said := drawing.Drawable(pin.Name)
				if words := strings.Join(g.texts(), " "); !strings.Contains(words, said) {
					// Too narrow for names: the cell has a number, the legend the name.
					all := strings.Join(svg.groups(p, "plug-"+probe.Plug)[0].texts(), " ")
					assert.Regexp(t, regexp.QuoteMeta(words+": "+said)+`,[^:]*← [A-Z← ]*`+strings.ToUpper(name), all)
				}
				hit = probe.Pin
				continue
			}
			assert.NotContains(t, strings.Fields(g.attr("data-marked")), name)
			for i := 1; i < len(needle); i++ {
				for s := 0.0; s <= 1; s += 0.02 {
					at := drawing.Point{X: needle[i-1].X + s*(needle[i].X-needle[i-1].X), Y: needle[i-1].Y + s*(needle[i].Y-needle[i-1].Y)}
					require.False(t, holds(cell, at), "%s: the %s needle passes over %s", p.Name(), name, g.attr("data-pin"))
				}
			}
		}
		assert.Equal(t, probe.Pin, hit)
	}
}

func holds(b drawing.Box, p drawing.Point) bool {
	return p.X > b.X && p.X < b.X+b.W && p.Y > b.Y && p.Y < b.Y+b.H
}

// wanted is a text as the picture writes it at the head of a field.
func wanted(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

func TestPinsLieAsInTheRows(t *testing.T) {
	k := embedded(t)
	kit := k.Kit("sorrel-60")
	p, err := picture.Check(k, kit, k.Check("hall-5v"))
	require.NoError(t, err)
	svg := parse(t, p)
	plug := kit.Plug("hall-plug")
	at := map[string]drawing.Point{}
	for _, g := range svg.groups(p, "pin-hall-plug-") {
		at[g.attr("data-pin")] = g.box(t).Centre()
	}
	for i, row := range plug.Rows {
		for j := 1; j < len(row); j++ {
			assert.Less(t, at[row[j-1]].X, at[row[j]].X)
		}
		if i > 0 {
			assert.Less(t, at[plug.Rows[i-1][0]].Y, at[row[0]].Y)
		}
	}
}

func TestMeterIsSetAsTheCheckSays(t *testing.T) {
	k := embedded(t)
	kit := k.Kit("yarrow-72")
	for check, dial := range map[string]string{
		"throttle-rest": "dc-volts", "fuse-continuity": "ohms", "bridge-diode": "diode", "motor-temp-ohms": "ohms", "pack-volts": "dc-volts",
	} {
		p, err := picture.Check(k, kit, k.Check(check))
		require.NoError(t, err)
		svg := parse(t, p)
		chosen := svg.groups(p, "dial-")
		require.Len(t, chosen, 1)
		assert.Equal(t, p.Name()+".dial-"+dial, chosen[0].attr("id"))
		leads := map[string]string{}
		for _, j := range svg.groups(p, "jack-") {
			leads[strings.TrimPrefix(j.attr("id"), p.Name()+".jack-")] = j.attr("data-lead")
		}
		assert.Equal(t, map[string]string{"a": "", "com": "black", "v": "red"}, leads, check)
		written := strings.ToLower(strings.Join(svg.groups(p, "meter")[0].texts(), " "))
		for _, word := range strings.Fields(strings.ToLower(k.Check(check).Meter)) {
			assert.Contains(t, written, strings.Trim(word, ","))
		}
	}
}

// On a range of kΩ the meter shows kΩ, and the picture says so.
func TestUnitOfTheRangeIsSaid(t *testing.T) {
	k := embedded(t)
	for check, said := range map[string]string{"motor-temp-ohms": "kΩ or Ω.", "phase-to-case": "MΩ or Ω.", "brake-ohms-released": "unit: Ω.", "throttle-5v": "unit: V."} {
		p, err := picture.Check(k, k.Kit("yarrow-72"), k.Check(check))
		require.NoError(t, err)
		assert.Contains(t, p.Alt(), said)
	}
}

func TestViewIsSaidAndShown(t *testing.T) {
	k := embedded(t)
	kit := k.Kit("sorrel-60")
	for check, side := range map[string]string{"throttle-rest": "wire", "brake-ohms-released": "mating", "charge-port-volts": "mating"} {
		p, err := picture.Check(k, kit, k.Check(check))
		require.NoError(t, err)
		view := parse(t, p).groups(p, "view")
		require.Len(t, view, 1)
		assert.Equal(t, side, view[0].attr("data-side"))
		assert.Contains(t, strings.Join(view[0].texts(), " "), kit.Plug(k.Check(check).Red.Plug).Viewed)
	}
}

// A plug is drawn as it lies where the probes go in, not as the knowledge base
// happens to look at it.
func TestFaceIsSeenFromWhereOneProbes(t *testing.T) {
	k := embedded(t)
	kit := k.Kit("sorrel-60")
	for check, want := range map[string]struct{ side, viewed, left string }{
		"throttle-rest":       {"wire", "from the wire side of the throttle's half, latch up", "five-volt"},
		"throttle-alone-rest": {"mating", "from the mating face of the throttle's half, latch up", "signal"},
		"pack-volts":          {"mating", "from the mating face of the pack's half, latch or notch up", "plus"},
		"pack-volts-loaded":   {"wire", "from the wire side of the bike's half, latch or notch up", "plus"},
	} {
		p, err := picture.Check(k, kit, k.Check(check))
		require.NoError(t, err)
		svg := parse(t, p)
		assert.Equal(t, want.side, svg.groups(p, "view")[0].attr("data-side"), check)
		assert.Contains(t, p.Alt(), want.viewed)
		assert.Contains(t, strings.Join(p.Text(), " "), want.viewed)
		left, x := "", 1e9
		for _, g := range svg.groups(p, "pin-") {
			if at := g.box(t).Centre().X; at < x {
				left, x = g.attr("data-pin"), at
			}
		}
		assert.Equal(t, want.left, left, check)
	}
}

func TestWarnsWhereTheHalfIsNotTold(t *testing.T) {
	plug := &kb.Plug{ID: "p", Name: "plug", Viewed: "from the wire side of the bike's half", Rows: [][]string{{"a", "b"}}, Pins: []kb.Pin{{ID: "a"}, {ID: "b"}}}
	for side, warned := range map[string]bool{"on its mating face": true, "back-probed": false, "at the bike's half, unplugged": false} {
		p := one(t, plug, &kb.Check{Red: &kb.Probe{Plug: "p", Pin: "a"}, Side: side})
		for _, where := range []string{p.Alt(), strings.Join(p.Text(), " "), drawnWords(p)} {
			assert.Equal(t, warned, strings.Contains(where, "left and right may be"), side)
		}
	}
}

// The kit that stands for all others does not pretend to know the owner's plugs.
func TestUnknownKitIsSaidToBeTypicalOnly(t *testing.T) {
	k := embedded(t)
	for _, kit := range k.Kits {
		for check, plug := range map[string]bool{"throttle-rest": true, "feed-volts": false, "negative-drop": true} {
			p, err := picture.Check(k, kit, k.Check(check))
			require.NoError(t, err)
			want := plug && kit.ID == k.About.Generic
			for _, where := range []string{p.Alt(), strings.Join(p.Text(), " "), drawnWords(p)} {
				assert.Equal(t, want, strings.Contains(where, "pins and colours may differ"), "%s on %s", check, kit.ID)
			}
		}
	}
}

// one draws a check on a kit of one plug.
func one(t require.TestingT, plug *kb.Plug, c *kb.Check) *picture.Picture {
	c.ID, c.Kind, c.Name = "probe-it", "measure", "a check"
	p, err := picture.Check(&kb.KB{}, &kb.Kit{ID: "kit", Name: "a kit", Plugs: []*kb.Plug{plug}}, c)
	require.NoError(t, err)
	return p
}

// Any plug whatever: few or many pins, gaps, long names, rows within rows.
func TestAnyPlugIsDrawnRight(t *testing.T) {
	t.Parallel()
	word := rapid.StringMatching(`[a-zA-Z0-9é漢]{1,12}`)
	rapid.Check(t, func(t *rapid.T) {
		plug := &kb.Plug{ID: "plug", Name: rapid.StringMatching(`[a-z ]{1,40}`).Draw(t, "name") + "x",
			Viewed: rapid.SampledFrom([]string{"", "from the wire side, latch up", "from the mating face, notch down", "from the wire side, latch down", "sideways"}).Draw(t, "viewed")}
		columns := rapid.IntRange(1, 14).Draw(t, "columns")
		var ids []string
		for i := range rapid.IntRange(1, 4).Draw(t, "rows") {
			var row []string
			for j := range columns {
				if len(ids) > 0 && rapid.IntRange(0, 9).Draw(t, "gap") == 0 {
					row = append(row, "")
					continue
				}
				id := string(rune('a'+i)) + string(rune('a'+j))
				ids, row = append(ids, id), append(row, id)
				plug.Pins = append(plug.Pins, kb.Pin{ID: id, Name: word.Draw(t, "pin"), Colour: rapid.SampledFrom([]string{"", "red", "black", "white", "teal with a stripe"}).Draw(t, "colour")})
			}
			plug.Rows = append(plug.Rows, row)
		}
		pin := rapid.SampledFrom(ids)
		c := &kb.Check{
			Red:   &kb.Probe{Plug: "plug", Pin: pin.Draw(t, "red")},
			Black: &kb.Probe{Plug: "plug", Pin: pin.Draw(t, "black")},
			Side:  "back-probed, plugged in", Meter: rapid.SampledFrom([]string{"", "ohms", "what you like", "AC volts, 1000 V range"}).Draw(t, "meter"),
		}
		kit := &kb.Kit{ID: "kit", Name: "a kit", Plugs: []*kb.Plug{plug}}
		p := one(t, plug, c)
		requireProbes(t, p, kit, c)
		requireLegible(t, p)
	})
}

func TestAltAndTextNamePinsAndProbes(t *testing.T) {
	k := embedded(t)
	for _, kit := range k.Kits {
		for _, c := range k.Checks {
			if !picture.Drawable(kit, c) {
				continue
			}
			p, err := picture.Check(k, kit, c)
			require.NoError(t, err)
			text := strings.Join(p.Text(), "\n")
			for name, at := range map[string]*kb.Probe{"RED": c.Red, "BLACK": c.Black} {
				if at == nil {
					continue
				}
				where := at.Place
				if at.Plug != "" {
					plug := kit.Plug(at.Plug)
					where = plug.Pin(at.Pin).Name + " pin of the " + plug.Name
					seen, _ := probe.Seen(plug, c.Side)
					assert.Contains(t, p.Alt(), seen.Viewed)
					for _, pin := range plug.Pins {
						assert.Contains(t, text, pin.Name)
					}
				}
				assert.Contains(t, p.Alt(), name+" probe to "+where)
				assert.Regexp(t, name+` → (\( \) )?`, text)
				assert.Contains(t, text, where)
			}
			assert.Contains(t, p.Alt(), c.Meter)
			assert.Contains(t, text, c.Meter)
			for _, where := range []string{text, p.Alt(), drawnWords(p)} {
				if assert.Equal(t, c.Unit != "", strings.Contains(where, "Read figure and unit: "), "%s on %s", c.ID, kit.ID) {
					assert.Contains(t, where, c.Unit)
				}
			}
		}
	}
}

func TestTextMarksThePinInItsColumn(t *testing.T) {
	k := embedded(t)
	p, err := picture.Check(k, k.Kit("sorrel-60"), k.Check("throttle-rest"))
	require.NoError(t, err)
	var names, marks string
	for _, line := range p.Text() {
		switch {
		case strings.Contains(line, "│") && strings.Contains(line, "signal"):
			names = line
		case strings.Contains(line, "│") && strings.Contains(line, "RED"):
			marks = line
		}
	}
	cells, marked := strings.Split(names, "│"), strings.Split(marks, "│")
	require.Len(t, marked, len(cells))
	for i := range cells {
		want := map[string]string{"signal": "RED", "ground": "BLACK"}[strings.TrimSpace(cells[i])]
		assert.Equal(t, want, strings.TrimSpace(marked[i]))
	}
}

func TestCheckRefuses(t *testing.T) {
	k := embedded(t)
	kit := k.Kit("teasel-48")
	for name, in := range map[string]struct {
		kit  *kb.Kit
		c    *kb.Check
		says string
	}{
		"nothing":      {nil, nil, "missing"},
		"a look":       {kit, k.Check("look-inhibits"), "no probes"},
		"another kit":  {kit, k.Check("stand-ohms"), "lacks a part"},
		"unknown plug": {kit, &kb.Check{ID: "x", Red: &kb.Probe{Plug: "nope", Pin: "a"}}, `no plug "nope"`},
		"unknown pin":  {kit, &kb.Check{ID: "x", Red: &kb.Probe{Plug: "pack-plug", Pin: "nope"}}, `no pin "nope"`},
	} {
		_, err := picture.Check(k, in.kit, in.c)
		require.Error(t, err, name)
		assert.Contains(t, err.Error(), in.says)
		assert.False(t, picture.Drawable(in.kit, in.c))
	}
}
