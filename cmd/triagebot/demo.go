package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"time"

	"github.com/spf13/cobra"

	"triagebot/casefile/store"
	"triagebot/demostore"
	"triagebot/hearing"
	"triagebot/mining"
	"triagebot/mining/feed"
)

type demoFlags struct {
	store, kb, end string
	seed           uint64
	weeks          int
}

func demoCommand(s streams) *cobra.Command {
	var o demoFlags
	c := &cobra.Command{
		Use:   "demo",
		Short: "Fills a store of its own with a year of invented cases",
		Long: `Fills a new store with a year of invented talks and cases, some of them waiting
or taken, so that every page has something true to show. What fails is planted:
one part fails more often in the last quarter, one month's bikes have a bad part,
and one part wears. Everything made of that store is marked as demo.`,
		Args: noMore,
		RunE: func(c *cobra.Command, _ []string) error { return fillDemo(c, s, o) },
	}
	f := c.Flags()
	f.StringVar(&o.store, "store", "triagebot-demo.db", "file to make; one that holds real cases is refused")
	f.StringVar(&o.kb, "kb", "", "folder of the knowledge base (default: the built-in one)")
	f.StringVar(&o.end, "end", "", "last day, such as 2026-11-30 (default: yesterday)")
	f.Uint64Var(&o.seed, "seed", 1, "the same seed and last day give the same talks and cases")
	f.IntVar(&o.weeks, "weeks", 52, "how long the year is")
	return c
}

func fillDemo(c *cobra.Command, s streams, o demoFlags) (err error) {
	if o.weeks < 1 {
		return usageError{fmt.Errorf("--weeks %d: at least one is needed", o.weeks)}
	}
	last := mining.DayOf(time.Now()) - 1
	if o.end != "" {
		if last, err = mining.ParseDay(o.end); err != nil {
			return usageError{fmt.Errorf("--end: %w", err)}
		}
	}
	k, err := loadKB(o.kb)
	if err != nil {
		return err
	}
	e, closer, err := hearing.Engine(k)
	if err != nil {
		return err
	}
	defer closer.Close()
	st, err := store.Open(o.store, store.Options{Now: time.Now, Unflushed: true})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	set := demostore.Year(last + 1 - mining.Day(7*o.weeks))
	set.Seed, set.Weeks = o.seed, o.weeks
	set.Rise.Week = o.weeks - 12
	var count func(int)
	done, err := demostore.Fill(c.Context(), st, e, set, func(n, of int) {
		if count == nil {
			count = progress(s.err, "invented faults", of)
		}
		count(n)
	})
	if err != nil {
		return err
	}
	f, err := feed.New(feed.Config{Store: st, Engine: e, Log: slog.New(slog.NewTextHandler(s.err, nil))})
	if err = cmp.Or(err, f.CatchUp(c.Context())); err != nil {
		return err
	}
	return tellDemo(s.out, o.store, done, set.Rise.Kit+" "+set.Rise.Cause, set.Batch.Kit+" "+set.Batch.Cause+" of "+set.Batch.Built.Month(), set.Wear.Kit+" "+set.Wear.Cause)
}

func tellDemo(w io.Writer, path string, d demostore.Filled, rise, batch, wear string) error {
	_, err := fmt.Fprintf(w, `DEMO: %s holds %d invented talks.
%d ended with the bike mended and no person, %d cases are waiting, %d taken, %d closed.
Planted: more %s of late, a bad batch of %s, and %s by wear.
See: triagebot mine --store %s
`, path, d.Talks, d.Solved, d.Waiting, d.Taken, d.Closed, rise, batch, wear, quoted(path))
	return err
}
