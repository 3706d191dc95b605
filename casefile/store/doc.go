// Package store keeps what must outlive the program in one bbolt file: the
// events of every conversation, the cases that people work on, what waits to be
// sent, which messages were taken already, and settings.
//
//	s, err := store.Open("triagebot.db", store.Options{Now: time.Now})
//	done, err := s.Commit(ctx, store.Turn{...}) // durable when it returns
//	talk, err := s.Conversation("thread-17")
//	err = s.Close()
//
// One goroutine writes; it belongs to the Store and [Store.Close] ends it. It
// takes all changes that wait and commits them together, so that a disk flush
// is shared. Everything that belongs to a turn is in one transaction. Reads copy
// out what they need and hold no transaction afterwards.
//
// Before bbolt maps the file it is read once as plain bytes and every page,
// record and count in it is checked, because bbolt itself would crash the
// program on a damaged page. A damaged file is refused with [ErrDamaged].
//
// A Store is safe for concurrent use. The file belongs to one process at a
// time; a second one is told who holds it ([HeldError]).
package store
