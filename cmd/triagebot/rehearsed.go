package main

import (
	"context"
	"runtime"

	"triagebot/kb"
	"triagebot/rehearsal"
)

// rehearsed lets the owners of a plan talk to the bot over some rules.
func rehearsed(ctx context.Context, s streams, o rehearseOptions, what string, load func() (*kb.KB, error)) (*rehearsal.Report, error) {
	k, err := load()
	if err != nil {
		return nil, err
	}
	r, version, closer, err := rehearsalOf(k)
	if err != nil {
		return nil, err
	}
	defer closer.Close()
	cases, err := r.Cases(rehearsal.Plan{Kits: o.kits, Causes: o.causes, Seeds: o.seeds, Seed: o.seed})
	if err != nil {
		return nil, usageError{err}
	}
	talks, err := r.Run(ctx, cases, runtime.GOMAXPROCS(0), progress(s.err, "talks "+what, len(cases)))
	if err != nil {
		return nil, err
	}
	report := rehearsal.Summarise(talks)
	report.KB, report.Seeds, report.Seed = version, o.seeds, o.seed
	return report, nil
}
