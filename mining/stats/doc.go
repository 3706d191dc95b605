// Package stats holds the few statistics that the mining of cases needs, each
// in a file of its own with its formula and source. It knows no bike and no
// case; all functions are pure and give the same result for the same input.
//
//	w := stats.Wilson(5, 10, 0.90)            // 0.269 .. 0.731
//	p := stats.CompareRates(8, 13, 9, 39).Greater
//	q := stats.BenjaminiHochberg(ps)          // adjusted, compare with the wanted rate
//	f, err := stats.FitWeibull(lives, 0.95)
//
// What cannot be computed (no data, no failures) is NaN or an error, never a
// panic.
package stats
