// Package casefile writes the record that a person takes over, so that nobody
// asks the owner the same thing twice:
//
//	c, err := casefile.Build(engine, state)
//	page := c.Markdown()      // for people
//	data, err := json.Marshal(c) // for programs; see Schema
//
// A case is worked out from a talk's state alone: the same state gives the
// same case, byte for byte, without a clock. It may be built at any point of a
// talk, not only at its end. What the owner wrote stands in the JSON as it
// came; on the page it is escaped, so that it can neither break the page nor
// call anybody.
package casefile
