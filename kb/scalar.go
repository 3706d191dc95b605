package kb

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"gopkg.in/yaml.v3"
)

var (
	idForm     = regexp.MustCompile(`^[a-z][a-z0-9]*(-[a-z0-9]+)*$`)
	nameForm   = regexp.MustCompile(`^[a-z][a-z0-9_]*$`)
	octal      = regexp.MustCompile(`^0+[1-9][0-9]*$`)
	numberForm = regexp.MustCompile(`^[-+]?(0|[1-9][0-9]*)(\.[0-9]*)?([eE][-+]?[0-9]+)?$`)
)

// maxID keeps ids short enough for the buttons of a chat, which carry several.
const maxID = 40

func (d *decoder) text(n *yaml.Node, r rule, what string) string {
	if r.limit {
		return d.limit(n, what)
	}
	if n.Kind != yaml.ScalarNode {
		d.wrongKind(n, what, "text")
		return ""
	}
	s := strings.TrimSpace(n.Value)
	if strings.ContainsFunc(s, unicode.IsControl) {
		d.out.error(d.at(n), "text", "write it on one line, a further sentence as a further item", "%s holds a line break or another control character", what)
		return ""
	}
	switch {
	case len(r.words) > 0 && !slices.Contains(r.words, s):
		d.unknownWord(n, s, r.words, what)
		return ""
	case r.id && s != "" && (!idForm.MatchString(s) || len(s) > maxID):
		cure := fmt.Sprintf("use lower-case words joined by hyphens, at most %d characters", maxID)
		meant := strings.Join(strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return r == '_' || r == '-' || unicode.IsSpace(r) }), "-")
		if idForm.MatchString(meant) && len(meant) <= maxID {
			cure = fmt.Sprintf("write %s", meant)
		} else {
			meant = ""
		}
		d.out.error(d.at(n), "id", cure, "%s is %q, which is no id", what, s)
		return meant // what is clear is not reported again wherever it is referred to
	case r.name && s != "" && !nameForm.MatchString(s):
		d.out.error(d.at(n), "id", "use lower-case letters, digits and _", "%s is %q, which no expression can name", what, s)
		return ""
	}
	return s
}

func (d *decoder) unknownWord(n *yaml.Node, s string, words []string, what string) {
	cure := "use one of " + strings.Join(words, ", ")
	if unit, _ := unitOf(s); slices.Equal(words, Units) && unit != "" {
		cure = fmt.Sprintf("did you mean %q? %s", unit, cure)
	} else if near := Likely(s, words); near != "" {
		cure = fmt.Sprintf("did you mean %q? %s", near, cure)
	}
	d.out.error(d.at(n), "unknown-word", cure, "%s cannot be %q", what, s)
}

func (d *decoder) boolean(n *yaml.Node, what string) bool {
	if n.Kind != yaml.ScalarNode || n.Tag != "!!bool" {
		d.wrongKind(n, what, "true or false")
		word, _, _ := strings.Cut(strings.ToLower(n.Value), " ")
		return word == "yes" || word == "on" || word == "y" || word == "true" // what is clear is not reported again as missing
	}
	return strings.EqualFold(n.Value, "true")
}

func (d *decoder) number(n *yaml.Node, r rule, what string) float64 {
	x, ok := plainNumber(n)
	if !ok {
		d.notNumber(n, what)
		return 0
	}
	if r.span != nil {
		lo, hi := r.span[0], r.span[1]
		switch {
		case r.above && x <= lo || x < lo || x > hi:
			want := fmt.Sprintf("give a number from %v to %v", lo, hi)
			if r.span == share && x >= 2 && x <= 100 {
				want += fmt.Sprintf(": %v %% is %v", x, x/100)
			}
			if r.above {
				want = fmt.Sprintf("give a number above %v, at most %v", lo, hi)
			}
			d.out.error(d.at(n), "range", want, "%s is %s", what, n.Value)
		}
	}
	return x
}

func plainNumber(n *yaml.Node) (float64, bool) {
	if n.Kind != yaml.ScalarNode || n.Tag != "!!int" && n.Tag != "!!float" || !numberForm.MatchString(n.Value) {
		return 0, false
	}
	x, err := strconv.ParseFloat(n.Value, 64)
	return x, err == nil && !math.IsInf(x, 0)
}

func (d *decoder) notNumber(n *yaml.Node, what string) {
	cure := "write it like 4.5, without unit or quotes"
	switch {
	case n.Kind == yaml.ScalarNode && strings.Contains(n.Value, ","):
		cure = "write a point for the decimals, not a comma"
	case n.Kind == yaml.ScalarNode && octal.MatchString(n.Value):
		cure = "write it like " + strings.TrimLeft(n.Value, "0") + ", without a nought before it"
	}
	d.out.error(d.at(n), "kind", cure, "%s must be a plain number, not %s", what, kindOf(n))
}

// limit reads a number or an expression; both stay text.
func (d *decoder) limit(n *yaml.Node, what string) string {
	_, number := plainNumber(n)
	switch s := strings.Join(strings.Fields(n.Value), " "); {
	case number:
		return n.Value
	case n.Kind != yaml.ScalarNode || n.Tag != "!!str":
		d.wrongKind(n, what, "a plain number, or an expression in quotes")
	case s == "":
		d.out.error(d.at(n), "missing-key", "give a number or an expression", "%s is empty", what)
	default:
		return s
	}
	return ""
}

// figures keeps the order of the file, because later ones may use earlier ones.
func (d *decoder) figures(n *yaml.Node, what string) Figures {
	var all Figures
	d.pairs(n, what, func(key, value *yaml.Node) {
		name := fmt.Sprintf("%q of %s", key.Value, what)
		if !nameForm.MatchString(key.Value) {
			d.out.error(d.at(key), "id", "use lower-case letters, digits and _", "figure %q cannot be named in an expression", key.Value)
		}
		all = append(all, Figure{Name: key.Value, Expr: d.limit(follow(value), name), Pos: d.at(value)})
	})
	return all
}

// shows reads a probability for a symptom, or outcome: probability for a check.
// Which of the two it must be is known only when all files are read.
func (d *decoder) shows(n *yaml.Node, r rule, what string) []Show {
	var all []Show
	d.pairs(n, what, func(key, value *yaml.Node) {
		name := fmt.Sprintf("%q of %s", key.Value, what)
		s := Show{Of: key.Value, Pos: d.at(key)}
		v := follow(value)
		if v.Kind != yaml.MappingNode {
			s.Present = d.number(v, r, name)
			all = append(all, s)
			return
		}
		s.Outcomes = map[string]float64{}
		d.pairs(v, name, func(key, value *yaml.Node) {
			s.Outcomes[key.Value] = d.number(follow(value), r, fmt.Sprintf("%q of %s", key.Value, name))
		})
		all = append(all, s)
	})
	return all
}

func (d *decoder) points(n *yaml.Node, r rule, what string) [][2]float64 {
	if n.Kind != yaml.SequenceNode {
		d.wrongKind(n, what, "a list of pairs")
		return nil
	}
	var all [][2]float64
	for _, c := range n.Content {
		p := follow(c)
		if p.Kind != yaml.SequenceNode || len(p.Content) != 2 {
			d.out.error(d.at(c), "kind", "write each point as [x, y]", "a point of %s is not a pair", what)
			continue
		}
		all = append(all, [2]float64{
			d.number(follow(p.Content[0]), r, "x of "+what),
			d.number(follow(p.Content[1]), r, "y of "+what),
		})
	}
	return all
}
