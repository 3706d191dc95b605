// Package picture draws what words are bad at: where the two probes go, and
// where along the supply line the voltage stops.
//
//	p, err := picture.Check(k, kit, check) // before an owner measures
//	p, err := picture.Case(k, c)           // for the person who takes over
//
// A picture is worked out once and can be had as SVG, as PNG, as lines of text
// for a terminal and as one description for those who do not see it. All four
// say the same. The pictures are 360 pixels wide at scale 1, made for a phone,
// on a light panel of their own that stands on dark and light pages, and
// whatever a colour says is also said by a word and a shape.
//
// The same knowledge base and case give the same bytes.
package picture
