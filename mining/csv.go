package mining

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// WriteJSON writes the report as one JSON object.
func (r *Report) WriteJSON(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	if err := e.Encode(r); err != nil {
		return fmt.Errorf("writing the report: %w", err)
	}
	return nil
}

// Table is one table of a report, for a CSV file.
type Table struct {
	Name string // of the file, without .csv
	rows [][]string
}

// WriteCSV writes the table. Cells that a spreadsheet would take for a formula
// get a quote before them, because wording comes from strangers.
func (t Table) WriteCSV(w io.Writer) error {
	c := csv.NewWriter(w)
	for _, row := range t.rows {
		safe := make([]string, len(row))
		for i, cell := range row {
			if _, err := strconv.ParseFloat(cell, 64); err != nil && cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])) {
				cell = "'" + cell
			}
			safe[i] = cell
		}
		if err := c.Write(safe); err != nil {
			return fmt.Errorf("writing table %s: %w", t.Name, err)
		}
	}
	c.Flush()
	return c.Error()
}

// Tables are all tables of the report. A hidden figure is an empty cell.
func (r *Report) Tables() []Table {
	var tables []Table
	add := func(name string, heads ...string) func(...any) {
		if r.Demo {
			name = "demo-" + name
		}
		tables = append(tables, Table{name, [][]string{heads}})
		t := &tables[len(tables)-1].rows
		return func(cells ...any) { *t = append(*t, cellsOf(cells)) }
	}
	rows := add("talks", "kit", "solved", "of", "share", "low", "high", "questions_mean", "questions_median", "questions_p90", "minutes_mean", "minutes_median", "minutes_p90")
	for _, x := range r.Talks {
		rows(x.Kit, x.Solved, x.Questions, x.Minutes)
	}
	rows = add("counts", "kind", "id", "kit", "by", "value", "n", "of", "share", "low", "high")
	for _, x := range r.Counts {
		rows(string(x.Kind), x.ID, x.Kit, x.By, x.Value, x.Share)
	}
	rows = add("pareto", "kind", "id", "n", "share", "cumulative")
	for _, x := range r.Pareto {
		rows(string(x.Kind), x.ID, x.N, x.Share, x.Cumulative)
	}
	rows = add("checks", "check", "asked", "cannot", "of", "share", "low", "high", "expected")
	for _, x := range r.Checks {
		rows(x.Check, x.Asked, x.Cannot, x.Expected)
	}
	rows = add("windows", "check", "kit", "unit", "window", "from", "to", "healthy", "n", "of", "share", "low", "high")
	for _, x := range r.Readings {
		for _, w := range x.Windows {
			rows(x.Check, x.Kit, x.Unit, w.Window, w.From, w.To, w.Healthy, w.Share)
		}
	}
	rows = add("quantiles", "check", "kit", "unit", "n", "p", "value")
	for _, x := range r.Readings {
		for _, q := range x.Quantiles {
			rows(x.Check, x.Kit, x.Unit, x.N, q.P, q.Value)
		}
	}
	rows = add("misled", "named", "wrong", "of", "share", "low", "high", "twins")
	for _, x := range r.Misled {
		rows(x.Named, x.Wrong, x.Twins)
	}
	rows = add("confusion", "named", "confirmed", "n", "same_mend")
	for _, x := range r.Confusion {
		rows(x.Named, x.Confirmed, x.N, x.SameMend)
	}
	rows = add("rising", "kind", "id", "kit", "recent", "before", "ratio", "low", "high", "p", "q", "rises", "signal")
	for _, x := range append(r.Rising.Found[:len(r.Rising.Found):len(r.Rising.Found)], r.Rising.Closest...) {
		signal := ""
		if x.Signal != nil {
			signal = x.Signal.String()
		}
		rows(string(x.Kind), x.ID, x.Kit, x.Recent, x.Before, x.Ratio, x.Low, x.High, x.P, x.Q, x.Rises, signal)
	}
	rows = add("batches", "part", "kit", "built", "cases", "expected", "p", "q")
	for _, x := range r.Batches.Found {
		rows(x.Part, x.Kit, x.Built, x.Cases, x.Expected, x.P, x.Q)
	}
	rows = add("lives", "part", "kit", "unit", "failures", "running", "fleet", "shape", "shape_low", "shape_high", "scale", "scale_low", "scale_high", "mean", "tenth")
	for _, x := range r.Lives {
		rows(x.Part, x.Kit, x.Unit, x.Failures, x.Running, x.Fleet, x.Shape, x.ShapeRange.Low, x.ShapeRange.High, x.Scale, x.ScaleRange.Low, x.ScaleRange.High, x.Mean, x.Tenth)
	}
	rows = add("wording", "n", "text", "pattern", "symptom", "meant")
	for _, x := range r.Wording.Groups {
		rows(x.N, x.Text, x.Pattern, x.Symptom, x.Meant)
	}
	return tables
}

func cellsOf(values []any) []string {
	var cells []string
	for _, v := range values {
		switch v := v.(type) {
		case Share:
			if v.N == nil {
				cells = append(cells, "", "", "", "", "")
			} else {
				cells = append(cells, cellsOf([]any{*v.N, *v.Of, *v.Share, v.Range.Low, v.Range.High})...)
			}
		case Middle:
			cells = append(cells, cellsOf([]any{v.Mean, v.Median, v.P90})...)
		case *float64:
			if v == nil {
				cells = append(cells, "")
			} else {
				cells = append(cells, number(*v))
			}
		case *int:
			if v == nil {
				cells = append(cells, "")
			} else {
				cells = append(cells, strconv.Itoa(*v))
			}
		case float64:
			cells = append(cells, number(v))
		default:
			cells = append(cells, fmt.Sprint(v))
		}
	}
	return cells
}

func number(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }
