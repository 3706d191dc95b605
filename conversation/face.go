package conversation

import (
	"strings"
	"unicode/utf8"

	"triagebot/kb"
)

// faces draws the plugs a check touches, in text, with the probes marked and
// the side from which one looks.
func (e *Engine) faces(kit string, c *kb.Check) []string {
	var lines []string
	drawn := map[string]bool{}
	for _, probe := range []*kb.Probe{c.Red, c.Black} {
		if probe == nil || probe.Plug == "" || drawn[probe.Plug] {
			continue
		}
		drawn[probe.Plug] = true
		plug, _ := e.pin(kit, probe)
		if plug == nil {
			continue
		}
		if plug.Where != "" {
			lines = append(lines, e.sentence("face-where", "where", plug.Where))
		}
		lines = append(lines, e.sentence("face", "plug", plug.Name, "viewed", plug.Viewed))
		lines = append(lines, drawFace(plug, marked(plug, c.Red), marked(plug, c.Black))...)
		lines = append(lines, e.sentence("face-colours"))
	}
	return lines
}

// marked is the pin of a plug that a probe touches, "" for none.
func marked(plug *kb.Plug, p *kb.Probe) string {
	if p != nil && p.Plug == plug.ID {
		return p.Pin
	}
	return ""
}

// drawFace draws a plug's pins as they lie. The probed pins carry RED or BLACK
// in capitals, because colour may not be seen.
func drawFace(plug *kb.Plug, red, black string) []string {
	names := map[string]string{}
	for _, p := range plug.Pins {
		names[p.ID] = p.Name
	}
	width, columns := 5, 0
	for _, row := range plug.Rows {
		columns = max(columns, len(row))
		for _, id := range row {
			width = max(width, utf8.RuneCountInString(names[id]))
		}
	}
	rule := func(left, mid, right string) string {
		return "  " + left + strings.Repeat(strings.Repeat("─", width+2)+mid, columns-1) + strings.Repeat("─", width+2) + right
	}
	var lines []string
	for i, row := range plug.Rows {
		if i == 0 {
			lines = append(lines, rule("┌", "┬", "┐"))
		} else {
			lines = append(lines, rule("├", "┼", "┤"))
		}
		name, mark, marks := "  │", "  │", false
		for col := range columns {
			id := ""
			if col < len(row) {
				id = row[col]
			}
			m := ""
			switch {
			case id == "":
			case id == red:
				m, marks = "RED", true
			case id == black:
				m, marks = "BLACK", true
			}
			name += " " + centre(names[id], width) + " │"
			mark += " " + centre(m, width) + " │"
		}
		lines = append(lines, name)
		if marks {
			lines = append(lines, mark)
		}
	}
	return append(lines, rule("└", "┴", "┘"))
}

func centre(s string, width int) string {
	gap := width - utf8.RuneCountInString(s)
	if gap <= 0 {
		return s
	}
	return strings.Repeat(" ", gap/2) + s + strings.Repeat(" ", gap-gap/2)
}
