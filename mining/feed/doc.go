// Package feed lets the ended talks of a store be mined: it makes a record of
// each, keeps it in the store, and keeps an aggregate over all of them.
//
//	f, err := feed.New(feed.Config{Store: s, Engine: e, Log: log})
//	err = f.CatchUp(ctx)                     // at the start
//	err = f.Look(ctx, conversation)          // after each change
//	snapshot, err := f.Refresh(options, now)
//
// or Run, which does all three as changes come.
//
// A talk has ended when a person closed its case, or when it came to its end
// without one. If it goes on, its record goes. Only what differs is worked out:
// records made before are read, not made again. When an owner is forgotten their
// words leave the store at once, and the aggregate when it is next counted anew.
package feed
