package main

import (
	"cmp"
	"fmt"
	"strings"
	"unicode"

	"github.com/spf13/cobra"

	"triagebot/kb"
	"triagebot/reading"
	"triagebot/rules"
)

// judgedLine is the output of judge.
type judgedLine struct {
	V           int                `json:"v"`
	Check       string             `json:"check"`
	Kit         string             `json:"kit"`
	Value       any                `json:"value"`
	Unit        string             `json:"unit"`
	Uncertainty float64            `json:"uncertainty"`
	Windows     []rules.WindowProb `json:"windows"`
	Judgement   string             `json:"judgement"` // a window's id, too-close or odd
	Odd         string             `json:"odd"`       // why it is odd
}

func judgeCommand(s streams) *cobra.Command {
	var dir, check, value, unit, kit string
	var given []string
	c := &cobra.Command{
		Use:   "judge",
		Short: "Judges one reading against the windows of its check",
		Args:  noMore,
		RunE: func(*cobra.Command, []string) error {
			k, err := loadKB(dir)
			if err != nil {
				return err
			}
			if err := knownKit(k, kit); err != nil {
				return err
			}
			if kit == "" {
				kit = k.About.Generic
			}
			scope, err := rules.NewScope(k, k.Kit(kit), nil)
			if err != nil {
				return err
			}
			earlier, err := earlierReadings(k, given)
			if err != nil {
				return err
			}
			ch, r, err := readingOf(k, check, value, unit)
			if err != nil {
				return err
			}
			j, err := scope.With(earlier).Judge(ch, r)
			if err != nil {
				return err
			}
			out := judgedLine{V: 1, Check: check, Kit: kit, Value: r.Value, Unit: ch.Unit, Uncertainty: j.Uncertainty, Windows: j.Windows, Judgement: j.Window, Odd: j.OddReason}
			if r.Overload() {
				out.Value = "OL"
			}
			switch {
			case j.Odd:
				out.Judgement = "odd"
				if out.Odd == "" {
					out.Odd = "no cause can produce this figure"
				}
			case j.Close:
				out.Judgement = "too-close"
			}
			return lineWriter(s.out)(out)
		},
	}
	f := c.Flags()
	f.StringVar(&dir, "kb", "", "folder of the knowledge base (default: the built-in one)")
	f.StringVar(&check, "check", "", "the check")
	f.StringVar(&value, "value", "", "the figure, or OL")
	f.StringVar(&unit, "unit", "", "its unit, such as V, mV, kΩ or kohm (default: the check's)")
	f.StringVar(&kit, "kit", "", "the kit (default: the generic one)")
	f.StringArrayVar(&given, "given", nil, "an earlier reading, check=value; may be given several times")
	for _, name := range []string{"check", "value"} {
		_ = c.MarkFlagRequired(name)
	}
	return c
}

// readingOf reads the figure of the command line as an owner's would be read.
func readingOf(k *kb.KB, check, value, unit string) (*kb.Check, rules.Reading, error) {
	c, err := knownCheck(k, check)
	if err != nil {
		return nil, rules.Reading{}, err
	}
	if len(c.Windows) == 0 {
		return nil, rules.Reading{}, usageError{fmt.Errorf("check %q takes no figure: it is a %s", check, c.Kind)}
	}
	if unit == "" {
		unit = c.Unit
	}
	q, err := oneFigure(value, unit)
	if err != nil {
		return nil, rules.Reading{}, usageError{err}
	}
	if !q.Overload && q.Unit != c.Unit {
		return nil, rules.Reading{}, usageError{fmt.Errorf("check %q is read in %s, not in %s; give the figure in %s, or name another check", check, c.Unit, cmp.Or(q.Unit, unit), c.Unit)}
	}
	return c, rules.NewReading(q.Value, q.Overload, c.Unit, q.Decimals), nil
}

// oneFigure reads what an owner would write for a figure, and nothing that only
// a program would: every digit must belong to the figure, so that 0x10 is not
// taken for ten.
func oneFigure(value, unit string) (reading.Quantity, error) {
	const how = "write it as the meter shows it, such as 4.98, 0,8, 850 mV or OL"
	value = strings.TrimSpace(value)
	if value == "" {
		return reading.Quantity{}, fmt.Errorf("the value is empty; %s", how)
	}
	text := strings.TrimSuffix(value, ".") + " " + unit
	found := reading.FindFor(text, unit)
	if len(found) != 1 || strings.ContainsFunc(text[:found[0].Start]+text[found[0].End:], unicode.IsDigit) {
		return reading.Quantity{}, fmt.Errorf("%q is not one figure; %s", value, how)
	}
	return found[0], nil
}

func earlierReadings(k *kb.KB, given []string) (map[string]rules.Known, error) {
	known := map[string]rules.Known{}
	for _, g := range given {
		id, value, ok := strings.Cut(g, "=")
		if !ok {
			return nil, usageError{fmt.Errorf("--given %q: write check=value", g)}
		}
		c, r, err := readingOf(k, id, value, "")
		if err != nil {
			return nil, fmt.Errorf("--given %q: %w", g, err)
		}
		if !r.Overload() {
			known[id] = rules.Known{Value: r.Value, U: rules.Uncertainty(k.About.Meters[c.Unit], r)}
		}
	}
	return known, nil
}
