package web

import (
	"strings"
	"unicode"
)

// plain takes out of what a person wrote what is not seen or turns the line
// around (control characters, marks of direction), and bounds its length. The
// words stay; html/template sees to the rest.
func plain(s string, most int) string {
	var b strings.Builder
	n := 0
	for _, r := range s {
		if n == most {
			b.WriteRune('…')
			break
		}
		switch {
		case r == '\n' || r == '\t':
			r = ' '
		case r == unicode.ReplacementChar, unicode.IsControl(r), unicode.Is(unicode.Cf, r) && r != '\u200d':
			continue
		}
		b.WriteRune(r)
		n++
	}
	return strings.TrimSpace(b.String())
}
