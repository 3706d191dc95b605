package main

import (
	"cmp"
	"encoding/json"
	"fmt"
	"strings"
	"text/tabwriter"
	"time"
	"unicode"

	"github.com/spf13/cobra"

	"triagebot/casefile/store"
)

func (b *toBot) list(s streams) *cobra.Command {
	var (
		state string
		mine  bool
	)
	c := &cobra.Command{Use: "list", Short: "Lists cases, oldest first", Args: noMore, RunE: func(c *cobra.Command, _ []string) error {
		client, err := b.client()
		if err != nil {
			return err
		}
		w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
		listed := 0
		for after := uint64(0); ; {
			list, err := client.Cases(c.Context(), store.State(state), mine, after)
			if err != nil {
				return err
			}
			if after == 0 && list.Demo && !b.json {
				fmt.Fprintln(s.out, demoCases)
			}
			for _, x := range list.Cases {
				if listed++; b.json {
					if err := json.NewEncoder(s.out).Encode(x); err != nil {
						return err
					}
					continue
				}
				if listed == 1 {
					fmt.Fprintln(w, "case\tstate\twho\tkit\tchanged\twhy")
				}
				fmt.Fprintf(w, "%d\t%s\t%s\t%s\t%s\t%s\n", x.ID, x.State, cmp.Or(plainText(x.Taker), "-"), cmp.Or(plainText(x.Kit), "-"), stamp(x.Changed), plainText(x.Reason))
			}
			if len(list.Cases) == 0 || mine {
				break
			}
			after = list.Cases[len(list.Cases)-1].ID
		}
		if listed == 0 && !b.json {
			fmt.Fprintln(s.out, "there is none")
		}
		return w.Flush()
	}}
	c.Flags().StringVar(&state, "state", string(store.Waiting), "waiting, taken or closed")
	c.Flags().BoolVar(&mine, "mine", false, "those that you have taken")
	return c
}

// demoCases goes before what is shown of a store that was filled with a demo.
const demoCases = "A demo: these cases are invented."

func (b *toBot) show(s streams) *cobra.Command {
	return &cobra.Command{Use: "show N", Short: "Shows a case: its life, and all that the talk came to", RunE: func(c *cobra.Command, args []string) error {
		id, err := caseNumber(c, args, 1, 1, "the number of a case")
		if err != nil {
			return err
		}
		client, err := b.client()
		if err != nil {
			return err
		}
		one, err := client.Case(c.Context(), id)
		if err != nil {
			return err
		}
		if b.json {
			return json.NewEncoder(s.out).Encode(one)
		}
		var out strings.Builder
		if one.Demo {
			out.WriteString(demoCases + "\n")
		}
		fmt.Fprintf(&out, "case %d: %s", one.Case.ID, one.Case.State)
		if one.Case.Taker != "" {
			fmt.Fprintf(&out, ", by %s", one.Case.Taker)
		}
		out.WriteString("\n")
		for _, a := range one.Case.Audit {
			fmt.Fprintf(&out, "  %s  %s  %s\n", stamp(a.Time), a.Who, inWords(a))
		}
		if one.Document != nil {
			out.WriteString("\n" + one.Document.Markdown())
		}
		_, err = fmt.Fprint(s.out, plainLines(out.String()))
		return err
	}}
}

// inWords says a line of the audit.
func inWords(a store.Act) string {
	words := string(a.Deed)
	if a.Deed == store.DeedHandOn {
		words += " to " + cmp.Or(a.To, "whoever takes it")
	}
	if a.Cause != "" {
		words += fmt.Sprintf(" (%s: %s)", a.Cause, a.Remedy)
	}
	if a.NotFound {
		words += " (not found)"
	}
	if a.Text != "" {
		words += ": " + strings.ReplaceAll(a.Text, "\n", " ")
	}
	return words
}

func stamp(t time.Time) string { return t.UTC().Format("2006-01-02 15:04") }

// plainText keeps what others wrote from steering the terminal.
func plainText(s string) string { return strings.ReplaceAll(plainLines(s), "\n", " ") }

func plainLines(s string) string {
	return strings.Map(func(r rune) rune {
		if r != '\n' && (unicode.IsControl(r) || unicode.Is(unicode.Cf, r)) {
			return -1
		}
		return r
	}, s)
}
