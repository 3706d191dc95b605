package reading

import "strings"

func set(words string) map[string]bool {
	m := map[string]bool{}
	for _, w := range strings.Fields(words) {
		m[w] = true
	}
	return m
}

var (
	// What may stand right before a reading, or before a minus word.
	connectors = set(`is was are be been reads read reading readings says said say shows show showing showed showd gets get got getting gives give
		gave giving has had have it its it's i'm im im's and but then now so just only still about around like at to of from between than
		under over below above near nearly almost roughly approx approximately circa maybe perhaps probably exactly
		measured measures measuring measure sits sitting stays staying stuck goes went going comes came dropped drops drop
		drops fell falls rises rose climbs climbed jumps jumped hits hit sees seeing saw see seen found finding equals equal
		a with when or not yes yep yeah ok okay no hmm um uh erm well sorry meant mean wait actually here there
		the this that on in off for by down up back value number figure result answer voltage volts volt ohms ohm resistance
		meter multimeter display screen closed open opened rest shut full pressed released squeezed idle idling loaded unloaded
		battery pack throttle signal supply first second third before after left right max min top bottom red black green yellow blue white
		cold hot warm plugged unplugged on off both each total output input charged temp temperature about around`)

	// What leads in a figure: only these let a lone "one" be a number.
	leaders = set(`is was reads read reading says said shows showing showed gets get got gives about around roughly approximately approx nearly almost
		its it's at exactly only just under over below above maybe say meant than like measured value of`)

	// What may stand before a minus word beside the leaders.
	signLeads = set(`to and between from then like now so but it closed open rest full a by`)

	// Labels: the number behind one of these is its name.
	labels = set(`step steps number no nr option question q page pin pins plug version ver mode level lvl gear code error err phase model type
		part figure fig picture photo image pic point chapter line row item check test answer case mk mark room house phone ext year
		in since until before kit serial fault # channel slot port task assist pas socket position bank cell group string`)

	// Names of the powers of two and three that packs come in.
	nominal = map[float64]bool{24: true, 36: true, 48: true, 52: true, 60: true, 72: true, 84: true, 96: true}

	// Units of what is not measured here, and things that are counted.
	others = set(`w watt watts kw kilowatt kilowatts wh kwh ah mah amphour amphours ahs km kms kmh kph mph mile miles metre metres meter meters m mm cm
		inch inches ft foot feet yard yards kg kilo kilos g gram grams lb lbs pound pounds psi bar nm newton
		s sec secs second seconds min mins minute minutes minuts h hr hrs hour hours day days week weeks month months year years yr yrs am pm o'clock
		oclock morning evening times time x st nd rd th quid euro euros dollar dollars pence gbp usd eur kb mb gb rpm
		wire wires pin pins plug plugs phase phases wheel bike wheeler speed gear person people guy guys bloke mate
		light led bulb screw bolt cell battery pack kit turn turned cable probe lead leg way ways beep flash blink click
		led bit bits piece pieces thing step go goes try tries side of more other others different separate
		little long short thin thick small big new old loose broken black red green yellow blue white spare way's pole poles core cores pronged prong hole holes
		connector connection terminal terminals fuse switch brake magnet sensor option bar's stroke seater ply s's p series parallel inchs percenters
		jack amps' c's month's week's day's year's hour's star stars out ish-ish`)

	vagueBeforeWords = set(`about around roughly approx approximately approximatly aprox circa nearly almost near maybe perhaps like say somewhere less more abt arround
		bout 'bout ca close under over below above ~ ≈ < > ≤ ≥ probably ish roughly-ish guess approximate nearabout shy`)
	vagueSkip  = set(`to a the just at be between than of is on or . it it's its was that the, by from little bit tiny touch hair tad`)
	vagueWords = set(`about around roughly approx approximately nearly almost maybe perhaps like say just near`)
)

// isConnector reports whether token i may stand right before a reading.
func (p *parser) isConnector(i int) bool {
	t := p.at(i)
	return t.kind == mark && t.text != "#" || connectors[t.text]
}

// leads reports whether token i leads in a figure; so does the start.
func (p *parser) leads(i int) bool {
	t := p.at(i)
	return i < 0 || t.kind == mark && t.text != "#" || leaders[t.text]
}

func (p *parser) vagueWord(i int) bool { return p.at(i).kind == word && vagueWords[p.at(i).text] }

// vagueBefore looks back over a few small words for "about", "~", "close to".
func (p *parser) vagueBefore(i int) bool {
	for j := i - 1; j >= i-4 && j >= p.taken && j >= 0; j-- {
		t := p.at(j)
		if vagueBeforeWords[t.text] {
			return true
		}
		if !vagueSkip[t.text] {
			return false
		}
	}
	return false
}

// vagueAfter reads "ish", "or so", "give or take" behind a quantity.
func (p *parser) vagueAfter(i int) (int, bool) {
	j := i
	if p.at(j).text == "-" && p.at(j).glued {
		j++
	}
	switch p.at(j).text {
	case "ish", "isch", "odd", "something", "sumthing", "summat", "plus":
		return j + 1, true
	case "+":
		if p.at(j).glued && !p.numeric(j+1) {
			return j + 1, true
		}
	case "approx", "approximately", "roughly":
		if p.numeric(j + 1) {
			return i, false // it belongs to the next number
		}
		return j + 1, true
	}
	for _, s := range [][]string{{"or", "so"}, {"give", "or", "take"}, {"more", "or", "less"}, {"or", "thereabouts"}, {"or", "something"},
		{"or", "near"}, {"i", "guess"}, {"something", "like", "that"}, {"or", "about"}, {"and", "something"}, {"and", "a", "bit"}, {"and", "change"}, {"and", "a", "little"}, {"and", "some"}, {"at", "a", "guess"}} {
		if p.same(j, s) {
			return j + len(s), true
		}
	}
	if p.at(j).text == "," && (p.same(j+1, []string{"give", "or", "take"}) || p.same(j+1, []string{"more", "or", "less"})) {
		return j + 4, true
	}
	return i, false
}

// glued is true for digits that are part of a word: A1, user123, yarrow-72.
func (p *parser) glued(s single, j int) bool {
	t, before := p.at(j), p.at(j-1)
	if t.kind != number {
		return false
	}
	sure := s.measure.unit != "" || !s.whole
	if t.glued && before.kind == word && !sure {
		return true
	}
	if before.text == "-" && t.glued && before.glued && p.at(j-2).kind == word && !sure {
		return true
	}
	if before.text == "#" || before.text == "£" || before.text == "$" || before.text == "€" || before.text == "@" {
		return true
	}
	after := p.at(s.end)
	if after.kind == word && after.glued && s.said && after.text != "ish" && len(p.at(s.end-1).text) == 1 {
		return true // 4vx
	}
	return false
}

// otherMeasure is true when what follows makes the number count or measure
// something else, or ties it to a word: "20 Ah", "3-pin", "2x", "10:30".
func (p *parser) otherMeasure(i int, s single) bool {
	if s.measure.unit != "" {
		return false
	}
	t := p.at(i)
	if t.kind == word && t.glued && t.text != "ish" && t.text != "ol" && !(t.text == "x" && !s.whole) {
		return true
	}
	if t.kind == word && others[t.text] && !(connectors[t.text] && !s.whole) {
		return s.whole || !descriptive[t.text]
	}
	if t.text == "-" && t.glued && p.at(i+1).glued && p.at(i+1).kind == word && s.whole && !growths[p.at(i+1).text] {
		_, _, isNum := p.small(i + 1)
		return !isNum
	}
	if t.text == "£" || t.text == "$" || t.text == "€" {
		return true
	}
	return false
}

// What makes a number vague when it is grown on it: sixty-something.
var growths = set(`ish isch odd something sumthing summat plus`)

// Words of others that describe rather than measure: behind a number with
// decimals they begin something new ("4.1 red to black").
var descriptive = set(`wire wires pin pins plug plugs phase phases wheel bike light battery pack lead side red green black yellow blue white out of
	more other different more switch brake sensor fuse connector little try go goes time times way step steps x`)

// counts is false when a bare whole number is a label, a count or a name.
func (p *parser) counts(s single, next int) bool {
	if s.measure.unit != "" || s.said {
		return true
	}
	before, after := p.at(s.start-1), p.at(next)
	if s.part {
		return false
	}
	if before.text == "." && (p.at(s.start-2).text == "no" || p.at(s.start-2).text == "nr") {
		return false
	}
	if !s.whole {
		return !(!s.spoken && labels[before.text] && before.text == "version")
	}
	if after.text == ")" && p.at(s.start-1).text != "(" && p.numeric(next+1) {
		return false // 1) 4.2
	}
	if p.at(s.first).fresh && after.text == "." && after.glued && next+1 < len(p.toks) && p.at(s.first).value < 20 && p.at(s.first).kind == number {
		return false // 1. is a list's number
	}
	if before.text == "/" || after.text == "/" && after.glued {
		return p.at(next+1).kind == word || p.at(s.start-2).kind == word
	}
	if labels[before.text] && !(before.text == "in" && !year(s.value)) {
		return false
	}
	if len(p.at(s.first).text) > 8 || p.at(s.first).kind == number && strings.HasPrefix(p.at(s.first).text, "0") && len(p.at(s.first).text) > 3 {
		return p.at(s.first).kind != number // a telephone or serial number
	}
	if before.text == "+" && !before.glued && s.value > 1000 || p.phone(s.first) {
		return false
	}
	if s.spoken {
		switch before.text {
		case "all", "both", "these", "those", "other", "any", "every", "no", "which", "that", "this", "another", "some", "next", "last", "past", "red", "black", "new", "old", "the", "each", "first", "second", "wrong", "right", "good", "bad":
			return false
		}
		if s.value == 1 && !(p.leads(s.start-1) && (after.kind == mark || next >= len(p.toks))) {
			return false
		}
	} else {
		switch before.text {
		case "all", "these", "those", "other", "past", "every":
			return false
		}
	}
	if nominal[s.value] && before.kind == word && !connectors[before.text] && !s.spoken {
		return false // a name with its pack: "yarrow 72"
	}
	if after.kind == word && !connectors[after.text] && plural(after.text) {
		return false
	}
	return true
}

func year(v float64) bool { return v >= 1980 && v <= 2060 }

// plural guesses that a word counts things.
func plural(w string) bool {
	return len(w) > 3 && strings.HasSuffix(w, "s") && !strings.HasSuffix(w, "ss") && !strings.HasSuffix(w, "'s") && !notPlural[w]
}

var notPlural = set(`this thus plus yes always perhaps minus was has does reads stays shows looks sometimes goes says gives drops rises jumps seems across
	thanks cheers less unless regards volts whereas besides guess guys towards afterwards`)

// phone is true inside a row of at least three bare groups of digits.
func (p *parser) phone(i int) bool {
	digits, groups := 0, 0
	lo := i
	for lo > 0 && i-lo < 6 && p.at(lo-1).kind == number && p.at(lo-1).decimals == 0 {
		lo--
	}
	for j := lo; j < lo+8 && p.at(j).kind == number && p.at(j).decimals == 0; j++ {
		digits += len(p.at(j).text)
		groups++
	}
	return groups >= 2 && digits >= 9
}
