package picture

import "triagebot/picture/drawing"

// Sheet lets tests measure what is drawn.
func (p *Picture) Sheet() *drawing.Sheet { return p.sheet }

// SentencesOf lets tests hold the sentences against their use.
func SentencesOf() map[string]string { return sentences()["en"] }
