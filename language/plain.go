package language

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// Plain is a text in lower case without accents.
func Plain(s string) string {
	lower := strings.ToLower(s)
	if isASCII(lower) {
		return lower
	}
	var b strings.Builder
	for _, r := range norm.NFKD.String(lower) {
		if !unicode.Is(unicode.Mn, r) {
			b.WriteRune(r)
		}
	}
	return b.String()
}

func isASCII(s string) bool {
	for i := 0; i < len(s); i++ {
		if s[i] >= 0x80 {
			return false
		}
	}
	return true
}

// split cuts a text into plain words; figures and signs are none.
func split(s string) []string {
	return strings.FieldsFunc(Plain(s), func(r rune) bool { return !unicode.IsLetter(r) })
}

func isLetter(r rune) bool { return unicode.IsLetter(r) || unicode.Is(unicode.Mn, r) }
