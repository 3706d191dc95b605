// Package learning keeps the versions of priors that closed cases taught, and
// who switched which one on.
//
//	b := learning.Book{Settings: store, Now: time.Now}
//	v, err := b.Propose(ctx, "local:anna", aggregate, written, 200)
//	err = b.SwitchOn(ctx, "local:anna", v.Number, written)
//	v, on, err := b.InForce()
//	undo, err := v.Overlay.Apply(k)
//
// A version is never changed but for what a rehearsal said of it, and none is
// thrown away: switching off, or back to an older one, takes the learning back.
// Each is learned from the priors as written and from all cases, so that no case
// counts twice. A program applies the version in force when it loads its rules,
// so that a switch takes hold with the next start.
package learning
