package main

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"
	"unicode"

	"github.com/spf13/cobra"

	"triagebot/api"
	"triagebot/casefile/store"
)

// toBot is how a command reaches the running bot.
type toBot struct {
	url, tokenFile string
	json           bool
}

const (
	envURL   = "TRIAGEBOT_AT"
	envToken = "TRIAGEBOT_TOKEN"
)

func (b *toBot) flags(c *cobra.Command) {
	c.PersistentFlags().StringVar(&b.url, "at", "", "where the bot listens (default: "+envURL+" of the environment, or http://127.0.0.1:8470)")
	c.PersistentFlags().StringVar(&b.tokenFile, "token-file", "", "file with your token (default: "+envToken+" of the environment)")
}

func (b *toBot) client() (*api.Client, error) {
	token := os.Getenv(envToken)
	if b.tokenFile != "" {
		data, err := os.ReadFile(b.tokenFile)
		if err != nil {
			return nil, fmt.Errorf("reading your token: %w", err)
		}
		token = string(data)
	}
	if token = strings.TrimSpace(token); token == "" {
		return nil, usageError{fmt.Errorf("no token is given: name its file with --token-file, or put it into %s", envToken)}
	}
	url := cmp.Or(b.url, os.Getenv(envURL), "http://127.0.0.1:8470")
	if !strings.Contains(url, "://") {
		url = "http://" + url
	}
	return &api.Client{URL: url, Token: token}, nil
}

func casesCommand(s streams) *cobra.Command {
	b := &toBot{}
	c := &cobra.Command{
		Use:   "cases",
		Short: "Works cases of the running bot",
		Long:  "Works cases of the running bot, over its local interface. Your token says who you are.",
		Args:  noMore,
		RunE:  func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	b.flags(c)
	c.PersistentFlags().BoolVar(&b.json, "json", false, "print JSON, one object a line")
	c.AddCommand(b.list(s), b.show(s), b.ask(s), b.note(s), b.handOn(s), b.end(s),
		b.plain(s, "take N", "Takes a case that waits", "taken; its owner is told", (*api.Client).Take),
		b.plain(s, "reopen N", "Has a closed case wait for somebody again", "waits again; its owner is told", (*api.Client).Reopen))
	return c
}

// caseNumber reads the N of a command, and refuses more words than it takes.
func caseNumber(c *cobra.Command, args []string, least, most int, what string) (uint64, error) {
	if len(args) < least || len(args) > most {
		return 0, usageError{fmt.Errorf("%q needs %s", c.CommandPath(), what)}
	}
	id, err := strconv.ParseUint(strings.TrimPrefix(args[0], "#"), 10, 64)
	if err != nil || id == 0 {
		return 0, usageError{fmt.Errorf("%q is no number of a case", args[0])}
	}
	return id, nil
}

// said prints what became of a case.
func (b *toBot) said(s streams, c store.Case, words string) error {
	if b.json {
		return json.NewEncoder(s.out).Encode(c)
	}
	_, err := fmt.Fprintf(s.out, "case %d: %s\n", c.ID, words)
	return err
}

func (b *toBot) plain(s streams, use, short, done string, act func(*api.Client, context.Context, uint64) (store.Case, error)) *cobra.Command {
	return &cobra.Command{Use: use, Short: short, RunE: func(c *cobra.Command, args []string) error {
		id, err := caseNumber(c, args, 1, 1, "the number of a case")
		if err != nil {
			return err
		}
		client, err := b.client()
		if err != nil {
			return err
		}
		after, err := act(client, c.Context(), id)
		if err != nil {
			return err
		}
		return b.said(s, after, done)
	}}
}

func (b *toBot) ask(s streams) *cobra.Command {
	return &cobra.Command{
		Use:   "ask N CHECK",
		Short: "Has the bot ask the owner a check",
		Long:  "Has the bot ask the owner a check, by its id, with its cautions and drawing.\nThe answer enters the belief and the case. What must come before the check is asked first.",
		RunE: func(c *cobra.Command, args []string) error {
			id, err := caseNumber(c, args, 2, 2, "the number of a case and the id of a check")
			if err != nil {
				return err
			}
			client, err := b.client()
			if err != nil {
				return err
			}
			after, err := client.Ask(c.Context(), id, args[1])
			if err != nil {
				return err
			}
			return b.said(s, after, "the owner is asked "+args[1])
		},
	}
}

func (b *toBot) note(s streams) *cobra.Command {
	return &cobra.Command{Use: "note N TEXT", Short: "Adds a note, which the owner does not see", RunE: func(c *cobra.Command, args []string) error {
		id, err := caseNumber(c, args, 2, 1000, "the number of a case and the words of the note")
		if err != nil {
			return err
		}
		client, err := b.client()
		if err != nil {
			return err
		}
		after, err := client.Note(c.Context(), id, strings.Join(args[1:], " "))
		if err != nil {
			return err
		}
		return b.said(s, after, "noted")
	}}
}

func (b *toBot) handOn(s streams) *cobra.Command {
	return &cobra.Command{
		Use:   "hand-on N [NAME]",
		Short: "Gives a case to somebody else, or back to whoever takes it",
		Long:  "Gives a case that is yours to somebody else, by the name in the bot's records\n(such as local:anna); without a name it waits for anybody.",
		RunE: func(c *cobra.Command, args []string) error {
			id, err := caseNumber(c, args, 1, 2, "the number of a case and, where it goes to somebody, their name")
			if err != nil {
				return err
			}
			client, err := b.client()
			if err != nil {
				return err
			}
			to := ""
			if len(args) == 2 {
				to = args[1]
			}
			after, err := client.HandOn(c.Context(), id, to)
			if err != nil {
				return err
			}
			return b.said(s, after, "goes on to "+cmp.Or(plainText(after.Taker), "whoever takes it"))
		},
	}
}

func (b *toBot) end(s streams) *cobra.Command {
	var o api.Outcome
	c := &cobra.Command{
		Use:   "close N (--cause ID --remedy ID | --not-found)",
		Short: "Closes a case with what it was",
		Long: "Closes a case with the confirmed cause and remedy, by their ids in the knowledge base.\n" +
			"Write \"unlisted\" for what the rules do not know, with --note saying what it was.",
		RunE: func(c *cobra.Command, args []string) error {
			id, err := caseNumber(c, args, 1, 1, "the number of a case")
			if err != nil {
				return err
			}
			if o.NotFound == (o.Cause != "" || o.Remedy != "") || (o.Cause == "") != (o.Remedy == "") {
				return usageError{errors.New("close takes either --cause and --remedy, or --not-found")}
			}
			client, err := b.client()
			if err != nil {
				return err
			}
			after, err := client.Close(c.Context(), id, o)
			if err != nil {
				return err
			}
			return b.said(s, after, "closed; its owner is told")
		},
	}
	c.Flags().StringVar(&o.Cause, "cause", "", "what it was")
	c.Flags().StringVar(&o.Remedy, "remedy", "", "what mended it")
	c.Flags().StringVar(&o.Text, "note", "", "a note to it")
	c.Flags().BoolVar(&o.NotFound, "not-found", false, "the fault was not found")
	return c
}

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
			for _, x := range list {
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
			if len(list) == 0 || mine {
				break
			}
			after = list[len(list)-1].ID
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
