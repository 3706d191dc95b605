package picture

import (
	"strings"
	"unicode/utf8"

	"triagebot/kb"
)

// checkText is the picture of a check in characters of one width.
func checkText(kit *kb.Kit, c *kb.Check, sections [][]spot) []string {
	lines := []string{capital(c.Name) + " (" + kit.Name + ")"}
	for _, s := range sections {
		lines = append(lines, "")
		plug := s[0].plug
		if plug == nil {
			for _, place := range s {
				lines = append(lines, "  "+say(place.probe)+" → ( ) "+place.place)
			}
			continue
		}
		head := capital(plug.Name)
		if plug.Where != "" {
			head += ", " + plug.Where
		}
		lines = append(lines, head)
		if plug.Viewed != "" {
			lines = append(lines, stop(say("drawn-as", "viewed", plug.Viewed)))
		}
		lines = append(lines, faceText(plug, s)...)
		if says := orderSays(plug.Viewed, c.Side); says != "" {
			lines = append(lines, says)
		}
		for _, probe := range s {
			lines = append(lines, "  "+say(probe.probe)+" → "+probe.where())
		}
	}
	lines = append(lines, "")
	if c.Side != "" {
		lines = append(lines, stop(say("probe-side", "side", c.Side)))
	}
	if c.Meter != "" {
		lines = append(lines, stop(say("alt-meter", "meter", c.Meter)))
	}
	return lines
}

// faceText draws a plug's pins as they lie. The probed pins carry RED or BLACK
// in capitals, because colour may not be seen.
func faceText(plug *kb.Plug, spots []spot) []string {
	marks := map[string]string{}
	for _, s := range spots {
		marks[s.pin.ID] = strings.TrimSpace(marks[s.pin.ID] + " " + say(s.probe))
	}
	width, columns := 5, 0
	for _, row := range plug.Rows {
		columns = max(columns, len(row))
		for _, id := range row {
			if id == "" {
				continue
			}
			width = max(width, utf8.RuneCountInString(pinName(plug, id)), utf8.RuneCountInString(marks[id]))
			if pin := plug.Pin(id); pin != nil {
				width = max(width, utf8.RuneCountInString(wireWords(*pin)))
			}
		}
	}
	bar := func(left, mid, right string) string {
		cells := make([]string, columns)
		for i := range cells {
			cells[i] = strings.Repeat("─", width+2)
		}
		return "  " + left + strings.Join(cells, mid) + right
	}
	line := func(row []string, of func(id string) string) string {
		out := "  │"
		for col := range columns {
			text := ""
			if col < len(row) && row[col] != "" {
				text = of(row[col])
			}
			out += " " + centre(text, width) + " │"
		}
		return out
	}
	var lines []string
	k := keyOf(plug.Viewed)
	latch := strings.TrimRight(centre("["+k.word+"]", columns*(width+3)+5), " ")
	if k.there && !k.down {
		lines = append(lines, latch)
	}
	for i, row := range plug.Rows {
		if i == 0 {
			lines = append(lines, bar("┌", "┬", "┐"))
		} else {
			lines = append(lines, bar("├", "┼", "┤"))
		}
		lines = append(lines,
			line(row, func(id string) string { return pinName(plug, id) }),
			line(row, func(id string) string {
				if pin := plug.Pin(id); pin != nil {
					return wireWords(*pin)
				}
				return ""
			}))
		for _, id := range row {
			if marks[id] != "" {
				lines = append(lines, line(row, func(id string) string { return marks[id] }))
				break
			}
		}
	}
	lines = append(lines, bar("└", "┴", "┘"))
	if k.there && k.down {
		lines = append(lines, latch)
	}
	return lines
}

func centre(s string, width int) string {
	gap := width - utf8.RuneCountInString(s)
	if gap <= 0 {
		return s
	}
	return strings.Repeat(" ", gap/2) + s + strings.Repeat(" ", gap-gap/2)
}
