package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"triagebot/conversation"
	"triagebot/kb"
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
	var dir, check, kit string
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
			if check != "" && k.Check(check) == nil {
				return usageError{fmt.Errorf("there is no check %q in the knowledge base", check)}
			}
			reader, err := conversation.NewReader()
			if err != nil {
				return err
			}
			write := lineWriter(s.out)
			return eachLine(s.in, func(line string) error {
				m := parseMessage(line)
				if m.Check == "" {
					m.Check = check
				}
				return write(newReplied(m, reader.Read(questionOf(k, m), m.Text)))
			})
		},
	}
	c.Flags().StringVar(&dir, "kb", "", "folder of the knowledge base (default: the built-in one)")
	c.Flags().StringVar(&check, "check", "", "the check that was asked")
	c.Flags().StringVar(&kit, "kit", "", "the owner's kit")
	return c
}

// questionOf is the question a line says was asked; its own words go before
// those of the knowledge base.
func questionOf(k *kb.KB, m message) conversation.Question {
	q := conversation.Question{Check: m.Check, Kind: m.Ask, Asked: m.Asked}
	c := k.Check(m.Check)
	if c != nil {
		if q.Kind == "" {
			q.Kind = c.Kind
		}
		if q.Asked == "" {
			q.Asked = c.Asks
		}
		q.Unit = c.Unit
	}
	if m.Options == nil {
		if c != nil {
			for _, o := range c.Options {
				q.Options = append(q.Options, conversation.Choice{ID: o.ID, Label: o.Label, Phrases: o.Phrases})
			}
		}
		return q
	}
	for _, label := range m.Options {
		choice := conversation.Choice{ID: label, Label: label}
		if c != nil {
			for _, o := range c.Options {
				if strings.EqualFold(o.Label, label) || o.ID == label {
					choice.Phrases = append(choice.Phrases, o.Phrases...)
				}
			}
		}
		q.Options = append(q.Options, choice)
	}
	return q
}

func newReplied(m message, r conversation.Reply) replied {
	out := replied{V: 1, ID: m.id(), Intent: string(r.Intent), Values: []any{}, Places: []string{}, Choice: r.Choice, Approx: r.Approx}
	for i, v := range r.Values {
		var value any = v.Value
		if v.Overload {
			value = "OL"
		}
		if i == 0 {
			out.Value, out.Unit = value, v.Unit
		}
		out.Values = append(out.Values, value)
		out.Places = append(out.Places, v.Place)
	}
	return out
}
