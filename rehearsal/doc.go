// Package rehearsal lets simulated owners talk to the whole bot and reports how
// it fared, so that a keeper of rules sees what a change to them did.
//
//	r, err := rehearsal.New(engine)
//	cases := r.Cases(rehearsal.Plan{Seeds: 20})
//	talks, err := r.Run(ctx, cases, 2, nil)
//	report := rehearsal.Summarise(talks)
//
// An owner has a simulated bike (package bench), a stock of words of their own
// (words.yaml), tools, covers they will not open, and moods: typos, units left
// out, a figure misread now and then. They answer what the bot asks by what the
// bike shows, tell of danger truthfully, carry out what is named and say
// whether the bike works. What the bot knows of the bike it has from their words.
//
// All lots are drawn from the seed of a case, each purpose with a stream of its
// own: the same case gives the same talk, word for word.
package rehearsal
