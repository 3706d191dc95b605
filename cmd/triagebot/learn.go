package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os/user"
	"path/filepath"
	"strconv"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"triagebot/kb"
	"triagebot/learning"
	"triagebot/mining"
	"triagebot/mining/feed"
	"triagebot/rehearsal"
)

type learnFlags struct {
	store, kb, by string
}

func learnCommand(s streams) *cobra.Command {
	var o learnFlags
	c := &cobra.Command{
		Use:   "learn",
		Short: "Learns from confirmed causes how often each is at fault",
		Long: `Learns priors from the confirmed causes of a store's closed cases, over the priors
as written. Each result is a version of its own. Nothing is in force before it is
switched on, and a switch takes hold when the bot is next started.`,
	}
	f := c.PersistentFlags()
	f.StringVar(&o.store, "store", "", "file of the store (default: triagebot.db in the folder of the talks)")
	f.StringVar(&o.kb, "kb", "", "folder of the knowledge base (default: the built-in one)")
	f.StringVar(&o.by, "by", "", "who does it (default: the name at this computer)")
	c.AddCommand(proposeCommand(s, &o), showPriorsCommand(s, &o), rehearsePriorsCommand(s, &o), writePriorsCommand(s, &o),
		switchOnCommand(s, &o), switchOffCommand(s, &o), priorsHistoryCommand(s, &o))
	return c
}

func (o learnFlags) who() string {
	if o.by != "" {
		return o.by
	}
	if u, err := user.Current(); err == nil {
		return "local:" + u.Username
	}
	return "local"
}

// withBook opens the store and its book of versions.
func (o learnFlags) withBook(work func(*learning.Book, *kb.KB) error) (err error) {
	k, err := loadKB(o.kb)
	if err != nil {
		return err
	}
	st, err := openStore(o.store)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	demo, err := st.Setting(feed.SettingDemo)
	if err != nil {
		return err
	}
	return work(&learning.Book{Settings: st, Now: time.Now, Demo: demo != ""}, k)
}

// numbered takes the number of a version; without one it is the latest.
func numbered(b *learning.Book, args []string) (learning.Version, error) {
	if len(args) == 1 {
		n, err := strconv.Atoi(args[0])
		if err != nil {
			return learning.Version{}, usageError{fmt.Errorf("%q is no number of a version; see: triagebot learn history", args[0])}
		}
		return b.Version(n)
	}
	list, err := b.Versions()
	if err == nil && len(list) == 0 {
		err = fmt.Errorf("%w yet; make one with: triagebot learn propose", learning.ErrNone)
	}
	if err != nil {
		return learning.Version{}, err
	}
	return list[0], nil
}

func proposeCommand(s streams, o *learnFlags) *cobra.Command {
	strength := 0.0
	c := &cobra.Command{
		Use:   "propose",
		Short: "Learns from all closed cases and keeps the result as a new version, which is not in force",
		Args:  noMore,
		RunE: func(c *cobra.Command, _ []string) error {
			path, err := storePath(o.store)
			if err != nil {
				return err
			}
			return withFeed(c.Context(), s, o.kb, path, func(t mined) error {
				b := &learning.Book{Settings: t.store, Now: time.Now, Demo: t.feed.Demo()}
				var v learning.Version
				_, err := t.feed.With(func(a *mining.Aggregate) (err error) {
					v, err = b.Propose(c.Context(), o.who(), a, t.kb, strength)
					return err
				})
				if err != nil {
					return err
				}
				return tellVersion(s.out, b, v)
			})
		},
	}
	c.Flags().Float64Var(&strength, "strength", 200, "how many cases the written priors weigh against")
	return c
}

func showPriorsCommand(s streams, o *learnFlags) *cobra.Command {
	return &cobra.Command{
		Use:   "show [NUMBER]",
		Short: "Shows a version, before and after, kit by kit (default: the latest)",
		Args:  cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			return o.withBook(func(b *learning.Book, _ *kb.KB) error {
				v, err := numbered(b, args)
				if err != nil {
					return err
				}
				return tellVersion(s.out, b, v)
			})
		},
	}
}

func writePriorsCommand(s streams, o *learnFlags) *cobra.Command {
	return &cobra.Command{
		Use:   "write NUMBER FILE",
		Short: "Writes a version as a file for --priors of chat and rehearse",
		Args:  cobra.ExactArgs(2),
		RunE: func(_ *cobra.Command, args []string) error {
			return o.withBook(func(b *learning.Book, _ *kb.KB) error {
				v, err := numbered(b, args[:1])
				if err != nil {
					return err
				}
				if err := writeFile(filepath.Dir(args[1]), filepath.Base(args[1]), v.Overlay.WriteYAML); err != nil {
					return err
				}
				fmt.Fprintf(s.out, "%s: version %d\n", args[1], v.Number)
				return nil
			})
		},
	}
}

func switchOnCommand(s streams, o *learnFlags) *cobra.Command {
	return &cobra.Command{
		Use:   "switch-on NUMBER",
		Short: "Puts a version in force from the next start on",
		Args:  one("the number of a version"),
		RunE: func(c *cobra.Command, args []string) error {
			return o.withBook(func(b *learning.Book, k *kb.KB) error {
				v, err := numbered(b, args)
				if err != nil {
					return err
				}
				if err := b.SwitchOn(c.Context(), o.who(), v.Number, k); err != nil {
					return err
				}
				fmt.Fprintf(s.out, "Version %d is in force from the next start on. Take it back with: triagebot learn switch-off\n", v.Number)
				if v.Rehearsed == nil {
					fmt.Fprintf(s.out, "It was not rehearsed; see what it changes with: triagebot learn rehearse %d\n", v.Number)
				}
				return nil
			})
		},
	}
}

func switchOffCommand(s streams, o *learnFlags) *cobra.Command {
	return &cobra.Command{
		Use:   "switch-off",
		Short: "Puts the priors as written in force from the next start on",
		Args:  noMore,
		RunE: func(c *cobra.Command, _ []string) error {
			return o.withBook(func(b *learning.Book, _ *kb.KB) error {
				if err := b.SwitchOff(c.Context(), o.who()); err != nil {
					return err
				}
				fmt.Fprintln(s.out, "The priors as written are in force from the next start on.")
				return nil
			})
		},
	}
}

func priorsHistoryCommand(s streams, o *learnFlags) *cobra.Command {
	return &cobra.Command{
		Use:   "history",
		Short: "Lists all versions, and who switched which on or off",
		Args:  noMore,
		RunE: func(*cobra.Command, []string) error {
			return o.withBook(func(b *learning.Book, _ *kb.KB) error { return tellHistory(s.out, b) })
		},
	}
}

const minuteForm = "2006-01-02 15:04"

func tellHistory(w io.Writer, b *learning.Book) error {
	list, err := b.Versions()
	if err != nil {
		return err
	}
	history, err := b.History()
	if err != nil {
		return err
	}
	t := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	fmt.Fprintln(t, "version\tmade\tby\tcases\tfrom\tto\trules\trehearsed")
	for _, v := range list {
		fmt.Fprintf(t, "%d\t%s\t%s\t%d\t%s\t%s\t%s\t%s\n", v.Number, v.Made.Format(minuteForm), v.By, v.Overlay.Cases, v.Overlay.From, v.Overlay.To, v.Overlay.Rules, v.Rehearsed)
	}
	fmt.Fprintln(t, "\nin force\tsince\tby")
	for _, x := range history {
		what := "version " + strconv.Itoa(x.Number)
		if x.Number == 0 {
			what = "as written"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\n", what, x.When.Format(minuteForm), x.By)
	}
	if len(history) == 0 {
		fmt.Fprintln(t, "as written\tthe beginning\t-")
	}
	return t.Flush()
}

// shownShifts is how many causes of a kit are shown: those that move most.
const shownShifts = 12

func tellVersion(w io.Writer, b *learning.Book, v learning.Version) error {
	if v.Overlay.Demo {
		fmt.Fprintln(w, "DEMO: learned from invented cases.")
	}
	force := "not in force"
	if now, on, err := b.InForce(); err != nil {
		return err
	} else if on && now.Number == v.Number {
		force = "in force"
	}
	fmt.Fprintf(w, "Version %d, %s: learned %s by %s from %d confirmed causes, %s to %s; the written priors weigh as much as %g cases.\n",
		v.Number, force, v.Made.Format(minuteForm), v.By, v.Overlay.Cases, v.Overlay.From, v.Overlay.To, v.Overlay.Strength)
	fmt.Fprintf(w, "Rehearsed: %s\n", v.Rehearsed)
	t := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	kit, n := "", 0
	for _, x := range v.Shifts {
		if x.Kit != kit {
			kit, n = x.Kit, 0
			fmt.Fprintf(t, "\n%s\tbefore\tafter\tconfirmed\n", kit)
		}
		if n++; n <= shownShifts {
			fmt.Fprintf(t, "%s\t%.2f %%\t%.2f %%\t%d\n", x.Cause, 100*x.Before, 100*x.After, x.Cases)
		}
	}
	return t.Flush()
}

func rehearsePriorsCommand(s streams, o *learnFlags) *cobra.Command {
	r := rehearseOptions{seeds: 1, seed: 1}
	c := &cobra.Command{
		Use:   "rehearse [NUMBER]",
		Short: "Lets simulated owners talk to the bot without and with a version, and keeps what it changes (default: the latest)",
		Args:  cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if err := r.valid(); err != nil {
				return err
			}
			return o.withBook(func(b *learning.Book, k *kb.KB) error {
				v, err := numbered(b, args)
				if err != nil {
					return err
				}
				return rehearsePriors(c.Context(), s, r, b, v, k, o.kb)
			})
		},
	}
	f := c.Flags()
	f.IntVar(&r.seeds, "seeds", 1, "owners per kit and cause")
	f.Uint64Var(&r.seed, "seed", 1, "the first seed")
	f.StringSliceVar(&r.kits, "kit", nil, "rehearse only these kits")
	f.StringSliceVar(&r.causes, "cause", nil, "rehearse only these causes")
	return c
}

func rehearsePriors(ctx context.Context, s streams, r rehearseOptions, b *learning.Book, v learning.Version, k *kb.KB, dir string) error {
	if _, err := v.Overlay.Apply(k); err != nil {
		return fmt.Errorf("version %d: %w", v.Number, err)
	}
	before, err := rehearsed(ctx, s, r, "as written", func() (*kb.KB, error) { return loadKB(dir) })
	if err != nil {
		return err
	}
	after, err := rehearsed(ctx, s, r, "with the learned priors", func() (*kb.KB, error) { return k, nil })
	if err != nil {
		return err
	}
	after.Changes = rehearsal.Compare(before.Talks, after.Talks)
	found := learning.Rehearsed{
		Seeds: r.seeds, Talks: len(after.Talks), RightBefore: before.Total.Right.Is, RightAfter: after.Total.Right.Is,
		WrongBefore: before.Total.Wrong.Is, WrongAfter: after.Total.Wrong.Is,
	}
	for _, c := range after.Changes {
		found.Better, found.Worse, found.Others = found.Better+len(c.Better), found.Worse+len(c.Worse), found.Others+len(c.Other)
		found.Questions += c.Questions
	}
	if err := b.Rehearsed(ctx, v.Number, found); err != nil {
		return err
	}
	fmt.Fprintf(s.out, "Version %d: %s\n", v.Number, &found)
	return after.WriteChanges(s.out)
}
