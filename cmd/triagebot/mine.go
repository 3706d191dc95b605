package main

import (
	"bufio"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"log/slog"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"triagebot/casefile/store"
	"triagebot/hearing"
	"triagebot/kb"
	"triagebot/mining"
	"triagebot/mining/feed"
	"triagebot/mining/plots"
)

// mineFlags are what mine is told.
type mineFlags struct {
	kb, kit, from, to, running string
	store                      string
	csv, plots, patch, learn   string
	json, perCase              bool
	least, recent, base        int
	falseAlarms, strength      float64
}

func mineCommand(s streams) *cobra.Command {
	var o mineFlags
	c := &cobra.Command{
		Use:   "mine [FILE]",
		Short: "Says what closed cases teach: what fails, what is rising, what the rules miss",
		Long: `Reads closed cases as JSON lines from FILE, or from standard input, and reports over them;
with --store, the ended talks of a store that no program is serving.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if o.store != "" {
				if len(args) > 0 {
					return usageError{fmt.Errorf("give either --store or the file %q, not both", args[0])}
				}
				return mineStore(c.Context(), s, o)
			}
			in := s.in
			if len(args) == 1 && args[0] != "-" {
				f, err := os.Open(args[0])
				if err != nil {
					return fmt.Errorf("reading closed cases: %w", err)
				}
				defer f.Close()
				in = f
			}
			k, err := loadKB(o.kb)
			if err != nil {
				return err
			}
			return mine(c.Context(), k, source{records: mining.Records(in)}, s.out, o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.kb, "kb", "", "folder of the knowledge base (default: the built-in one)")
	f.StringVar(&o.store, "store", "", "file of a store: mine its ended talks")
	f.StringVar(&o.kit, "kit", "", "only this kit")
	f.StringVar(&o.from, "from", "", "first day, such as 2026-01-01")
	f.StringVar(&o.to, "to", "", "last day")
	f.StringVar(&o.running, "running", "", "file of the bikes that are running, as JSON lines, for the life of parts")
	f.BoolVar(&o.json, "json", false, "write the report as JSON")
	f.StringVar(&o.csv, "csv", "", "write all tables as CSV into this folder")
	f.StringVar(&o.plots, "plots", "", "write the pictures as SVG and PNG into this folder")
	f.StringVar(&o.patch, "patch", "", "write the wording to add as a YAML file for the knowledge base")
	f.StringVar(&o.learn, "learn", "", "write priors learned from confirmed causes as an overlay file")
	f.Float64Var(&o.strength, "strength", 200, "how many cases the written priors weigh against")
	f.IntVar(&o.least, "least", 5, "the smallest group shown; 1 shows all")
	f.IntVar(&o.recent, "recent", 13, "weeks looked at for a rise")
	f.IntVar(&o.base, "base", 39, "weeks before, to compare with")
	f.Float64Var(&o.falseAlarms, "false-alarms", 0.05, "share of reports that may raise a false alarm")
	f.BoolVar(&o.perCase, "per-case", false, "compare shares of cases instead of cases a week")
	return c
}

// source is where records come from, and the bikes that are running.
type source struct {
	records iter.Seq2[mining.Record, error]
	running iter.Seq2[mining.Running, error] // nil when it knows none
}

func mine(ctx context.Context, k *kb.KB, in source, out io.Writer, o mineFlags) error {
	if err := knownKit(k, o.kit); err != nil {
		return err
	}
	for _, n := range []int{o.least, o.recent, o.base} {
		if n < 1 {
			return usageError{fmt.Errorf("--least, --recent and --base must be 1 or more, not %d", n)}
		}
	}
	if !(o.falseAlarms > 0 && o.falseAlarms < 1) {
		return usageError{fmt.Errorf("--false-alarms %g must lie between 0 and 1", o.falseAlarms)}
	}
	a, err := o.gather(ctx, in)
	if err != nil {
		return err
	}
	options := mining.Options{KB: k, Least: o.least, Recent: o.recent, Base: o.base, False: o.falseAlarms, PerCase: o.perCase}
	r, err := mining.NewReport(a, options)
	if err != nil {
		return err
	}
	if err := o.files(a, r, k, options); err != nil {
		return err
	}
	if o.json {
		return r.WriteJSON(out)
	}
	return r.WriteText(out)
}

// gather adds up the records that are asked for.
func (o mineFlags) gather(ctx context.Context, in source) (*mining.Aggregate, error) {
	from, to := mining.Day(-1<<31), mining.Day(1<<31-1)
	for _, d := range []struct {
		flag, text string
		day        *mining.Day
	}{{"--from", o.from, &from}, {"--to", o.to, &to}} {
		if d.text == "" {
			continue
		}
		v, err := mining.ParseDay(d.text)
		if err != nil {
			return nil, usageError{fmt.Errorf("%s: %w", d.flag, err)}
		}
		*d.day = v
	}
	a := mining.NewAggregate()
	for r, err := range in.records {
		if err := cmp.Or(err, ctx.Err()); err != nil {
			return nil, err
		}
		if r.Closed >= from && r.Closed <= to && (o.kit == "" || r.Kit == o.kit) {
			a.Add(r)
		}
	}
	if o.running != "" {
		f, err := os.Open(o.running)
		if err != nil {
			return nil, fmt.Errorf("reading the running bikes: %w", err)
		}
		defer f.Close()
		in.running = mining.Fleet(f)
	}
	if in.running == nil {
		return a, nil
	}
	for b, err := range in.running {
		if err != nil {
			return nil, err
		}
		if o.kit == "" || b.Kit == o.kit {
			a.AddRunning(b)
		}
	}
	return a, nil
}

// mineStore mines the ended talks of a store.
func mineStore(ctx context.Context, s streams, o mineFlags) error {
	return withFeed(ctx, s, o.kb, o.store, func(t mined) error {
		return mine(ctx, t.kb, source{t.feed.Records(), t.feed.Fleet()}, s.out, o)
	})
}

// mined is a store whose ended talks have been counted.
type mined struct {
	feed  *feed.Feed
	store *store.Store
	kb    *kb.KB
}

// withFeed opens a store and brings its records up to date.
func withFeed(ctx context.Context, s streams, dir, path string, work func(mined) error) (err error) {
	k, err := loadKB(dir)
	if err != nil {
		return err
	}
	e, closer, err := hearing.Engine(k)
	if err != nil {
		return err
	}
	defer closer.Close()
	st, err := openStore(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	f, err := feed.New(feed.Config{Store: st, Engine: e, Log: slog.New(slog.NewTextHandler(s.err, nil))})
	if err != nil {
		return err
	}
	if err := f.CatchUp(ctx); err != nil {
		return err
	}
	return work(mined{f, st, k})
}

// files writes what goes into files.
func (o mineFlags) files(a *mining.Aggregate, r *mining.Report, k *kb.KB, options mining.Options) error {
	if o.csv != "" {
		for _, t := range r.Tables() {
			if err := writeFile(o.csv, t.Name+".csv", t.WriteCSV); err != nil {
				return err
			}
		}
	}
	var shifts []mining.Shift
	if o.learn != "" {
		overlay, s, err := mining.Learn(a, k, o.strength, "")
		if err != nil {
			return err
		}
		shifts = s
		if err := writeFile(filepath.Dir(o.learn), filepath.Base(o.learn), overlay.WriteYAML); err != nil {
			return err
		}
	}
	if o.patch != "" {
		if err := writeFile(filepath.Dir(o.patch), filepath.Base(o.patch), r.WritePatch); err != nil {
			return err
		}
	}
	if o.plots == "" {
		return nil
	}
	pictures, err := plots.All(a, r, shifts, options)
	if err != nil {
		return err
	}
	for _, p := range pictures {
		if err := writeFile(o.plots, p.Name+".svg", p.WriteSVG); err != nil {
			return err
		}
		if err := writeFile(o.plots, p.Name+".png", p.WritePNG); err != nil {
			return err
		}
	}
	return nil
}

func writeFile(dir, name string, write func(io.Writer) error) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("making folder %q: %w", dir, err)
	}
	f, err := os.Create(filepath.Join(dir, name))
	if err != nil {
		return fmt.Errorf("writing %q: %w", name, err)
	}
	w := bufio.NewWriter(f)
	err = cmp.Or(write(w), w.Flush())
	return cmp.Or(err, f.Close())
}
