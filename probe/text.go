package probe

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"triagebot/kb"
)

// Text draws in characters of one width where a check's probes go: each plug
// with its pins as they lie, seen from where the probes go in. It is empty when
// the kit does not have the plugs.
func (w Words) Text(kit *kb.Kit, c *kb.Check) []string {
	if kit == nil || c == nil {
		return nil
	}
	spots, err := w.Spots(kit, c)
	if err != nil {
		return nil
	}
	var lines []string
	for i, s := range Sections(spots) {
		if i > 0 {
			lines = append(lines, "")
		}
		lines = append(lines, w.section(s)...)
	}
	if here := w.Here(c); here != "" {
		lines = append(lines, here)
	}
	return lines
}

func (w Words) section(spots []Spot) []string {
	var lines []string
	plug := spots[0].Plug
	if plug == nil {
		for _, s := range spots {
			lines = append(lines, "  "+w.Name(s.Probe)+" → ( ) "+s.Place)
		}
		return lines
	}
	head := capital(plug.Name)
	if plug.Where != "" {
		head += ", " + plug.Where
	}
	lines = append(lines, head+".")
	if as := w.DrawnAs(plug); as != "" {
		lines = append(lines, as)
	}
	lines = append(lines, w.face(plug, spots)...)
	if warning := spots[0].Warning(); warning != "" {
		lines = append(lines, warning)
	}
	for _, s := range spots {
		lines = append(lines, "  "+w.Name(s.Probe)+" → "+s.Where())
	}
	return lines
}

// face draws a plug's pins as they lie. The probed pins carry RED or BLACK in
// capitals, because colour may not be seen.
func (w Words) face(plug *kb.Plug, spots []Spot) []string {
	marks := map[string]string{}
	for _, s := range spots {
		marks[s.Pin.ID] = strings.TrimSpace(marks[s.Pin.ID] + " " + w.Name(s.Probe))
	}
	wire := func(id string) string {
		if pin := plug.Pin(id); pin != nil {
			return w.Wire(*pin)
		}
		return ""
	}
	width, columns := 5, 0
	for _, row := range plug.Rows {
		columns = max(columns, len(row))
		for _, id := range row {
			if id != "" {
				width = max(width, letters(w.PinName(plug, id)), letters(marks[id]), letters(wire(id)))
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
	k := w.KeyOf(plug)
	latch := strings.TrimRight(centre("["+k.Word+"]", columns*(width+3)+5), " ")
	if k.There && !k.Down {
		lines = append(lines, latch)
	}
	for i, row := range plug.Rows {
		if i == 0 {
			lines = append(lines, bar("┌", "┬", "┐"))
		} else {
			lines = append(lines, bar("├", "┼", "┤"))
		}
		lines = append(lines, line(row, func(id string) string { return w.PinName(plug, id) }), line(row, wire))
		for _, id := range row {
			if marks[id] != "" {
				lines = append(lines, line(row, func(id string) string { return marks[id] }))
				break
			}
		}
	}
	lines = append(lines, bar("└", "┴", "┘"))
	if k.There && k.Down {
		lines = append(lines, latch)
	}
	return lines
}

func letters(s string) int { return utf8.RuneCountInString(s) }

func centre(s string, width int) string {
	gap := width - letters(s)
	if gap <= 0 {
		return s
	}
	return strings.Repeat(" ", gap/2) + s + strings.Repeat(" ", gap-gap/2)
}

func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 || r == utf8.RuneError {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}
