package kb

import "fmt"

// Pos is a place in a knowledge base file. The zero Pos is "nowhere".
type Pos struct {
	File string // relative to the knowledge base's folder
	Line int    // from 1
	Col  int    // from 1, in characters
}

// String writes file:line:col, which editors turn into a link.
func (p Pos) String() string {
	if p.Line == 0 {
		return p.File
	}
	return fmt.Sprintf("%s:%d:%d", p.File, p.Line, p.Col)
}
