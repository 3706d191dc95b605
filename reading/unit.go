package reading

import "strings"

// scale of a prefix and the unit it stands before.
type measure struct {
	unit       string
	scale      float64
	fahrenheit bool
}

// Whole words that are units, lower case, with common slips.
var unitWords = map[string]measure{
	"v": {Volt, 1, false}, "volt": {Volt, 1, false}, "volts": {Volt, 1, false}, "vdc": {Volt, 1, false}, "vac": {Volt, 1, false},
	"volt's": {Volt, 1, false}, "vots": {Volt, 1, false}, "volst": {Volt, 1, false}, "vlots": {Volt, 1, false}, "votls": {Volt, 1, false},
	"vols": {Volt, 1, false}, "voltz": {Volt, 1, false}, "vlts": {Volt, 1, false}, "volss": {Volt, 1, false}, "vollts": {Volt, 1, false},
	"voltios": {Volt, 1, false}, "volte": {Volt, 1, false},
	"mv": {Volt, 1e-3, false}, "millivolt": {Volt, 1e-3, false}, "millivolts": {Volt, 1e-3, false}, "milivolts": {Volt, 1e-3, false},
	"milivolt": {Volt, 1e-3, false}, "μv": {Volt, 1e-6, false}, "uv": {Volt, 1e-6, false}, "microvolts": {Volt, 1e-6, false},
	"kv": {Volt, 1e3, false}, "kilovolt": {Volt, 1e3, false}, "kilovolts": {Volt, 1e3, false},
	"amp": {Ampere, 1, false}, "amps": {Ampere, 1, false}, "ampere": {Ampere, 1, false}, "amperes": {Ampere, 1, false}, "ampers": {Ampere, 1, false},
	"ma": {Ampere, 1e-3, false}, "milliamp": {Ampere, 1e-3, false}, "milliamps": {Ampere, 1e-3, false}, "miliamps": {Ampere, 1e-3, false},
	"μa": {Ampere, 1e-6, false}, "microamps": {Ampere, 1e-6, false},
	"ω": {Ohm, 1, false}, "ohm": {Ohm, 1, false}, "ohms": {Ohm, 1, false}, "ohm's": {Ohm, 1, false}, "omhs": {Ohm, 1, false},
	"omh": {Ohm, 1, false}, "oms": {Ohm, 1, false}, "ohmes": {Ohm, 1, false}, "ohhms": {Ohm, 1, false}, "homs": {Ohm, 1, false},
	"milliohm": {Ohm, 1e-3, false}, "milliohms": {Ohm, 1e-3, false}, "miliohm": {Ohm, 1e-3, false}, "miliohms": {Ohm, 1e-3, false},
	"kω": {Ohm, 1e3, false}, "kohm": {Ohm, 1e3, false}, "kohms": {Ohm, 1e3, false}, "kilohm": {Ohm, 1e3, false}, "kilohms": {Ohm, 1e3, false},
	"kiloohm": {Ohm, 1e3, false}, "kiloohms": {Ohm, 1e3, false}, "megohm": {Ohm, 1e6, false}, "megohms": {Ohm, 1e6, false},
	"megaohm": {Ohm, 1e6, false}, "megaohms": {Ohm, 1e6, false}, "gω": {Ohm, 1e9, false},
	"°c": {Celsius, 1, false}, "celsius": {Celsius, 1, false}, "centigrade": {Celsius, 1, false}, "degc": {Celsius, 1, false}, "celcius": {Celsius, 1, false},
	"℃": {Celsius, 1, false}, "℉": {Celsius, 1, true},
	"°f": {Celsius, 1, true}, "fahrenheit": {Celsius, 1, true}, "farenheit": {Celsius, 1, true}, "degf": {Celsius, 1, true},
	"hz": {Hertz, 1, false}, "hertz": {Hertz, 1, false}, "khz": {Hertz, 1e3, false}, "kilohertz": {Hertz, 1e3, false}, "mhz": {Hertz, 1e6, false},
	"%": {Percent, 1, false}, "percent": {Percent, 1, false}, "pct": {Percent, 1, false}, "prozent": {Percent, 1, false},
}

// Prefixes said as words of their own, before a unit.
var prefixWords = map[string]float64{
	"milli": 1e-3, "mili": 1e-3, "micro": 1e-6, "kilo": 1e3, "mega": 1e6,
}

// unit reads a unit at token i; next is i when there is none.
func (p *parser) unit(i int) (measure, bool, int) {
	t := p.at(i)
	if t.text == "-" && t.glued && p.at(i+1).glued && p.at(i+1).kind == word { // 48-volt
		if m, ok, n := p.unit(i + 1); n > i+1 && len(p.at(i+1).text) > 1 {
			return m, ok, n
		}
		return measure{}, false, i
	}
	if t.kind != word {
		return measure{}, false, i
	}
	if s, ok := prefixWords[t.text]; ok {
		if m, ok := unitWords[p.at(i+1).text]; ok {
			m.scale *= s
			return m, true, i + 2
		}
		if i > 0 && (i+1 >= len(p.toks) || p.at(i+1).kind == mark) { // "fifteen milli", "4.7 kilo"
			if s < 1 && p.want == Volt || s > 1 && p.want == Ohm {
				return measure{unit: p.want, scale: s}, true, i + 1
			}
		}
		return measure{}, false, i
	}
	if m, ok := byCase(t.raw); ok {
		return m, true, i + 1
	}
	if m, ok := unitWords[t.text]; ok {
		n := i + 1
		if next := p.at(n).text; m.unit == Volt && (next == "dc" || next == "ac") {
			n++
		}
		return m, true, n
	}
	return p.letterUnit(i)
}

// byCase reads units of resistance in which a capital changes the prefix.
// Nobody reads megavolts here, so MV and MA stay milli (unitWords).
func byCase(raw string) (measure, bool) {
	low := strings.ToLower(raw)
	switch low {
	case "mohm", "mohms", "mω":
		if raw[0] == 'M' {
			return measure{unit: Ohm, scale: 1e6}, true
		}
		return measure{unit: Ohm, scale: 1e-3}, true
	}
	return measure{}, false
}

// letterUnit reads the units that are single letters or words with other
// meanings, which need to stand close to the number.
func (p *parser) letterUnit(i int) (measure, bool, int) {
	t := p.at(i)
	next := p.at(i + 1)
	last := next.kind == mark || i+1 >= len(p.toks)
	tight := t.glued && !next.glued || t.glued && next.kind == mark
	switch t.text {
	case "k", "kay", "meg", "megs", "m", "mega", "kilo":
		return p.multiplier(i)
	case "r":
		if tight {
			return measure{unit: Ohm, scale: 1}, true, i + 1
		}
	case "a":
		if tight || t.raw == "A" && (last || p.want == Ampere) {
			return measure{unit: Ampere, scale: 1}, true, i + 1
		}
	case "c":
		if tight || last || t.raw == "C" {
			return measure{unit: Celsius, scale: 1}, true, i + 1
		}
	case "f":
		if tight || t.raw == "F" {
			return measure{unit: Celsius, scale: 1, fahrenheit: true}, true, i + 1
		}
	case "°", "degree", "degrees", "deg", "degs", "degress", "degrese":
		n := i + 1
		if p.at(n).text == "." && t.text == "deg" {
			n++
		}
		switch p.at(n).text {
		case "c", "celsius", "centigrade", "celcius":
			n++
		case "f", "fahrenheit", "farenheit":
			return measure{unit: Celsius, scale: 1, fahrenheit: true}, true, n + 1
		}
		return measure{unit: Celsius, scale: 1}, true, n
	case "per":
		if next.text == "cent" {
			return measure{unit: Percent, scale: 1}, true, i + 2
		}
	}
	return measure{}, false, i
}

// multiplier reads k, M and meg, alone or before a unit.
func (p *parser) multiplier(i int) (measure, bool, int) {
	t := p.at(i)
	s := 1e6
	switch {
	case t.text[0] == 'k':
		s = 1e3
	case t.text == "m" && t.raw == "m":
		// metres or minutes when alone; milli before a unit: "850 m V"
		if m, ok := unitWords[p.at(i+1).text]; ok && !p.at(i+1).glued && m.scale == 1 && (m.unit == Volt || m.unit == Ohm) {
			m.scale = 1e-3
			return m, true, i + 2
		}
		if p.want == Volt && i+1 >= len(p.toks) && p.at(i-1).kind == number && p.at(i-1).value >= 10 { // nobody answers volts in metres
			return measure{unit: Volt, scale: 1e-3}, true, i + 1
		}
		return measure{}, false, i
	}
	if m, ok := unitWords[p.at(i+1).text]; ok && m.scale == 1 && (m.unit == Ohm || m.unit == Hertz || s == 1e3) {
		m.scale = s
		return m, true, i + 2
	}
	if p.at(i+1).glued && p.at(i+1).kind != mark {
		return measure{}, false, i
	}
	return measure{scale: s}, true, i + 1
}

// unitBefore reads a unit that stands before its number: "volts: 4.2".
func (p *parser) unitBefore(i int) (measure, bool) {
	j := i - 1
	for steps := 0; steps < 1 && (p.at(j).text == ":" || p.at(j).text == "="); steps++ {
		j--
	}
	t := p.at(j)
	if t.kind != word || t.glued && p.at(j-1).kind == number || p.taken > j {
		return measure{}, false
	}
	if p.at(j-1).kind == number { // "5 V: 4.2" names a wire
		return measure{}, false
	}
	if m, ok := unitWords[t.text]; ok {
		return m, true
	}
	return measure{}, false
}
