package main

import (
	"cmp"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"triagebot/hearing"
	"triagebot/search"
)

// matched is one output line of match.
type matched struct {
	V        int              `json:"v"`
	ID       any              `json:"id"`
	Text     string           `json:"text"`
	Kit      string           `json:"kit"`
	Danger   []string         `json:"danger"`
	Symptoms []matchedSymptom `json:"symptoms"`
	Readings []matchedReading `json:"readings"`
	Offtopic bool             `json:"offtopic"`
	Unclear  []string         `json:"unclear,omitempty"`
	Seen     []matchedSight   `json:"seen,omitempty"`
}

type matchedSymptom struct {
	ID         string  `json:"id"`
	State      string  `json:"state"`
	Confidence float64 `json:"confidence"`
}

// matchedSight is what a look or a try shows, said in passing.
type matchedSight struct {
	Check      string  `json:"check"`
	Option     string  `json:"option"`
	Confidence float64 `json:"confidence"`
}

type matchedReading struct {
	Check string `json:"check"`
	Value any    `json:"value"`
	Unit  string `json:"unit"`
}

func matchCommand(s streams) *cobra.Command {
	var dir, lang string
	var explain bool
	c := &cobra.Command{
		Use:   "match",
		Short: "Says what owners' messages mean, one message a line",
		Args:  noMore,
		RunE: func(*cobra.Command, []string) error {
			k, err := loadKB(dir)
			if err != nil {
				return err
			}
			if err := knownLanguage(k, lang); err != nil {
				return err
			}
			all := hearing.NewIndexes(k)
			defer all.Close()
			write := lineWriter(s.out)
			return eachLine(s.in, func(line string) error {
				m := parseMessage(line)
				x, err := all.In(languageOf(k, cmp.Or(m.Language, lang), m.Text))
				if err != nil && cmp.Or(m.Language, lang) == "" {
					x, err = all.In("") // only guessed, and not whole enough
				}
				if err != nil {
					return err
				}
				if explain {
					return writeReasons(s.out, m.Text, x.Explain(m.Text))
				}
				return write(newMatched(m, x.Match(m.Text)))
			})
		},
	}
	c.Flags().StringVar(&dir, "kb", "", "folder of the knowledge base (default: the built-in one)")
	c.Flags().StringVar(&lang, "language", "", languageHelp)
	c.Flags().BoolVar(&explain, "explain", false, "show which phrase gave each result, and what it scored")
	return c
}

func newMatched(m message, said search.Said) matched {
	out := matched{
		V: 1, ID: m.id(), Text: m.Text, Kit: said.Kit, Danger: said.Danger, Offtopic: said.Offtopic, Unclear: said.Unclear,
		Symptoms: []matchedSymptom{}, Readings: []matchedReading{},
	}
	if out.Danger == nil {
		out.Danger = []string{}
	}
	for _, y := range said.Symptoms {
		state := "absent"
		if y.Present {
			state = "present"
		}
		out.Symptoms = append(out.Symptoms, matchedSymptom{y.ID, state, y.Confidence})
	}
	for _, r := range said.Readings {
		if r.Check == "" {
			continue
		}
		v := matchedReading{Check: r.Check, Value: r.Value, Unit: r.Unit}
		if r.Overload {
			v.Value = "OL"
		}
		out.Readings = append(out.Readings, v)
	}
	for _, s := range said.Seen {
		out.Seen = append(out.Seen, matchedSight{s.Check, s.Option, s.Confidence})
	}
	return out
}

func writeReasons(w io.Writer, text string, reasons []search.Reason) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n", text)
	for _, r := range reasons {
		state := "absent"
		if r.Present {
			state = "present"
		}
		fmt.Fprintf(&b, "  %.2f %s %s: phrase %q fits %q in %q", r.Score, r.Symptom, state, r.Phrase, strings.Join(r.Words, " "), r.Clause)
		if r.Against != "" {
			fmt.Fprintf(&b, ", not counted: %s", r.Against)
		}
		b.WriteByte('\n')
	}
	_, err := io.WriteString(w, b.String())
	return err
}
