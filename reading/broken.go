package reading

import (
	"math"
	"regexp"
	"strconv"
)

// Number words of neighbours' languages: an owner who answers in his own
// tongue mostly says no more than the figure. Only those are here that are no
// English words.
var foreign = map[string]float64{
	"cero": 0, "nul": 0, "uno": 1, "eins": 1, "une": 1, "dos": 2, "zwei": 2, "deux": 2, "twee": 2, "tres": 3, "trois": 3, "drei": 3, "drie": 3,
	"cuatro": 4, "quatre": 4, "quattro": 4, "vier": 4, "cinco": 5, "cinq": 5, "cinque": 5, "vijf": 5, "fünf": 5, "fuenf": 5, "seis": 6, "sechs": 6, "zes": 6,
	"siete": 7, "sette": 7, "sieben": 7, "zeven": 7, "ocho": 8, "huit": 8, "otto": 8, "acht": 8, "nueve": 9, "neuf": 9, "neun": 9, "negen": 9,
	"diez": 10, "zehn": 10, "tien": 10, "dieci": 10, "onze": 11, "doce": 12, "douze": 12, "zwölf": 12, "zwoelf": 12, "twaalf": 12, "dodici": 12,
}

var shapeColon = regexp.MustCompile(`^\d{1,2}:\d{2}$`)

// broken reads a number in digits whose decimal sign came out wrong: "4 . 9",
// "51 , 6", "5 4 . 3", "4;95", and "4:95" where volts were asked for.
func (p *parser) broken(i int) (float64, int, bool) {
	t := p.at(i)
	if t.odd {
		if p.want != Volt || !shapeColon.MatchString(t.text) || p.at(i-1).text == "at" || !p.leads(i-1) || p.at(i+1).kind == word && others[p.at(i+1).text] {
			return 0, i, false
		}
		v, err := strconv.ParseFloat(colonToPoint(t.text), 64)
		return v, i + 1, err == nil
	}
	text, j := p.digitRun(i)
	sign, behind := p.at(j), p.at(j+1)
	if text == "" || !plainDigits(behind) || len(behind.text) > 3 {
		return 0, i, false
	}
	apart := !sign.glued && !behind.glued
	switch {
	case sign.text == "." && apart, sign.text == "." && text == "0" && !p.at(j+2).glued:
	case sign.text == "," && apart && p.want == Volt && p.at(j+2).kind != word:
	case sign.text == ";" && sign.glued && behind.glued:
	default:
		return 0, i, false
	}
	v, err := strconv.ParseFloat(text+"."+behind.text, 64)
	return v, j + 2, err == nil
}

func colonToPoint(s string) string {
	b := []byte(s)
	for i := range b {
		if b[i] == ':' {
			b[i] = '.'
		}
	}
	return string(b)
}

// volts reads the tenths said behind the unit: "66 volt point eight", and
// "54 V 2" at the end of the text.
func (p *parser) volts(i int) (v float64, places, next int, ok bool) {
	if p.isPoint(i) || p.at(i).text == "comma" {
		return p.behindPoint(i + 1)
	}
	v, places, next, ok = p.behindPoint(i)
	return v, places, next, ok && places <= 2 && next >= len(p.toks)
}

// digitRun takes the digits at token i, and single digits with blanks between
// ("5 4") as one.
func (p *parser) digitRun(i int) (string, int) {
	if !plainDigits(p.at(i)) || len(p.at(i).text) > 3 {
		return "", i
	}
	text, j := p.at(i).text, i+1
	for len(text) == j-i && plainDigits(p.at(j)) && len(p.at(j).text) == 1 && j-i < 3 {
		text += p.at(j).text
		j++
	}
	return text, j
}

func plainDigits(t token) bool {
	return t.kind == number && !t.odd && !t.lead && !t.fraction && t.decimals == 0 && t.unit == "" && t.scale == 1
}

// lendUnit gives the one figure that has no unit the unit that stands apart
// from it: "1580 with mV next to it", "in kilo ohms: 4.7".
func (p *parser) lendUnit(out []Quantity) {
	bare := -1
	for i, q := range out {
		if q.Unit != "" || q.Overload || bare >= 0 {
			return
		}
		bare = i
	}
	if bare < 0 {
		return
	}
	for i := range p.toks {
		m, said, next := p.unit(i)
		if !said || m.unit == "" || m.fahrenheit || len(p.at(i).text) < 2 || p.at(i-1).kind == number {
			continue
		}
		if !unitLeads[p.at(i-1).text] && !unitTails[p.at(next).text] {
			continue
		}
		q := &out[bare]
		q.Value, q.Low, q.High = clean(q.Value*m.scale, -1), clean(q.Low*m.scale, -1), clean(q.High*m.scale, -1)
		q.Unit = m.unit
		if q.Decimals >= 0 {
			q.Decimals = max(0, q.Decimals-int(math.Round(math.Log10(m.scale))))
		}
		return
	}
}

// What stands before and behind a unit that is said apart from its figure.
var (
	unitLeads = set(`in on with says say said is shows reads a the to as means unit`)
	unitTails = set(`next beside behind after range scale mode sign symbol setting showing lit`)
)
