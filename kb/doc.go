// Package kb is the knowledge base: its types, its loader, and the checks that
// need nothing but the files themselves.
//
//	k, found := kb.Load(kb.Embedded())
//	for _, d := range found {
//		fmt.Println(d) // kits/sorrel-60.yaml:12:5: error: ...; ... [unknown-id]
//	}
//	if k == nil {
//		// found holds at least one error
//	}
//	cause := k.Cause("throttle-stuck-low")
//
// The format is told in FORMAT.md. Load reads every .yaml and .yml file of a
// folder, reports all that is wrong in one run, and gives a knowledge base only
// when nothing is: whoever holds a *KB may follow any id in it without asking
// whether it exists. Limits and conditions stay text here; whether they can be
// worked out is for package checker, which knows package rules.
//
// A KB is read-only once loaded and safe for concurrent use.
package kb
