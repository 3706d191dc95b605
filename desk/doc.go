// Package desk is where people work the cases that talks were handed over with,
// and where the rules of guarding live. It knows no chat and no HTTP; adapters
// stand over it.
//
//	feed := desk.NewFeed()                     // turns.Config.Happened = feed.Turn
//	d, err := desk.New(desk.Config{Store: s, Runner: r, Engine: engine, Feed: feed, ...})
//	c, err := d.Take(ctx, desk.Person{Name: "discord:123", Roles: roles}, 17)
//	err = d.Run(ctx)                           // reminders, silent owners, retention
//
// Every act checks the role of who acts, is kept in the audit of the case, and
// queues what the owner is told in the same transaction. Of two who take a case
// at once one wins, and the other gets a [store.TakenError] that says who.
package desk
