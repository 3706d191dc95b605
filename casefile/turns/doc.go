// Package turns gives every message of an owner exactly one turn.
//
//	r, err := turns.New(turns.Config{Store: s, Engine: engine, Sender: chat, ...})
//	err = r.Take(ctx, turns.Incoming{ID: "m1", Conversation: "thread-17", ...})
//	err = r.Close(ctx)
//
// A message is known by its id and taken once, however often it comes. Messages
// of one conversation are answered in the order they were given; conversations
// go side by side on a fixed number of workers. When [Runner.Take] returns, the
// turn is durable and its answer lies in the outbox, from where it is sent,
// again and again until the chat has it. Each outgoing message carries a nonce
// by which the chat drops a second copy: the process may be killed after the chat
// took a message and before that was written down.
//
// Only a few conversations are kept in memory; the others are folded anew from
// their events when they go on.
package turns
