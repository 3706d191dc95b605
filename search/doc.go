// Package search reads an owner's message and says what it was understood as:
//
//	x, err := search.New(k)
//	said := x.Match("screen lights up fine but twisting does nothing")
//	// said.Symptoms: display-normal present, no-drive present
//
// The phrases of a knowledge base are laid into a bleve index (BM25, in
// memory). A message is put into plain words (spelling, joined and split
// words, synonyms, stems), cut into clauses, and each word is given a sign by
// what negates it. The index names the phrases that may fit a clause; each is
// then laid against the clause word by word, and its score is how much of the
// phrase is there, how much of the clause it explains, and whether both say or
// both deny it. Beside phrases there are patterns of kinds of words, each of
// which stands for all the sentences that can be made of it; a pattern is there
// or is not, and goes before a phrase that is only nearly said. Patterns also
// tell to which check a number belongs, by the words of its own clause, and what
// a look or a try shows that is told in passing ([Sight]). What is said to have
// been well in the past, what is only asked or feared, and what is said of
// another machine does not count.
//
// Trade words come from the knowledge base alone; what the package knows of
// English is in grammar.yaml.
//
// Caveats: only the first [MaxRunes] runes of a message are read, so that the
// time is bounded. An Index is read-only and safe for concurrent use until
// Close. All results are deterministic.
package search

// MaxRunes is how much of a message is read; people do not write more, and
// what is longer is a paste whose beginning says enough.
const MaxRunes = 4000
