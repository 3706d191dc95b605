package conversation

import "slices"

// byClauses reads a message of which each clause is an option in its own words,
// or all but what says nothing: "stiff when connected, free when unplugged". Of
// several options that are said so, none is taken.
func (m *message) byClauses() (Reply, bool) {
	hit, whole := -1, true
	for lo := 0; lo < len(m.words); {
		hi := lo + 1
		for hi < len(m.words) && m.words[hi].clause == m.words[lo].clause {
			hi++
		}
		text := joinWords(m.words[lo:hi])
		at := -1
		for _, s := range m.offered().all {
			if s.text == text && hi-lo > 1 {
				if at >= 0 && at != s.option {
					return Reply{}, false
				}
				at = s.option
			}
		}
		switch {
		case at >= 0 && hit >= 0 && at != hit:
			return Reply{}, false
		case at >= 0:
			hit = at
		default:
			whole = whole && len(m.cues.meaning(m.words[lo:hi])) == 0
		}
		lo = hi
	}
	if hit < 0 || !whole && m.q.Options[hit].Healthy || !whole && m.fit()[hit] < 0 {
		return Reply{}, false
	}
	return Reply{Intent: IntentChoice, Choice: m.q.Options[hit].ID, Confidence: plainly}, true
}

// quantified reads how many of several do something, where the options say just
// that: all of them, one of them not, none of them.
func (m *message) quantified() (Reply, bool) {
	all, one, none := m.quantities()
	if none < 0 {
		return Reply{}, false
	}
	still := says(m.cues.phrases["stands-still"], m.words)
	moves := false
	for _, senses := range m.cues.meaning(m.words) {
		for _, k := range senses {
			if k.name == "chang" || k.name == "toggl" || k.name == "move" {
				moves, still = moves || !k.not, still || k.not
			}
		}
	}
	at := -1
	switch {
	case m.has("quantity-none"):
		at = none
	case m.has("quantity-all") && moves && !still:
		at = all
	case m.has("quantity-one") && (still || moves):
		at = one
	case m.has("quantity-all") && still && !moves:
		at = none
	}
	if at < 0 {
		return Reply{}, false
	}
	return Reply{Intent: IntentChoice, Choice: m.q.Options[at].ID, Confidence: 0.85}, true
}

// quantities finds the options that say all, one and none; -1 where not each of
// three does.
func (m *message) quantities() (all, one, none int) {
	all, one, none = -1, -1, -1
	if len(m.q.Options) != 3 {
		return -1, -1, -1
	}
	for i, o := range m.q.Options {
		part := *m
		part.words = m.cues.askedWords(o.Label)
		switch {
		case part.has("quantity-none"):
			none = i
		case part.has("stands-still"):
			one = i
		default:
			all = i
		}
	}
	if all < 0 || one < 0 || none < 0 {
		return -1, -1, -1
	}
	return all, one, none
}

// plainlyFine reads "nothing odd on it" and "comes on, no errors" to a look: all
// that is denied is a trouble on offer, and what is left affirms none.
func (m *message) plainlyFine() (string, bool) {
	id, ok := m.healthy()
	if !ok || m.q.Kind != "look" || m.has("but-then") {
		return "", false
	}
	if m.has("fine-sure") {
		return id, true
	}
	well, trouble := map[string]bool{}, map[sense]bool{}
	for _, s := range m.offered().all {
		for _, senses := range s.means {
			for _, k := range senses {
				trouble[k] = trouble[k] || !m.q.Options[s.option].Healthy
			}
			well[senses[0].name] = well[senses[0].name] || m.q.Options[s.option].Healthy
		}
	}
	denied := false
	rest := *m
	rest.words = nil
	for i, w := range m.words {
		if m.cues.negators[w.text] {
			continue
		}
		if !w.denied {
			rest.words = append(rest.words, w)
			continue
		}
		for _, senses := range m.cues.meaning(m.words[i : i+1]) {
			switch {
			case m.cues.thingStems[senses[0].name] && (m.cues.light[senses[0].name] || well[senses[0].name]): // "no signs" of what?
				continue
			case well[senses[0].name], m.cues.light[senses[0].name], trouble[senses[0]]:
				return "", false // "no light" is a trouble itself
			}
			denied = denied || slices.ContainsFunc(senses, func(k sense) bool { return trouble[sense{k.name, !k.not}] })
		}
	}
	if !denied {
		return "", false
	}
	if len(m.cues.meaning(rest.words)) == 0 {
		return id, true
	}
	fit := rest.fit()
	for i, f := range fit {
		if f >= 0.3 && !m.q.Options[i].Healthy && f > fit[m.option(id)] {
			return "", false
		}
	}
	return id, true
}

// bare reports whether small words of place are all that is said: "it's off" may
// be any of several things.
func (m *message) bare() bool {
	for _, w := range m.words {
		if !m.cues.idle[w.text] && !m.cues.places[w.text] || w.denied {
			return false
		}
	}
	return len(m.q.Options) > 2
}

// placed reports whether a thing and one small word of place are all that is
// said: "the pack is out" may be how it should be.
func (m *message) placed() bool {
	means := m.cues.meaning(m.words)
	if len(means) != 2 || len(m.q.Options) < 3 {
		return false
	}
	thing, place := means[0][0], means[1][0]
	return m.cues.thingStems[thing.name] && m.cues.light[place.name] && !place.not && !m.cues.thingStems[place.name]
}

// explains is how many of the words that tell an option knows, as they are said.
func (m *message) explains(option int) int {
	own := map[sense]bool{}
	for _, s := range m.offered().all {
		for _, senses := range s.means {
			for _, k := range senses {
				own[k] = own[k] || s.option == option
			}
		}
	}
	n := 0
	for _, senses := range m.cues.meaning(m.words) {
		if slices.ContainsFunc(senses, func(k sense) bool { return own[k] }) {
			n++
		}
	}
	return n
}

// byThing finds the option that alone knows a thing which is named: "the hall
// plug" to the question which plug it was. It is hardly sure.
func (m *message) byThing(fit []float64) (Reply, bool) {
	hit := -1
	for i, own := range m.owned(m.offered()) {
		if own {
			if hit >= 0 || m.q.Options[i].Healthy {
				return Reply{}, false
			}
			hit = i
		}
	}
	if hit < 0 || fit[hit] < 0 || m.mark {
		return Reply{}, false
	}
	return Reply{Intent: IntentChoice, Choice: m.q.Options[hit].ID, Confidence: hardlySure}, true
}
