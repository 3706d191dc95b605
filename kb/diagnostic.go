package kb

import (
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
)

// Severity says whether a knowledge base can be used as it is.
type Severity string

// With an error there is no knowledge base; with warnings alone there is.
const (
	Error   Severity = "error"
	Warning Severity = "warning"
)

// Diagnostic is one thing wrong with a knowledge base: where, what, and how to
// mend it.
type Diagnostic struct {
	Pos      Pos
	Severity Severity
	Check    string // short name of the rule that found it: "unknown-id"
	Text     string
	Cure     string
}

// String writes file:line:col: severity: text; cure [check].
func (d Diagnostic) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s: %s", d.Pos, d.Severity, d.Text)
	if d.Cure != "" {
		b.WriteString("; " + d.Cure)
	}
	fmt.Fprintf(&b, " [%s]", d.Check)
	return b.String()
}

// diagnosticJSON lays the place out flat, as editors and scripts want it.
type diagnosticJSON struct {
	File     string   `json:"file"`
	Line     int      `json:"line"`
	Col      int      `json:"col"`
	Severity Severity `json:"severity"`
	Check    string   `json:"check"`
	Text     string   `json:"text"`
	Cure     string   `json:"cure"`
}

// MarshalJSON writes one flat object: file, line, col, severity, check, text, cure.
func (d Diagnostic) MarshalJSON() ([]byte, error) {
	return json.Marshal(diagnosticJSON{d.Pos.File, d.Pos.Line, d.Pos.Col, d.Severity, d.Check, d.Text, d.Cure})
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (d *Diagnostic) UnmarshalJSON(b []byte) error {
	var j diagnosticJSON
	if err := json.Unmarshal(b, &j); err != nil {
		return err
	}
	*d = Diagnostic{Pos{j.File, j.Line, j.Col}, j.Severity, j.Check, j.Text, j.Cure}
	return nil
}

// HasErrors says whether any of these is an error.
func HasErrors(found []Diagnostic) bool {
	return slices.ContainsFunc(found, func(d Diagnostic) bool { return d.Severity == Error })
}

// Sort orders diagnostics by place and drops repetitions.
func Sort(found []Diagnostic) []Diagnostic {
	slices.SortStableFunc(found, func(a, b Diagnostic) int {
		return cmp.Or(
			cmp.Compare(a.Pos.File, b.Pos.File),
			cmp.Compare(a.Pos.Line, b.Pos.Line),
			cmp.Compare(a.Pos.Col, b.Pos.Col),
			cmp.Compare(a.Severity, b.Severity),
			cmp.Compare(a.Check, b.Check),
			cmp.Compare(a.Text, b.Text),
		)
	})
	return slices.Compact(found)
}

// maxFound bounds what is kept: a file of nothing but mistakes would
// otherwise cost more memory than the reader has patience.
const maxFound = 1000

// findings gathers diagnostics.
type findings struct {
	list []Diagnostic
}

func (f *findings) full() bool { return len(f.list) >= maxFound }

func (f *findings) add(d Diagnostic) {
	if f.full() {
		return
	}
	f.list = append(f.list, d)
	if f.full() {
		f.list = append(f.list, Diagnostic{
			Pos: d.Pos, Severity: Error, Check: "too-many",
			Text: fmt.Sprintf("more than %d problems; the rest is not shown", maxFound-1),
			Cure: "mend these first",
		})
	}
}

func (f *findings) error(pos Pos, check, cure, text string, args ...any) {
	f.add(Diagnostic{pos, Error, check, fmt.Sprintf(text, args...), cure})
}

func (f *findings) warn(pos Pos, check, cure, text string, args ...any) {
	f.add(Diagnostic{pos, Warning, check, fmt.Sprintf(text, args...), cure})
}
