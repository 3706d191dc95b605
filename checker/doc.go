// Package checker says what is wrong with a knowledge base before an owner
// finds out:
//
//	for _, d := range checker.Run(os.DirFS("kb/data"), nil) {
//		fmt.Println(d)
//	}
//
// It begins with what package kb finds while loading. When that is free of
// errors it goes on to what needs the computation and the matcher: whether
// every limit can be worked out on every kit, whether windows meet, whether
// each cause can be reached from what owners say and told from its neighbours,
// whether phrases are understood as what they stand for, and whether the rule
// authors' own cases come out.
//
// It judges rules, not bikes: a silent checker means that the rules fit
// together, not that they are true.
package checker
