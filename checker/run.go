package checker

import (
	"io/fs"
	"slices"
	"sync"

	"triagebot/kb"
	"triagebot/rules"
	"triagebot/search"
)

// checker holds a loaded knowledge base and what is found wrong with it.
type checker struct {
	*kb.KB
	models []*rules.Model // of the kits whose figures can be worked out
	found  []kb.Diagnostic
	byKit  map[kb.Diagnostic]*[]string // the same fault on several kits is one fault
	order  []kb.Diagnostic
	spoken []kb.Diagnostic // of the languages
}

// Run checks the knowledge base in a folder. The diagnostics are in the order
// of their places. As long as loading finds errors, only those are reported:
// the deeper checks would speak of their consequences. Without chooses, which
// may be nil, the options' phrases are not tried.
func Run(fsys fs.FS, chooses Chooses) []kb.Diagnostic {
	k, found := kb.Load(fsys)
	if k == nil {
		return found
	}
	c := &checker{KB: k, found: found, byKit: map[kb.Diagnostic]*[]string{}}
	c.figures()
	// Matching is most of the work and needs nothing of the rest.
	var strict, said, answered []kb.Diagnostic
	var wait sync.WaitGroup
	wait.Go(func() { strict = search.Check(k) })
	wait.Go(func() { said = words(k) })
	if chooses != nil {
		wait.Go(func() { answered = answers(k, chooses) })
	}
	wait.Go(func() { c.spoken = languages(k, chooses) })
	sound := c.limits()
	c.conditions()
	if sound {
		c.reach()
		c.apart()
		c.idle()
		c.cases()
	}
	c.settle()
	wait.Wait()
	return kb.Sort(slices.Concat(c.found, said, answered, newPlaces(strict, said), c.spoken))
}

// newPlaces drops what was found at the place of something else: search.Check
// asks the same of a phrase as a talk would, only more strictly.
func newPlaces(found, before []kb.Diagnostic) []kb.Diagnostic {
	return slices.DeleteFunc(found, func(d kb.Diagnostic) bool {
		return slices.ContainsFunc(before, func(b kb.Diagnostic) bool { return b.Pos == d.Pos })
	})
}
