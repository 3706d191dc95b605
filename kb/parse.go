package kb

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"

	"gopkg.in/yaml.v3"
)

// parse reads the one YAML document of a file. It is nil when the file holds
// nothing or cannot be read as YAML.
func parse(f file, out *findings) *yaml.Node {
	dec := yaml.NewDecoder(bytes.NewReader(f.text))
	var doc, more yaml.Node
	switch err := dec.Decode(&doc); {
	case errors.Is(err, io.EOF):
		out.warn(Pos{f.name, 1, 1}, "empty-file", "fill it or take it away", "the file holds nothing")
		return nil
	case err != nil:
		out.add(syntaxError(f, err))
		return nil
	}
	switch err := dec.Decode(&more); {
	case errors.Is(err, io.EOF):
	case err != nil:
		out.add(syntaxError(f, err))
	default:
		out.error(Pos{f.name, more.Line, more.Column}, "document", "take the line --- away, or put this into a file of its own",
			"a second document begins here, and only the first of a file is read")
	}
	return doc.Content[0]
}

var (
	yamlLine   = regexp.MustCompile(`^line (\d+): `)
	yamlAnchor = regexp.MustCompile(`^unknown anchor '(.*)' referenced$`)
	// yamlParser matches the errors whose line the library counts from 0; the
	// others it counts from 1.
	yamlParser = regexp.MustCompile(`^did not find expected (<|node content|'-' indicator|key|',' or)`)
	// vagueError matches the errors that name the block, or the line after, and
	// not the line with the mistake.
	vagueError = regexp.MustCompile(`^(did not find expected (key|'-' indicator|node content)|could not find expected ':'|found unexpected end of stream)`)
)

// syntaxError turns the YAML library's own error into a diagnostic. The
// library names the line alone, and for an unknown anchor not even that.
func syntaxError(f file, err error) Diagnostic {
	text := strings.TrimPrefix(err.Error(), "yaml: ")
	pos := Pos{f.name, 1, 1}
	if m := yamlLine.FindStringSubmatch(text); m != nil {
		pos.Line, _ = strconv.Atoi(m[1])
		text = text[len(m[0]):]
		if yamlParser.MatchString(text) {
			pos.Line++
		}
	}
	lines := strings.Split(string(f.text), "\n")
	pos.Line = min(pos.Line, len(lines))
	if m := yamlAnchor.FindStringSubmatch(text); m != nil {
		for i, l := range lines {
			if at := strings.Index(l, "*"+m[1]); at >= 0 {
				pos.Line, pos.Col = i+1, len([]rune(l[:at]))+1
				break
			}
		}
		return Diagnostic{pos, Error, "alias", fmt.Sprintf("no anchor %q comes before this alias", m[1]),
			"write the value out, or set &" + m[1] + " before its first use"}
	}
	// A tab is found only when the line before it turns out not to end there.
	for n := pos.Line; n <= min(pos.Line+1, len(lines)); n++ {
		l := lines[n-1]
		if indent := l[:len(l)-len(strings.TrimLeft(l, " \t"))]; strings.Contains(indent, "\t") {
			pos.Line, pos.Col = n, strings.Index(indent, "\t")+1
			return Diagnostic{pos, Error, "yaml", "a tab indents this line", "indent with spaces"}
		}
	}
	if vagueError.MatchString(text) {
		if line, col, slip, cure := slipLine(lines, pos.Line); line > 0 {
			return Diagnostic{Pos{f.name, line, col}, Error, "yaml", "this is not YAML: " + slip, cure}
		}
	}
	l := lines[max(0, pos.Line-1)]
	pos.Col = len(l) - len(strings.TrimLeft(l, " ")) + 1
	return Diagnostic{pos, Error, "yaml", "this is not YAML: " + text, syntaxCure(text)}
}

// syntaxCure says what usually lies behind the YAML library's words.
func syntaxCure(text string) string {
	switch {
	case strings.Contains(text, "mapping values are not allowed"):
		return "put text that holds a colon in quotes, and look at the indentation of this line"
	case strings.Contains(text, "max depth"):
		return "look for a bracket too many"
	case strings.Contains(text, "',' or"):
		return "put a comma between the items, quotes round text that holds one, and close the bracket that is open"
	case strings.Contains(text, "end of stream"), strings.Contains(text, "document indicator"):
		return "close the quote or bracket that is still open"
	case strings.Contains(text, "cannot start any token"):
		return "put text that begins with a sign such as % or @ in quotes"
	case strings.Contains(text, "control characters"):
		return "save it as plain text in UTF-8"
	}
	return "look at the indentation, quotes and brackets of this line and its neighbours"
}

// Limits on a tree. The deepest place of a real file is some ten levels down;
// aliases count each time they are used, or few lines could stand for billions
// of nodes.
const (
	maxDepth = 50
	maxNodes = 1_000_000
)

// guard walks whole trees, following aliases, and refuses what the decoder
// should not follow.
type guard struct {
	left int
	file string
	out  *findings
}

// passes says whether the tree below n is small and finite.
func (g *guard) passes(n *yaml.Node, depth int, open []*yaml.Node) bool {
	pos := Pos{g.file, n.Line, n.Column}
	if g.left--; g.left < 0 {
		g.out.error(pos, "size", "use fewer aliases, or split the folder",
			"the files hold more than %d values, aliases counted each time they are used", maxNodes)
		return false
	}
	if depth > maxDepth {
		g.out.error(pos, "depth", "look for a bracket too many", "this is nested more than %d levels deep", maxDepth)
		return false
	}
	if n.Kind == yaml.AliasNode {
		for _, o := range open {
			if o == n.Alias {
				g.out.error(pos, "alias", "write the value out", "the alias %q stands inside the value it names", n.Value)
				return false
			}
		}
		return g.passes(n.Alias, depth+1, append(open, n.Alias))
	}
	if n.Anchor != "" {
		open = append(open, n)
	}
	for _, c := range n.Content {
		if !g.passes(c, depth+1, open) {
			return false
		}
	}
	return true
}

// follow goes through aliases to the value.
func follow(n *yaml.Node) *yaml.Node {
	for n.Kind == yaml.AliasNode {
		n = n.Alias
	}
	return n
}
