// Package rules is the computation of the hunt: it judges a reading against
// the windows of its check, keeps a belief over what may be wrong, and chooses
// the next check. It is pure: no I/O, no clock, no randomness; everything it
// knows of a trade comes from a [kb.KB].
//
//	m, err := rules.NewModel(k, kit, nil)
//	b := rules.NewBelief(m)
//	j, err := m.Scope().Judge(check, rules.Reading{Value: 0.02, Unit: "V", Decimals: 2})
//	b.Observe(obs, j.Soft())
//	b.Suspects()
//
// A [Model] is read-only and safe for concurrent use; a [Belief] is not.
package rules
