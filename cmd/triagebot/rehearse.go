package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"runtime"
	"runtime/debug"
	"time"

	"github.com/spf13/cobra"

	"triagebot/hearing"
	"triagebot/kb"
	"triagebot/rehearsal"
)

type rehearseOptions struct {
	dir, priors, compare, page string
	kits, causes               []string
	seeds, yardsticks          int
	seed                       uint64
	json, talk                 bool
}

func rehearseCommand(s streams) *cobra.Command {
	var o rehearseOptions
	c := &cobra.Command{
		Use:   "rehearse",
		Short: "Lets simulated owners talk to the bot and reports how it fared",
		Args:  noMore,
		RunE: func(c *cobra.Command, _ []string) error {
			if o.talk && !c.Flags().Changed("seeds") {
				o.seeds = 1
			}
			return rehearse(c.Context(), s, o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.dir, "kb", "", "folder of the knowledge base (default: the built-in one)")
	f.StringVar(&o.priors, "priors", "", "file of learned priors to put over it: says what they change for the same owners")
	f.StringSliceVar(&o.kits, "kit", nil, "rehearse only these kits")
	f.StringSliceVar(&o.causes, "cause", nil, `rehearse only these causes; "a+b" for two at once, and nothing-wrong`)
	f.IntVar(&o.seeds, "seeds", 3, "owners per kit and cause")
	f.Uint64Var(&o.seed, "seed", 1, "the first seed; the same seed gives the same bikes, owners and talks")
	f.IntVar(&o.yardsticks, "yardsticks", 0, "measure the choice of questions against other ways, on this many owners per kit and cause")
	f.BoolVar(&o.json, "json", false, "write JSON")
	f.StringVar(&o.page, "html", "", "write a page with plots to this file, too")
	f.StringVar(&o.compare, "compare", "", "folder of an older knowledge base: say what became better and worse for the same owners")
	f.BoolVar(&o.talk, "talk", false, "print the chosen talks in full")
	return c
}

// rehearsalGarbage is the growth of the heap, in percent, at which a rehearsal
// collects its garbage.
const rehearsalGarbage = 400

// mostTalks is how many talks are printed in full at most: nobody reads more.
const mostTalks = 20

// compares says whether a second rehearsal is wanted to compare with.
func (o rehearseOptions) compares() bool { return o.compare != "" || o.priors != "" }

func (o rehearseOptions) valid() error {
	switch {
	case o.seeds < 1:
		return usageError{fmt.Errorf("--seeds %d: at least one owner is needed", o.seeds)}
	case o.yardsticks < 0:
		return usageError{fmt.Errorf("--yardsticks %d: must not be negative", o.yardsticks)}
	case o.talk && (o.json || o.page != "" || o.compares() || o.yardsticks > 0):
		return usageError{fmt.Errorf("--talk prints talks and goes with --kit, --cause, --seed, --seeds and --kb only")}
	}
	return nil
}

func rehearse(ctx context.Context, s streams, o rehearseOptions) error {
	if err := o.valid(); err != nil {
		return err
	}
	r, version, closer, err := newRehearsal(o.dir, o.priors)
	if err != nil {
		return err
	}
	defer closer.Close()
	plan := rehearsal.Plan{Kits: o.kits, Causes: o.causes, Seeds: o.seeds, Seed: o.seed}
	cases, err := r.Cases(plan)
	if err != nil {
		return usageError{err}
	}
	if o.talk {
		return printTalks(s.out, r, cases)
	}
	workers := runtime.GOMAXPROCS(0)
	// A talk's garbage is small and all gone with it: collect it less often.
	defer debug.SetGCPercent(debug.SetGCPercent(rehearsalGarbage))
	talks, err := r.Run(ctx, cases, workers, progress(s.err, "talks", len(cases)))
	if err != nil {
		return err
	}
	report := rehearsal.Summarise(talks)
	report.KB, report.Seeds, report.Seed = version, o.seeds, o.seed
	if o.yardsticks > 0 {
		plan.Seeds = o.yardsticks
		if cases, err = r.Cases(plan); err != nil {
			return err
		}
		if report.Yardsticks, err = r.Measure(ctx, cases, workers, progress(s.err, "hunts", len(cases))); err != nil {
			return err
		}
	}
	if o.compares() {
		if err := compareWith(ctx, s, o, plan, report, workers); err != nil {
			return err
		}
	}
	return writeReport(s.out, o, report)
}

// compareWith rehearses an older knowledge base with the same owners.
func compareWith(ctx context.Context, s streams, o rehearseOptions, plan rehearsal.Plan, report *rehearsal.Report, workers int) error {
	dir := o.compare
	if dir == "" { // the priors alone are what differs
		dir = o.dir
	}
	old, _, closer, err := newRehearsal(dir, "")
	if err != nil {
		return err
	}
	defer closer.Close()
	plan.Seeds = o.seeds
	cases, err := old.Cases(plan)
	if err != nil {
		return err
	}
	before, err := old.Run(ctx, cases, workers, progress(s.err, "talks as it was before", len(cases)))
	if err != nil {
		return err
	}
	report.Changes = rehearsal.Compare(before, report.Talks)
	return nil
}

func writeReport(out io.Writer, o rehearseOptions, report *rehearsal.Report) error {
	if o.page != "" {
		f, err := os.Create(o.page)
		if err != nil {
			return fmt.Errorf("writing the page: %w", err)
		}
		if err := report.WriteHTML(f); err != nil {
			_ = f.Close()
			return err
		}
		if err := f.Close(); err != nil {
			return fmt.Errorf("writing the page: %w", err)
		}
	}
	switch {
	case o.json:
		return lineWriter(out)(report)
	case o.compares():
		return report.WriteChanges(out)
	}
	return report.WriteText(out)
}

func printTalks(out io.Writer, r *rehearsal.Rehearsal, cases []rehearsal.Case) error {
	if len(cases) > mostTalks {
		return usageError{fmt.Errorf("%d talks are too many to print: choose with --kit, --cause and --seed", len(cases))}
	}
	for i, c := range cases {
		t, err := r.Talk(c)
		if err != nil {
			return err
		}
		if i > 0 {
			fmt.Fprintln(out)
		}
		if err := t.WriteTalk(out); err != nil {
			return err
		}
	}
	return nil
}

func newRehearsal(dir, priors string) (*rehearsal.Rehearsal, string, io.Closer, error) {
	k, err := loadWith(dir, priors)
	if err != nil {
		return nil, "", nil, err
	}
	return rehearsalOf(k)
}

func rehearsalOf(k *kb.KB) (*rehearsal.Rehearsal, string, io.Closer, error) {
	engine, closer, err := hearing.Engine(k)
	if err != nil {
		return nil, "", nil, err
	}
	r, err := rehearsal.New(engine)
	if err != nil {
		_ = closer.Close()
		return nil, "", nil, err
	}
	return r, k.Version, closer, nil
}

// progress says how far a long run has come: nothing in the first half second,
// then twice a second at most.
func progress(w io.Writer, what string, all int) func(n int) {
	last := time.Now()
	shown := false
	return func(n int) {
		now := time.Now()
		if n == all && shown {
			fmt.Fprintf(w, "\r%d of %d %s\n", n, all, what)
			return
		}
		if now.Sub(last) < 500*time.Millisecond {
			return
		}
		last, shown = now, true
		fmt.Fprintf(w, "\r%d of %d %s", n, all, what)
	}
}
