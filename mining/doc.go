// Package mining says what closed cases teach: what fails on which kit, how
// often, what is rising, how long parts last, which checks people cannot do,
// which rules mislead, and which wording no rule knows.
//
//	a := mining.NewAggregate()
//	for r, err := range mining.Records(file) {
//		...
//		a.Add(r)
//	}
//	report, err := mining.NewReport(a, mining.Options{KB: k})
//	err = report.WriteText(w)
//
// Records go by one at a time; an Aggregate keeps counts and, for the life of
// parts, 32 bytes a case. Aggregates of parts of the data merge to the same as
// one over all. There is no clock: "now" is the last day in the data, unless
// Options say otherwise.
//
// A report hides groups of fewer than Options.Least cases, and with them the
// cells from which a hidden one could be worked out. An Aggregate hides
// nothing: it must not be shown as it is.
//
// The statistics themselves are in mining/stats, the pictures in mining/plots.
package mining
