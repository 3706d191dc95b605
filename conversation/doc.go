// Package conversation is one owner's talk. A session is the list of its
// events; its state is a fold over them ([State.Apply]); a step is a function
// of state, message and time that gives events and things to say
// ([Engine.Step]). Replaying the events gives the same state, which is how a
// talk survives a crash, how a correction recomputes everything, and how an
// audit sees what was known when.
//
// It leans on the rules and the knowledge base alone. What it needs of the
// outside it asks for through [Matcher]; it knows no index, store, chat or clock.
package conversation
