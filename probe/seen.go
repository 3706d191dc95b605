package probe

import (
	"slices"
	"strings"

	"triagebot/kb"
)

// Sight is the side of a plug that is looked at.
type Sight uint8

// The sides.
const (
	AnySide Sight = iota
	WireSide
	MatingFace
)

// SightOf reads a side out of words; back-probing is done from the wires, and
// a plug that is off shows its mating face.
func SightOf(words string) Sight {
	switch {
	case strings.Contains(words, "wire side"), strings.Contains(words, "back-probed"):
		return WireSide
	case strings.Contains(words, "mating face"), strings.Contains(words, "unplugged"):
		return MatingFace
	}
	return AnySide
}

// halfOf reads which half of a plug words speak of: "the bike's half", bike.
func halfOf(words string) string {
	before, _, found := strings.Cut(words, " half")
	if !found {
		return ""
	}
	list := strings.Fields(before)
	for i := len(list) - 1; i >= 0; i-- {
		if owner, ok := strings.CutSuffix(list[i], "'s"); ok {
			return owner
		}
	}
	return ""
}

// Seen is a plug as it lies before the eyes of who probes it from a side. The
// knowledge base has one drawing of a plug, from one side of one half. From the
// other side of that half, or from the same side of the other half, left and
// right are swapped; from the other side of the other half the pins lie the
// same again. Unsure is true, and the plug is as in the knowledge base, when
// the other side is meant but not told of which half.
func (w Words) Seen(plug *kb.Plug, side string) (seen *kb.Plug, unsure bool) {
	from, to := SightOf(plug.Viewed), SightOf(side)
	if from == AnySide || to == AnySide {
		return plug, false
	}
	half, other := halfOf(plug.Viewed), halfOf(side)
	if half == "" || other == "" {
		return plug, from != to
	}
	if from == to && half == other {
		return plug, false
	}
	turned := *plug
	turned.Viewed = In("").viewed(to, other, plug.Viewed)
	turned.ViewedIn = w.viewed(to, other, plug.ViewedSaid())
	if (from != to) != (half != other) {
		turned.Rows = mirrored(plug.Rows)
	}
	return &turned, false
}

// viewed says a new side in the place of the old one and keeps what is said of
// the latch: turned to its other side the plug is still held the same way up.
func (w Words) viewed(s Sight, half, old string) string {
	side := w.say("wire-side")
	if s == MatingFace {
		side = w.say("mating-face")
	}
	text := w.say("of-half", "side", side, "half", w.half(half))
	if _, rest, ok := strings.Cut(old, ","); ok {
		text += "," + rest
	}
	return text
}

// mirrored swaps left and right; short rows are filled with gaps first, so
// that every pin stays in its column.
func mirrored(rows [][]string) [][]string {
	columns := 0
	for _, row := range rows {
		columns = max(columns, len(row))
	}
	var out [][]string
	for _, row := range rows {
		full := append(slices.Clone(row), make([]string, columns-len(row))...)
		slices.Reverse(full)
		out = append(out, full)
	}
	return out
}

// Key is the latch or notch of a plug, by which one knows which way up it is.
type Key struct {
	There, Notch, Down bool
	Word               string
}

// KeyOf reads the key out of the words that say how a plug is looked at:
// "from the wire side, latch up".
func KeyOf(viewed string) Key {
	for part := range strings.SplitSeq(viewed, ",") {
		words := strings.Fields(part)
		if len(words) < 2 {
			continue
		}
		last := words[len(words)-1]
		latch, notch := strings.Contains(part, "latch"), strings.Contains(part, "notch")
		if (latch || notch) && (last == "up" || last == "down") {
			return Key{There: true, Notch: notch && !latch, Down: last == "down", Word: strings.Join(words[:len(words)-1], " ")}
		}
	}
	return Key{}
}

// half is what a half of a plug is called.
func (w Words) half(half string) string {
	if text, ok := w["half-"+half]; ok {
		return text
	}
	return half
}

// KeyOf is the key of a plug, its word in the language.
func (w Words) KeyOf(plug *kb.Plug) Key {
	k := KeyOf(plug.Viewed)
	if text, ok := w["key-"+k.Word]; ok {
		k.Word = text
	}
	return k
}
