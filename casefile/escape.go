package casefile

import (
	"strings"
	"unicode"
)

// zeroWidth stands behind an @, so that no chat or page takes what follows for
// a name to call.
const zeroWidth = "\u200b"

// escape makes one line of plain text inert in Markdown: what was typed is what
// is read. Everything that goes on the page passes through here once, whoever
// wrote it.
func escape(s string) string {
	var b strings.Builder
	line := oneLine(s)
	for i, r := range line {
		rest := line[i:]
		switch {
		case strings.ContainsRune("\\`*_{}[]<>~|#&$^", r), i == 0 && strings.ContainsRune("+-=:", r):
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '@':
			b.WriteString("@" + zeroWidth)
		case r == ':' && strings.HasPrefix(rest, "://"):
			b.WriteString(`\:`)
		case r == '.' && endsInWWW(line[:i]), (r == '.' || r == ')') && isNumber(line[:i]) && marks(rest[1:]):
			b.WriteByte('\\')
			b.WriteRune(r)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// oneLine takes out what could end a line or turn the reading direction.
func oneLine(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r), unicode.IsControl(r):
			return ' '
		case r == '\u200b', unicode.Is(unicode.Bidi_Control, r), unicode.Is(unicode.Noncharacter_Code_Point, r):
			return -1
		}
		return r
	}, text(s))
	return strings.Join(strings.Fields(s), " ")
}

func endsInWWW(s string) bool {
	return len(s) >= 3 && strings.EqualFold(s[len(s)-3:], "www")
}

// marks says whether a number's stop with this behind it begins a list.
func marks(behind string) bool { return behind == "" || behind[0] == ' ' }

// isNumber says whether a line so far is only a number.
func isNumber(s string) bool {
	for _, r := range s {
		if r < '0' || r > '9' {
			return false
		}
	}
	return s != ""
}
