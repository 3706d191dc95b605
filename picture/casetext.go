package picture

import "strings"

// text is the ladder in characters of one width.
func (l *ladder) text() []string {
	var lines []string
	for i, r := range l.rows {
		rail := strings.Repeat("│ ", r.lane)
		more := rail + "│   "
		switch {
		case r.link != nil:
			sign := "█"
			words := capital(strings.TrimPrefix(l.linkName(r.link.ID), "the "))
			switch {
			case l.flow.rail(r.link.ID) != "stops":
			case len(l.flow.stops) == 1:
				sign, words = "X", words+" <- "+say("stops-here")
			default:
				sign, words = "X", words+" <- "+say("may-stop")
			}
			lines = append(lines, rail+sign+" "+words)
			for _, f := range l.findingsAcross(r.link.ID) {
				lines = append(lines, more+f.line())
			}
			for _, s := range l.suspectsOn(r.link.ID) {
				lines = append(lines, more+s.line())
			}
		case r.folded != nil:
			lines = append(lines, rail+": "+l.foldedSays(r.folded))
		default:
			if i == 0 {
				lines = append(lines, rail+"o "+capital(idWords(r.point)))
			}
			for _, f := range l.findingsAt(r.point) {
				lines = append(lines, rail+"o "+f.line())
			}
			for _, s := range l.suspectsAt(r.point) {
				lines = append(lines, rail+"o "+s.line())
			}
		}
	}
	return lines
}

// line is a finding in one line of text, with its judgement as a sign.
func (f finding) line() string {
	return "[" + say("sign-"+string(f.verdict)) + "] " + f.says() + " (" + f.name + ")"
}

func (s suspect) line() string { return "* " + s.says() }
