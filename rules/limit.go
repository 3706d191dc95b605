package rules

import (
	"fmt"
	"math"
	"sort"
	"strconv"
	"sync"

	"github.com/expr-lang/expr"
	"github.com/expr-lang/expr/vm"

	"triagebot/kb"
)

// Known is an earlier reading that limits may refer to.
type Known struct {
	Value float64
	U     float64 // standard uncertainty
}

// Scope evaluates limits for one kit: its figures, what was read before, and
// the tables of the knowledge base.
type Scope struct {
	kb       *kb.KB
	kit      *kb.Kit
	figures  map[string]float64
	readings map[string]Known
}

// NewScope works out the figures of a kit. Figures the owner was asked for are
// given in asked; one that was not asked yet counts with its default.
func NewScope(k *kb.KB, kit *kb.Kit, asked map[string]float64) (*Scope, error) {
	s := &Scope{kb: k, kit: kit, figures: map[string]float64{}}
	for _, a := range kit.Ask {
		v, ok := asked[a.Figure]
		if !ok {
			v = a.Default
		}
		s.figures[a.Figure] = v
	}
	for _, f := range kit.Figures {
		v, err := s.Number(f.Expr)
		if err != nil {
			return nil, fmt.Errorf("kit %q, figure %q: %w", kit.ID, f.Name, err)
		}
		s.figures[f.Name] = v
	}
	return s, nil
}

// With returns the scope with these earlier readings known.
func (s *Scope) With(readings map[string]Known) *Scope {
	t := *s
	t.readings = readings
	return &t
}

// Figure returns a figure of the kit.
func (s *Scope) Figure(name string) (float64, bool) {
	v, ok := s.figures[name]
	return v, ok
}

// Number evaluates a limit. The error says what in the limit is wrong.
func (s *Scope) Number(src string) (float64, error) {
	if v, err := strconv.ParseFloat(src, 64); err == nil {
		return finite(src, v)
	}
	out, err := s.eval(src, nil)
	if err != nil {
		return 0, err
	}
	switch v := out.(type) {
	case float64:
		return finite(src, v)
	case int:
		return float64(v), nil
	}
	return 0, fmt.Errorf("limit %q is not a number", src)
}

// Holds evaluates a condition; value is the reading it may speak of.
func (s *Scope) Holds(src string, value float64) (bool, error) {
	out, err := s.eval(src, map[string]float64{"value": value})
	if err != nil {
		return false, err
	}
	b, ok := out.(bool)
	if !ok {
		return false, fmt.Errorf("condition %q is neither true nor false", src)
	}
	return b, nil
}

func finite(src string, v float64) (float64, error) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("limit %q is not a finite number", src)
	}
	return v, nil
}

// limit is a number with the uncertainty it takes over from the readings that
// it refers to.
type limit struct{ value, u float64 }

func (s *Scope) limit(src string) (limit, error) {
	v, err := s.Number(src)
	if err != nil {
		return limit{}, err
	}
	l := limit{value: v}
	for _, id := range s.refersTo(src) {
		k, ok := s.readings[id]
		if !ok || k.U == 0 {
			continue
		}
		moved := map[string]Known{}
		for other, r := range s.readings {
			moved[other] = r
		}
		moved[id] = Known{Value: k.Value + k.U}
		up, err := s.With(moved).Number(src)
		if err != nil {
			return limit{}, err
		}
		l.u = math.Hypot(l.u, up-v)
	}
	return l, nil
}

// refersTo lists the readings a limit asks for, by evaluating it once with a
// spy; sorted, so that sums come out the same each time.
func (s *Scope) refersTo(src string) []string {
	if _, err := strconv.ParseFloat(src, 64); err == nil {
		return nil
	}
	seen := map[string]bool{}
	env := s.env(nil)
	plain := env["reading"].(func(string, float64) float64)
	env["reading"] = func(id string, def float64) float64 {
		seen[id] = true
		return plain(id, def)
	}
	prog, err := s.compile(src)
	if err != nil {
		return nil
	}
	if _, err := expr.Run(prog, env); err != nil {
		return nil
	}
	ids := make([]string, 0, len(seen))
	for id := range seen {
		ids = append(ids, id)
	}
	sort.Strings(ids)
	return ids
}

// RefersTo lists the checks whose readings a limit asks for.
func (s *Scope) RefersTo(src string) []string { return s.refersTo(src) }

func (s *Scope) env(extra map[string]float64) map[string]any {
	env := map[string]any{
		"reading": func(id string, def float64) float64 {
			if k, ok := s.readings[id]; ok {
				return k.Value
			}
			return def
		},
		"table": s.table,
		"exp":   math.Exp,
		"log":   math.Log,
		"sqrt":  math.Sqrt,
		"value": math.NaN(),
	}
	for name, v := range s.figures {
		env[name] = v
	}
	for name, v := range extra {
		env[name] = v
	}
	return env
}

// table reads a curve at x: linear between its points, on a logarithmic y
// where the table says so, and flat beyond its ends.
func (s *Scope) table(id string, x float64) (float64, error) {
	t := s.kb.Table(id)
	if t == nil || len(t.Points) == 0 {
		return 0, fmt.Errorf("there is no table %q", id)
	}
	p := t.Points
	if x <= p[0][0] {
		return p[0][1], nil
	}
	i := sort.Search(len(p), func(i int) bool { return p[i][0] >= x })
	if i == len(p) {
		return p[len(p)-1][1], nil
	}
	a, b := p[i-1], p[i]
	f := (x - a[0]) / (b[0] - a[0])
	if t.Log && a[1] > 0 && b[1] > 0 {
		return math.Exp(math.Log(a[1]) + f*(math.Log(b[1])-math.Log(a[1]))), nil
	}
	return a[1] + f*(b[1]-a[1]), nil
}

// programs holds compiled expressions; compiling costs a hundred times what
// running does, and the same limits come back at every turn.
var programs sync.Map // string -> *vm.Program

// compile leaves the types of names open, so that one compiled form serves
// every kit; a name the kit does not have is caught when it runs.
func (s *Scope) compile(src string) (*vm.Program, error) {
	if p, ok := programs.Load(src); ok {
		return p.(*vm.Program), nil
	}
	p, err := expr.Compile(src, expr.DisableAllBuiltins(),
		expr.EnableBuiltin("min"), expr.EnableBuiltin("max"), expr.EnableBuiltin("abs"), expr.MaxNodes(200),
		expr.Env(map[string]any{
			"reading": func(string, float64) float64 { return 0 },
			"table":   func(string, float64) (float64, error) { return 0, nil },
			"exp":     math.Exp, "log": math.Log, "sqrt": math.Sqrt,
		}),
		expr.AllowUndefinedVariables()) // after Env, which resets it
	if err != nil {
		return nil, fmt.Errorf("reading limit %q: %s", src, firstLine(err.Error()))
	}
	programs.Store(src, p)
	return p, nil
}

func (s *Scope) eval(src string, extra map[string]float64) (any, error) {
	prog, err := s.compile(src)
	if err != nil {
		return nil, err
	}
	out, err := expr.Run(prog, s.env(extra))
	if err != nil {
		return nil, fmt.Errorf("working out %q for kit %q: %s", src, s.kit.ID, firstLine(err.Error()))
	}
	return out, nil
}

func firstLine(s string) string {
	for i, r := range s {
		if r == '\n' {
			return s[:i]
		}
	}
	return s
}
