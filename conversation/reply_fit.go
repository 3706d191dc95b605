package conversation

import (
	"math"
	"slices"
)

// offer is the options with what follows from their words alone. A reply is held
// against them several times, so it is worked out once.
type offer struct {
	all    []surface
	weight map[string]float64
	borne  map[senseOf]bool
	only   map[string]int // the option that alone knows a sense; -1 where several do
}

// offered are the options in all ways to say them.
func (m *message) offered() *offer {
	if m.offers[0] == nil {
		m.offers[0] = &offer{all: m.surfaces(false)}
	}
	return m.offers[0]
}

// labels are the options as they were offered, without other ways to say them:
// between two that fit alike, what was offered weighs more.
func (m *message) labels() *offer {
	if m.offers[1] == nil {
		m.offers[1] = &offer{all: m.surfaces(true)}
	}
	return m.offers[1]
}

// fit is how well what was said agrees with each option, -1..1. Below zero the
// option is denied: nothing agrees, and something says the opposite.
func (m *message) fit() []float64 { return m.fitOf(m.offered()) }

func (m *message) fitOf(o *offer) []float64 {
	if o.weight == nil {
		o.weight, o.borne, o.only = m.weights(o.all), borneOut(o.all), onlyIn(o.all)
	}
	all, weight, borne := o.all, o.weight, o.borne
	h := heardSenses{said: map[sense]bool{}}
	for _, senses := range m.cues.meaning(m.words) {
		if !h.said[senses[0]] {
			w := weigh(senses, weight)
			switch {
			case w == 0:
				h.foreign++
			case !m.cues.thingStems[senses[0].name]:
				h.states++
			}
			if w > 0 && !m.cues.light[senses[0].name] {
				h.telling++
			}
			h.total += w
		}
		for _, k := range senses {
			h.said[k] = true
		}
		h.figure = h.figure || isDigit(senses[0].name[0]) && !isZero(senses)
	}
	h.shares = make([]bool, len(m.q.Options))
	for _, s := range all {
		for _, senses := range s.means {
			if m.cues.thingStems[senses[0].name] && slices.ContainsFunc(senses, func(k sense) bool { return h.said[k] || h.said[sense{k.name, !k.not}] }) {
				h.things, h.shares[s.option] = true, true
			}
		}
	}
	text := joinWords(m.words)
	whole := make([]bool, len(m.q.Options)) // one surface is said in all its words
	best := make([]float64, len(m.q.Options))
	worst := make([]float64, len(m.q.Options))
	stated := make([]float64, len(m.q.Options)) // the best that has more than a thing in common
	against := make([]bool, len(m.q.Options))   // one surface is said the other way round, and more than small words of it
	turned := make([]bool, len(m.q.Options))    // its thing is said to be the other way round
	for _, s := range all {
		a := m.agree(s, h, weight, borne)
		if s.text == text {
			a.fit, a.state, a.whole = 1, true, true
		}
		whole[s.option] = whole[s.option] || a.whole && a.state
		best[s.option] = max(best[s.option], a.fit)
		worst[s.option] = min(worst[s.option], a.fit)
		if a.state {
			stated[s.option] = max(stated[s.option], a.fit)
		}
		turned[s.option] = turned[s.option] || a.turned
		against[s.option] = against[s.option] || a.fit <= -0.9 && slices.ContainsFunc(s.means, func(senses []sense) bool { return !m.cues.light[senses[0].name] })
	}
	named := false // a thing of a trouble alone
	for i, own := range m.owned(o) {
		named = named || own && len(m.q.Options) > 2 && !m.q.Options[i].Healthy && best[i] >= 0 && !turned[i]
	}
	for i := range best {
		if named && m.q.Options[i].Healthy && !whole[i] && !m.has("fine") { // to name the one plug is to say more than that all are home
			best[i] *= 0.6
		}
		switch {
		case turned[i] && stated[i] < 0.05: // "the pack is in" has the pack in common with "pack not in"
			best[i] = -0.6
		case turned[i] && !whole[i]: // "the stand is folded up" shares more than the stand with "folded out"
			best[i] *= 0.6
		case best[i] < 0.05 && worst[i] <= -0.5:
			best[i] = worst[i]
		case against[i] && best[i] < 1: // "it's lit, no warnings" is not dark
			best[i] *= 0.6
		}
	}
	return best
}

// heardSenses is what a message says, weighed against the options.
type heardSenses struct {
	said    map[sense]bool
	total   float64 // weight of all that some option knows
	foreign float64 // words that stand in no option
	telling int     // words known to some option that are not small
	states  int     // words known to some option that name no thing
	things  bool    // some do
	figure  bool    // a number other than zero is said
	shares  []bool  // options that know one of the things
}

// agreement is how a message goes with one way of saying an option.
type agreement struct {
	fit    float64
	state  bool // more is common to both than a thing
	whole  bool // all its words are said
	turned bool // a thing is common to both, and its state is the opposite
}

// isZero is true for a nought: a level of 2 is not one of 0.
func isZero(senses []sense) bool {
	return slices.ContainsFunc(senses, func(k sense) bool { return k.name == "zero" && !k.not })
}

// borneOut finds for each option the senses that its words bear out: a sense
// that only one word of an option can have may not be meant by it, as catching
// is not by "brake sign".
func borneOut(all []surface) map[senseOf]bool {
	by := map[senseOf]string{}
	out := map[senseOf]bool{}
	for _, s := range all {
		for _, senses := range s.means {
			own := senses[0].name
			for _, k := range senses {
				key := senseOf{s.option, k.name}
				if k.name == own || by[key] != "" && by[key] != own {
					out[key] = true
				}
				by[key] = own
			}
		}
	}
	return out
}

// onlyIn finds for each sense the option that alone knows it.
func onlyIn(all []surface) map[string]int {
	only := map[string]int{}
	for _, s := range all {
		for _, senses := range s.means {
			for _, k := range senses {
				if at, ok := only[k.name]; ok && at != s.option {
					only[k.name] = -1
				} else {
					only[k.name] = s.option
				}
			}
		}
	}
	return only
}

// owned finds the options of which a thing is named that no other one knows.
func (m *message) owned(o *offer) []bool {
	out := make([]bool, len(m.q.Options))
	for _, w := range m.words {
		if !m.cues.things[w.text] || w.denied {
			continue
		}
		for _, k := range m.cues.senses(w) {
			if at, ok := o.only[k.name]; ok && at >= 0 {
				out[at] = true
			}
		}
	}
	return out
}

type senseOf struct {
	option int
	name   string
}

// agree is the balance of recall and precision of one surface, less what is
// said the other way round; where nothing agrees, only the latter.
func (m *message) agree(s surface, h heardSenses, weight map[string]float64, borne map[senseOf]bool) agreement {
	var all, hit, against float64
	telling := false
	var a agreement
	thing, opposed, missing, own := false, false, false, false
	seen := map[sense]bool{}
	for _, senses := range s.means {
		if seen[senses[0]] {
			continue
		}
		seen[senses[0]] = true
		w := weigh(senses, weight)
		all += w
		isThing := m.cues.thingStems[senses[0].name]
		opposite := h.said[sense{senses[0].name, !senses[0].not}] && !h.said[senses[0]] || h.figure && isZero(senses)
		at := slices.IndexFunc(senses, func(k sense) bool { return h.said[k] && (k.not || borne[senseOf{s.option, k.name}]) })
		switch {
		case at >= 0 && !opposite:
			hit += w
			telling = telling || !m.cues.light[senses[0].name]
			a.state = a.state || !isThing
			thing = thing || isThing
			own = own || at == 0
		case !opposite && slices.ContainsFunc(senses, func(k sense) bool { return h.said[k] }):
			hit += w / 2
			a.state = a.state || !isThing
			telling = telling || !m.cues.light[senses[0].name]
		case opposite || slices.ContainsFunc(senses, func(k sense) bool { return h.said[sense{k.name, !k.not}] }):
			against += w
			opposed = opposed || !isThing
			if m.cues.light[senses[0].name] {
				against += w // on for off says more than on for on
			}
		case isThing:
			missing = true
		}
	}
	missing = missing && thing
	a.whole = hit == all
	a.turned = thing && opposed && !a.state
	switch {
	case all == 0 || hit+against == 0:
		return a
	case hit == 0:
		a.fit = -math.Min(1, against/all)
		return a
	}
	// Recall counts more: what an owner adds to the answer is not held against it.
	recall, precision := hit/all, hit/math.Max(h.total, hit)
	f := 5 * recall * precision / (4*precision + recall)
	if !telling { // "nothing turns" has no more than its nothing in common with "nothing loose"
		f /= 1 + h.foreign
		if h.telling > 0 { // what tells is known to other options
			f *= 0.6
		}
	}
	if !a.state && (h.states > 0 || h.foreign > 0) { // a thing alone, of which something else is said
		f *= 0.6
	}
	if missing { // the pack is not the pack switch
		f *= 0.85
	}
	if !own && h.things && !h.shares[s.option] { // "the key is turned" has no key in common with "it moves in the dock"
		f *= 0.6
	}
	a.fit = f*1.3*hit/(hit+0.3) - 1.2*math.Min(1, against/all) // a match of small words alone is worth little
	return a
}

// foreign reports whether a message that fits an option may be of something
// else: it says more that no option knows than what one does, or speaks of
// another life than the bike's.
func (m *message) foreign(option int) bool {
	own, others := map[string]bool{}, map[string]bool{}
	for _, s := range m.offered().all {
		for _, senses := range s.means {
			for _, k := range senses {
				if s.option == option {
					own[k.name] = true
				} else {
					others[k.name] = true
				}
			}
		}
	}
	return m.covered(own, others) < mostlyForeign
}

// strays reports whether a message that fits an option speaks of another life
// than the bike's, and no less of that than of the option.
func (m *message) strays(option int) bool {
	own := map[string]bool{}
	for _, s := range m.offered().all {
		for _, w := range m.cues.askedWords(s.text) {
			own[w.stem] = own[w.stem] || s.option == option
		}
	}
	if m.has("elsewhere") {
		return true
	}
	return slices.ContainsFunc(m.words, func(w heardWord) bool { return m.cues.elsewhere[w.text] && !own[w.stem] })
}

// covered is how much of what is said is known to an option, 0..1, in the clause
// where most is. What only other options know counts neither way.
func (m *message) covered(own, others map[string]bool) float64 {
	in := func(set map[string]bool, senses []sense) bool {
		return slices.ContainsFunc(senses, func(k sense) bool { return set[k.name] })
	}
	most := 0.0
	for lo := 0; lo < len(m.words); {
		hi := lo + 1
		for hi < len(m.words) && m.words[hi].clause == m.words[lo].clause {
			hi++
		}
		known, foreign := 0.0, 0.0
		for _, senses := range m.cues.meaning(m.words[lo:hi]) {
			name := senses[0].name
			switch {
			case in(own, senses) && m.cues.light[name]:
				known += 0.3
			case in(own, senses):
				known++
			case isDigit(name[0]): // a fault code, a time
			case !in(others, senses) && !m.cues.light[name] && !m.cues.thingStems[name] && !m.cues.adverbs[name]:
				foreign++
			}
		}
		if known > 0 {
			most = max(most, known/(known+foreign))
		}
		lo = hi
	}
	return most
}
