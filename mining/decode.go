package mining

import (
	"fmt"
	"math"
	"unicode/utf8"

	"github.com/valyala/fastjson"
)

// Decoder reads records from JSON. It exists because a million of them are
// 0.9 GB, over which the general decoder by reflection takes four to five times
// as long; a test holds it to the same result. Keys are told apart by case, and
// unknown ones are passed over.
type Decoder struct {
	parser fastjson.Parser
	// known are ids met before: a million records use some hundreds of them.
	known map[string]string
	wrong error
}

// mostKnown bounds what strange input can make of known.
const mostKnown = 10_000

// NewDecoder is one that has read nothing yet. It is not safe for concurrent use.
func NewDecoder() *Decoder { return &Decoder{known: map[string]string{}} }

func (d *Decoder) object(line []byte, field func(key string, v *fastjson.Value)) error {
	d.wrong = nil
	v, err := d.parser.ParseBytes(line)
	if err != nil {
		return err
	}
	o, err := v.Object()
	if err != nil {
		return err
	}
	d.visit(o, field)
	return d.wrong
}

// visit hands on every field but those that are null, which say nothing.
func (d *Decoder) visit(o *fastjson.Object, field func(key string, v *fastjson.Value)) {
	o.Visit(func(key []byte, v *fastjson.Value) {
		if v.Type() == fastjson.TypeNull {
			return
		}
		before := d.wrong
		field(d.short(key), v)
		if before == nil && d.wrong != nil {
			d.wrong = fmt.Errorf("%q: %w", key, d.wrong)
		}
	})
}

// Record reads one record.
func (d *Decoder) Record(line []byte) (Record, error) {
	var r Record
	err := d.object(line, func(key string, v *fastjson.Value) {
		switch key {
		case "v":
			r.V = d.whole(v)
		case "closed":
			r.Closed = d.day(v)
		case "kit":
			r.Kit = d.id(v)
		case "bike":
			r.Bike = d.text(v)
		case "distance":
			r.Distance = d.number(v)
		case "age":
			r.Age = d.number(v)
		case "symptoms":
			r.Symptoms = d.list(v, d.id)
		case "suspects":
			r.Suspects = d.list(v, d.id)
		case "named":
			r.Named = d.id(v)
		case "confirmed":
			r.Confirmed = d.id(v)
		case "not_found":
			r.NotFound = d.yes(v)
		case "remedy":
			r.Remedy = d.id(v)
		case "part":
			r.Part = d.id(v)
		case "replaced":
			r.Replaced = d.yes(v)
		case "checks":
			r.Checks = d.checks(v)
		case "questions":
			r.Questions = d.whole(v)
		case "minutes":
			r.Minutes = d.number(v)
		case "solved":
			r.Solved = d.yes(v)
		case "reason":
			r.Reason = d.id(v)
		case "unmatched":
			r.Unmatched = d.list(v, d.text)
		case "kb":
			r.KB = d.id(v)
		case "demo":
			r.Demo = d.yes(v)
		}
	})
	return r, err
}

func (d *Decoder) checks(v *fastjson.Value) []Asked {
	items, err := v.Array()
	if err != nil {
		d.fail(err)
		return nil
	}
	list := make([]Asked, len(items))
	for i, item := range items {
		o, err := item.Object()
		if err != nil {
			d.fail(err)
			return nil
		}
		a := &list[i]
		d.visit(o, func(key string, v *fastjson.Value) {
			switch key {
			case "check":
				a.Check = d.id(v)
			case "value":
				x := d.number(v)
				a.Value = &x
			case "overload":
				a.Overload = d.yes(v)
			case "unit":
				a.Unit = d.id(v)
			case "outcome":
				a.Outcome = d.id(v)
			case "close":
				a.Close = d.yes(v)
			case "odd":
				a.Odd = d.yes(v)
			case "cannot":
				a.Cannot = d.id(v)
			}
		})
	}
	return list
}

func (d *Decoder) running(line []byte) (Running, error) {
	var r Running
	err := d.object(line, func(key string, v *fastjson.Value) {
		switch key {
		case "kit":
			r.Kit = d.id(v)
		case "bike":
			r.Bike = d.text(v)
		case "distance":
			r.Distance = d.number(v)
		case "age":
			r.Age = d.number(v)
		}
	})
	return r, err
}

func (d *Decoder) fail(err error) {
	if d.wrong == nil {
		d.wrong = err
	}
}

// short is a string of the input as one of ours; those met before cost nothing.
func (d *Decoder) short(b []byte) string {
	if s, ok := d.known[string(b)]; ok {
		return s
	}
	s := string(b)
	if !utf8.ValidString(s) {
		d.fail(fmt.Errorf("%q is not UTF-8", s))
	}
	if len(d.known) < mostKnown && len(s) <= 64 {
		d.known[s] = s
	}
	return s
}

func (d *Decoder) id(v *fastjson.Value) string {
	b, err := v.StringBytes()
	if err != nil {
		d.fail(err)
	}
	return d.short(b)
}

func (d *Decoder) text(v *fastjson.Value) string {
	b, err := v.StringBytes()
	if err != nil {
		d.fail(err)
	}
	if !utf8.Valid(b) {
		d.fail(fmt.Errorf("%q is not UTF-8", b))
	}
	return string(b)
}

func (d *Decoder) day(v *fastjson.Value) Day {
	b, err := v.StringBytes()
	if err != nil {
		d.fail(err)
		return 0
	}
	day, err := ParseDay(string(b))
	if err != nil {
		d.fail(err)
	}
	return day
}

func (d *Decoder) number(v *fastjson.Value) float64 {
	x, err := v.Float64()
	if err != nil {
		d.fail(err)
	}
	if math.IsInf(x, 0) || math.IsNaN(x) {
		d.fail(fmt.Errorf("%v is no number", v))
	}
	return x
}

func (d *Decoder) whole(v *fastjson.Value) int {
	x, err := v.Int()
	if err != nil {
		d.fail(err)
	}
	return x
}

func (d *Decoder) yes(v *fastjson.Value) bool {
	x, err := v.Bool()
	if err != nil {
		d.fail(err)
	}
	return x
}

func (d *Decoder) list(v *fastjson.Value, item func(*fastjson.Value) string) []string {
	items, err := v.Array()
	if err != nil {
		d.fail(err)
		return nil
	}
	list := make([]string, len(items))
	for i, x := range items {
		list[i] = item(x)
	}
	return list
}
