package search

import "triagebot/kb"

// Piece is a part of the understanding that can be left out, so that what it
// adds can be measured.
type Piece string

// The pieces.
const (
	Phrases    Piece = "phrases, by the index"
	Patterns   Piece = "patterns"
	Spelling   Piece = "spelling repair"
	Synonyms   Piece = "synonyms"
	Negation   Piece = "negation and its reach"
	Ellipses   Piece = "words left out"
	Standing   Piece = "past, fear, question, another's"
	Keywords   Piece = "one-word phrases"
	Idioms     Piece = "idioms"
	LastResort Piece = "best guess where nothing else is understood"
)

// Pieces are all of them.
var Pieces = []Piece{Phrases, Patterns, Spelling, Synonyms, Negation, Ellipses, Standing, Keywords, Idioms, LastResort}

// NewWithout builds the index as [New] does, without some pieces.
func NewWithout(k *kb.KB, pieces ...Piece) (*Index, error) {
	without := map[Piece]bool{}
	for _, p := range pieces {
		without[p] = true
	}
	return build(k, without)
}
