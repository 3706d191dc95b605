package rehearsal

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"triagebot/bench"
	"triagebot/conversation"
	"triagebot/kb"
)

// foremost orders complaints by what an owner speaks of first; the rest follow
// by their ids.
var foremost = []string{"runs-by-itself", "dead", "no-drive", "motor-spins-no-drive", "wont-charge", "breaker-trips", "motor-stutters",
	"display-blank", "cuts-out-under-load", "runs-backwards", "throttle-jumpy", "cuts-out-riding"}

// holdsAlready are complaints that are not said beside another that holds them already.
var holdsAlready = map[string][]string{
	"dead": {"display-blank", "lights-dead", "horn-dead", "no-drive"},
}

// opening is the owner's first message.
func (o *owner) opening() (string, error) {
	l := o.lots("opening")
	symptoms, err := o.bike.Symptoms()
	if err != nil {
		return "", err
	}
	complaints, err := o.bike.Complaints()
	if err != nil {
		return "", err
	}
	var parts []string
	if l.chance(0.65) {
		parts = append(parts, l.of(o.words.Kits[o.c.Kit]))
	}
	tell := func(id string) {
		if text := o.wording(l, id); text != "" {
			parts = append(parts, text)
			o.told = append(o.told, id)
		}
	}
	said := o.choose(l, complaints)
	switch {
	case len(said) > 0:
		for _, id := range said {
			tell(id)
		}
	case o.bike.Faulty():
		text, err := o.worried(l)
		if err != nil {
			return "", err
		}
		parts = append(parts, text)
	default:
		parts = append(parts, l.of(o.words.Vague))
	}
	if symptoms["display-normal"] && len(said) > 0 && l.chance(0.35) {
		tell("display-normal")
	}
	for _, id := range []string{"lights-dead", "horn-dead", "no-drive"} {
		// What works is said by those whose trouble lies elsewhere.
		if there, known := symptoms[id]; known && !there && len(said) > 0 && l.chance(0.12) && drivesOrNot(id, said) {
			parts = append(parts, l.of(o.words.Works[id]))
			o.denied = append(o.denied, id)
		}
	}
	for _, s := range o.kb.Symptoms {
		switch {
		case !symptoms[s.ID]:
		case s.Family == "history" && l.chance(0.7):
			tell(s.ID)
		case s.Family == "danger" && l.chance(0.6):
			tell(s.ID)
		case s.Family == "danger":
			o.later = append(o.later, s.ID)
		}
	}
	return o.typed(l, l.of(o.words.Hello)+joined(l, parts)+l.of(o.words.Bye)), nil
}

// drivesOrNot: only who complains of the body says that it drives.
func drivesOrNot(id string, said []string) bool {
	if id != "no-drive" {
		return true
	}
	return slices.Contains(said, "lights-dead") || slices.Contains(said, "horn-dead")
}

// choose takes the complaints an owner speaks of: the foremost, and mostly one
// or two more.
func (o *owner) choose(l lots, complaints []string) []string {
	list := slices.Clone(complaints)
	slices.SortStableFunc(list, func(a, b string) int { return rank(a) - rank(b) })
	var said []string
	for _, id := range list {
		if slices.ContainsFunc(said, func(s string) bool { return slices.Contains(holdsAlready[s], id) }) {
			continue
		}
		danger := o.kb.Symptom(id) != nil && o.kb.Symptom(id).Danger != ""
		if len(said) == 0 || danger || (len(said) < 3 && l.chance(0.7)) {
			said = append(said, id)
		}
	}
	return said
}

func rank(id string) int {
	if i := slices.Index(foremost, id); i >= 0 {
		return i
	}
	return len(foremost)
}

// wording draws words for a symptom, other ones each time.
func (o *owner) wording(l lots, id string) string {
	list := o.words.Symptoms[id]
	if len(list) == 0 {
		return ""
	}
	n, again := o.wordings[id]
	if !again {
		n = l.IntN(len(list))
	}
	o.wordings[id] = n + 1
	return list[n%len(list)]
}

// worried is the message of an owner whose bike is fine and whose meter is not.
func (o *owner) worried(l lots) (string, error) {
	r, err := o.bike.Measure("pack-volts")
	if err != nil {
		return "", err
	}
	return strings.ReplaceAll(l.of(o.words.Worried), "{value}", o.figure(l, r)), nil
}

func joined(l lots, parts []string) string {
	var b strings.Builder
	for i, p := range parts {
		if i > 0 {
			b.WriteString(l.of([]string{", ", ". ", ". ", " and ", "; "}))
		}
		b.WriteString(p)
	}
	return b.String()
}

// typed puts typos into words that are long enough to have them.
func (o *owner) typed(l lots, text string) string {
	fields := strings.Split(text, " ")
	for i, w := range fields {
		if len(w) < 5 || strings.ContainsAny(w, "0123456789{") || !l.chance(o.typos) {
			continue
		}
		b := []byte(w)
		at := 1 + l.IntN(len(b)-3)
		switch l.IntN(3) {
		case 0:
			b[at], b[at+1] = b[at+1], b[at]
		case 1:
			b = slices.Delete(b, at, at+1)
		case 2:
			b = slices.Insert(b, at, b[at])
		}
		fields[i] = string(b)
	}
	return strings.Join(fields, " ")
}

// figure writes a reading as owners do: unit left out, decimal comma, a word
// around it.
func (o *owner) figure(l lots, r bench.Reading) string {
	if r.Overload {
		return l.of([]string{"OL", "OL", "overload", "it shows OL"})
	}
	if r.Decimals > 1 && math.Abs(r.Value) >= 1 && l.chance(0.35) {
		r.Decimals-- // nobody needs the last place
		r.Value = rounded(r.Value, r.Decimals)
	}
	number, unit := strconv.FormatFloat(r.Value, 'f', max(r.Decimals, 0), 64), r.Unit
	if r.Unit == "Ω" && math.Abs(r.Value) >= 1000 {
		number, unit = strconv.FormatFloat(r.Value/1000, 'f', max(r.Decimals+3, 0), 64), "kΩ"
		if r.Value >= 1e6 {
			number, unit = strconv.FormatFloat(r.Value/1e6, 'f', max(r.Decimals+6, 0), 64), "MΩ"
		}
	}
	if l.chance(0.12) {
		number = strings.Replace(number, ".", ",", 1)
	}
	// A prefix is never left out: 12 and 12 kΩ are not the same.
	prefixed := strings.HasPrefix(unit, "k") || strings.HasPrefix(unit, "M")
	switch {
	case !prefixed && l.chance(0.45):
		return number
	case unit == "Ω":
		unit = l.of([]string{"ohm", "Ω", "ohms"})
	case unit == "kΩ":
		unit = l.of([]string{"kΩ", "kohm", "k ohm"})
	case unit == "MΩ":
		unit = l.of([]string{"MΩ", "megohm"})
	case unit == "V":
		unit = l.of([]string{"V", "v", "volts", "V"})
	}
	return l.of([]string{"", "", "", "it says ", "it reads ", "I get "}) + number + " " + unit
}

// option says an answer to a look or try: by its number, by its label, or in
// words of one's own. After a reply that was not understood the number is left.
func (o *owner) option(l lots, c *kb.Check, id string, offered []conversation.TurnOption, again bool) string {
	n := slices.IndexFunc(offered, func(x conversation.TurnOption) bool { return x.ID == id })
	own := o.words.Options[c.ID][id]
	x := l.Float64()
	switch {
	case n < 0:
		return id // the bench saw what is not offered; said as it is
	case again || x < 0.4:
		return strconv.Itoa(n + 1)
	case x < 0.6 || len(own) == 0:
		return offered[n].Label
	}
	return o.typed(l, l.of(own))
}

// rounded is a value with so many places after the point.
func rounded(v float64, places int) float64 {
	p := math.Pow(10, float64(places))
	return math.Round(v*p) / p
}
