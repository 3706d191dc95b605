package kb

import (
	"fmt"
	"regexp"
	"strings"
)

// The YAML library tells where it gave up, which is often the beginning of the
// block that holds the mistake. What follows looks for the line itself.

var (
	valueBegins = regexp.MustCompile(`(?:^\s*(?:- )*|: |- |\[|, |\{)'`)
	afterQuote  = regexp.MustCompile(`^\s*(?:- )*[\p{L}-]+: +"(?:[^"\\]|\\.)*"\s*[^\s#]`)
	noBlankDash = regexp.MustCompile(`^\s*-[\p{L}"'\[{]`)
	noBlank     = regexp.MustCompile(`^\s*(?:- )*[a-z][a-z-]*:[^\s]`)
)

// slipLine finds the first line at or after the given one (counted from 1)
// that shows a slip by itself: its number, column, what is wrong and the cure.
func slipLine(lines []string, from int) (line, col int, text, cure string) {
	var levels []int // the columns at which something may begin
	depth := 0       // of brackets: within them indentation is free
	for n := from; n <= len(lines); n++ {
		l, _, _ := strings.Cut(lines[n-1], " #")
		trimmed := strings.TrimLeft(l, " ")
		if strings.TrimSpace(trimmed) == "" || trimmed[0] == '#' {
			continue
		}
		switch double := strings.Count(strings.ReplaceAll(l, `\"`, ""), `"`); {
		case double%2 == 1:
			return n, column(l, strings.LastIndex(l, `"`)), "a quote on this line is not closed", `close it, or write \" for a quote within the text`
		case double == 0 && strings.Count(l, "'")%2 == 1 && valueBegins.MatchString(l):
			return n, column(l, valueBegins.FindStringIndex(l)[1]-1), "a single quote on this line is not closed",
				"put text with an apostrophe in double quotes"
		case depth == 0 && afterQuote.MatchString(l):
			return n, column(l, afterQuote.FindStringIndex(l)[1]-1), "something follows the closing quote",
				"put the whole text in one pair of quotes, or several in brackets: [\"a\", \"b\"]"
		case depth == 0 && noBlankDash.MatchString(l):
			return n, column(l, strings.IndexByte(l, '-')), "no blank follows the dash", "write each item as - item, with a blank"
		case depth == 0 && noBlank.MatchString(l):
			return n, column(l, strings.IndexByte(l, ':')), "no blank follows the colon", "write key: value, with a blank"
		}
		indent := len(l) - len(trimmed)
		if depth == 0 {
			for len(levels) > 0 && indent < levels[len(levels)-1] {
				levels = levels[:len(levels)-1]
			}
			if len(levels) > 0 && indent != levels[len(levels)-1] && n > from && shallower(lines, n) {
				return n, indent + 1, fmt.Sprintf("this line is indented by %d, which fits nothing above it", indent),
					"indent it as its neighbours are, or these as it is"
			}
			levels = append(levels, indent)
			for strings.HasPrefix(trimmed, "- ") {
				rest := strings.TrimLeft(trimmed[2:], " ")
				indent += len(trimmed) - len(rest)
				trimmed = rest
				levels = append(levels, indent)
			}
		}
		depth = max(0, depth+brackets(l))
	}
	return 0, 0, "", ""
}

// shallower says whether a line begins further left than the line before it:
// further right, something new may begin anywhere.
func shallower(lines []string, n int) bool {
	for k := n - 2; k >= 0; k-- {
		if t := strings.TrimLeft(lines[k], " "); t != "" && t[0] != '#' {
			content := len(lines[k]) - len(t)
			for strings.HasPrefix(t, "- ") {
				content, t = content+2, t[2:]
			}
			return len(lines[n-1])-len(strings.TrimLeft(lines[n-1], " ")) < content
		}
	}
	return false
}

// brackets is how many more are opened than closed on a line, outside quotes.
func brackets(l string) int {
	depth, quoted := 0, false
	for i := range len(l) {
		switch {
		case l[i] == '"' && (i == 0 || l[i-1] != '\\'):
			quoted = !quoted
		case quoted:
		case l[i] == '[' || l[i] == '{':
			depth++
		case l[i] == ']' || l[i] == '}':
			depth--
		}
	}
	return depth
}

func column(l string, at int) int { return len([]rune(l[:max(0, at)])) + 1 }

var (
	quotedText    = regexp.MustCompile(`'[^']*'|"[^"]*"`)
	withUnit      = regexp.MustCompile(`^([-+]?[0-9]+(?:[.,][0-9]+)?) *([\p{L}°%]+)$`)
	unitInside    = regexp.MustCompile(`[0-9] *(m?V|m?A|[kM]?Ω|°C|k?Hz)([^\p{L}0-9_]|$)`)
	decimalComma  = regexp.MustCompile(`[0-9],[0-9]`)
	loneEquals    = regexp.MustCompile(`(?:^|[^=<>!])=(?:[^=]|$)`)
	timesX        = regexp.MustCompile(`[0-9)] *[xX] *[a-z0-9(]`)
	noDefault     = regexp.MustCompile(`reading\( *('[^']*'|"[^"]*") *\)`)
	calledNothing = regexp.MustCompile(`[a-z]+ *\(`)
)

// limitSlip finds what people write in limits that the expressions do not
// know, and says it in their words.
func limitSlip(src string) (text, cure string) {
	bare := quotedText.ReplaceAllString(src, "")
	switch m := withUnit.FindStringSubmatch(src); {
	case m != nil:
		if unit, _ := unitOf(m[2]); unit != "" {
			return fmt.Sprintf("limit %q carries a unit", src), "write " + strings.ReplaceAll(m[1], ",", ".") + " alone, in the unit of the check"
		}
	case unitInside.MatchString(bare):
		return fmt.Sprintf("limit %q holds a unit", src), "write the number alone, in the unit of the check"
	}
	switch {
	case strings.ContainsAny(src, "“”„‘’«»"):
		return fmt.Sprintf("limit %q holds typographic quotes", src), `write plain quotes, ' within "`
	case strings.ContainsAny(src, "×·÷−–"):
		return fmt.Sprintf("limit %q holds a sign that cannot be worked out", src), "write * for times, / for a division and - for minus"
	case decimalComma.MatchString(bare) && (!calledNothing.MatchString(bare) || decimalComma.MatchString(bare[:strings.IndexByte(bare, '(')])):
		return fmt.Sprintf("limit %q holds a comma", src), "write a point for the decimals"
	case strings.Count(bare, "(") > strings.Count(bare, ")"):
		return fmt.Sprintf("limit %q opens a bracket that it does not close", src), "count the brackets: each ( needs its )"
	case strings.Count(bare, "(") < strings.Count(bare, ")"):
		return fmt.Sprintf("limit %q closes a bracket that it does not open", src), "count the brackets: each ) needs its ("
	case loneEquals.MatchString(bare):
		return fmt.Sprintf("limit %q compares with a single =", src), "write == for equal"
	case timesX.MatchString(bare):
		return fmt.Sprintf("limit %q multiplies with x", src), "write * for times"
	case noDefault.MatchString(src):
		m := noDefault.FindStringSubmatch(src)
		return fmt.Sprintf("reading(%s) of limit %q says no default", m[1], src), "write reading(" + m[1] + ", 5), where 5 stands as long as that reading is unknown"
	}
	return "", ""
}
