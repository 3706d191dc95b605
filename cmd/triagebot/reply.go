package main

import (
	"cmp"

	"github.com/spf13/cobra"

	"triagebot/conversation"
)

// replied is one output line of reply. Values are numbers, or "OL".
type replied struct {
	V      int      `json:"v"`
	ID     any      `json:"id"`
	Intent string   `json:"intent"`
	Value  any      `json:"value"`
	Unit   string   `json:"unit"`
	Values []any    `json:"values"`
	Places []string `json:"places"` // beside Values: "rest", "full" ... or ""
	Choice string   `json:"choice"`
	Approx bool     `json:"approx"`
}

func replyCommand(s streams) *cobra.Command {
	var dir, check, kit, lang string
	c := &cobra.Command{
		Use:   "reply",
		Short: "Says what owners' replies to a check mean, one reply a line",
		Args:  noMore,
		RunE: func(*cobra.Command, []string) error {
			k, err := loadKB(dir)
			if err != nil {
				return err
			}
			if err := knownKit(k, kit); err != nil {
				return err
			}
			if check != "" {
				if _, err := knownCheck(k, check); err != nil {
					return err
				}
			}
			if err := knownLanguage(k, lang); err != nil {
				return err
			}
			all := &readers{kb: k}
			write := lineWriter(s.out)
			return eachLine(s.in, func(line string) error {
				m := parseMessage(line)
				if m.Check == "" {
					m.Check = check
				}
				reader, k, err := all.in(languageOf(k, cmp.Or(m.Language, lang), m.Text))
				if err != nil && cmp.Or(m.Language, lang) == "" {
					reader, k, err = all.in("") // only guessed, and not whole enough
				}
				if err != nil {
					return err
				}
				return write(newReplied(m, reader.Read(reader.QuestionFor(k.Check(m.Check), m.Ask, m.Asked, m.Options), m.Text)))
			})
		},
	}
	c.Flags().StringVar(&dir, "kb", "", "folder of the knowledge base (default: the built-in one)")
	c.Flags().StringVar(&check, "check", "", "the check that was asked")
	c.Flags().StringVar(&lang, "language", "", languageHelp)
	c.Flags().StringVar(&kit, "kit", "", "the owner's kit")
	return c
}

func newReplied(m message, r conversation.Reply) replied {
	out := replied{V: 1, ID: m.id(), Intent: string(r.Intent), Values: []any{}, Places: []string{}, Choice: r.Choice, Approx: r.Approx}
	for i, v := range r.Values {
		var value any = v.Value
		if v.Overload {
			value = "OL"
		}
		if i == r.Main {
			out.Value, out.Unit = value, v.Unit
		}
		out.Values = append(out.Values, value)
		out.Places = append(out.Places, v.Place)
	}
	return out
}
