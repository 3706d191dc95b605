// Package demostore fills a store with a year of invented cases, so that every
// page has something true to show.
//
//	done, err := demostore.Fill(ctx, s, r, demostore.Year(day), nil)
//
// What fails when is drawn by package mining/demo, with a planted rise of one
// part's failures, a bad batch, and a part that wears by distance. Each fault then
// is put into a bike of the bench, and its simulated owner (package rehearsal)
// talks to the whole bot; invented volunteers take the cases that go to a person
// and close them days later. So a case has all that a real one has, and what the
// statistics say of it can be held against what was planted.
//
// The store is marked as demo before the first talk is in it, and one that holds
// anything else is refused. The same settings give the same store, but for its
// own name of its life.
package demostore
