// Package reading finds numbers with units in what people write in a chat:
//
//	reading.Find("about four point two volts at rest")
//	// one Quantity: 4.2 V, Approx, one decimal
//
// It knows digits and number words, decimal points and decimal commas,
// prefixes (850 mV is 0.85 V), ranges, signs, a meter's overload sign and the
// slips of a phone keyboard (O.8, 4v2, "4 .2"). Units are resolved to V, A, Ω,
// °C, Hz and %; a number that counts things or names something ("2 wires",
// "step 2", a date) is left out. Whether a number with a unit is a reading or
// part of a name ("the 5 V wire") is for the caller, who knows the question.
//
// The rules are written for English. Of another language a file of data says
// what its words for numbers, units and what stands about them are in English
// (lang/CODE.yaml); the text's own places are kept.
//
// Find never fails: what it cannot read as a finite number it leaves out. The
// work grows linearly with the text. All functions are safe for concurrent use.
package reading

import (
	"cmp"
	"math"
)

// Units that a Quantity can have; "" means that none was said.
const (
	Volt    = "V"
	Ampere  = "A"
	Ohm     = "Ω"
	Celsius = "°C"
	Hertz   = "Hz"
	Percent = "%"
)

// Quantity is one number as somebody wrote it.
type Quantity struct {
	Value float64 // in Unit, prefixes resolved; the middle of a range
	Unit  string  // "V", "A", "Ω", "°C", "Hz", "%" or "" when not said
	// Overload is set for the sign a meter shows when the reading is beyond
	// its range (OL); Value is then 0 and means nothing.
	Overload bool
	Approx   bool    // the writer said about, nearly, ish ...
	Low      float64 // the ends of a range; both equal Value when no range was given
	High     float64
	// Decimals is how many digits behind the decimal sign of Value were given:
	// 2 for 4.98 V, 3 for 850 mV, 0 for 1.2 kΩ; -1 unknown (half a volt).
	Decimals int
	Start    int // byte offsets of the words in the text
	End      int
}

// Ranged reports whether a range was given.
func (q Quantity) Ranged() bool { return q.Low != q.High }

// Find returns the quantities in text in the order of their places.
func Find(text string) []Quantity { return FindFor(text, "") }

// FindFor is Find for text that answers a question about a unit. The unit is
// not put into quantities that came without one; it only settles how to read
// what is ambiguous, such as 4,125 (volts: a decimal comma; ohms: thousands).
func FindFor(text, unit string) []Quantity { return FindIn("", text, unit) }

// FindIn is FindFor for text in a language, by its code; "" is English.
func FindIn(code, text, unit string) []Quantity {
	p := parser{toks: wordsOf(code).english(lex(text)), want: unit}
	var out []Quantity
	for i := 0; i < len(p.toks); {
		q, next, ok := p.overload(i)
		if !ok {
			q, next, ok = p.span(i)
		}
		if next <= i {
			next = i + 1
		}
		if ok && finite(q) {
			out = append(out, q)
		}
		i = next
	}
	p.lendUnit(out)
	return out
}

func finite(q Quantity) bool {
	for _, v := range []float64{q.Value, q.Low, q.High} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return cmp.Compare(q.Low, q.High) <= 0
}
