// Package discord is the bot in a Discord community.
//
//	chat, err := discord.New(discord.Config{Token: token, Store: s, KB: k, Engine: e, ...})
//	runner, err := turns.New(turns.Config{Sender: chat, ...})
//	err = chat.Run(ctx, runner, d) // d is a *desk.Desk
//
// Owners talk to the bot in a private thread, by direct message, or where they
// asked; volunteers take cases in a channel of theirs. What comes in goes through
// the Runner, what goes out comes from its outbox; this package keeps nothing of
// its own but how far it has read.
//
// discordgo carries the gateway and REST, fenced in where it would crash, wait
// for ever, lose order or send twice: see the table of pitfalls in DEVELOPERS.md,
// and link.go, gateway.go, rest.go and event.go, which are the fence.
//
// Nothing here logs what people write.
package discord
