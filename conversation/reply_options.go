package conversation

import (
	"math"
	"slices"
	"strconv"
	"strings"
)

// meaning is what a row of words says: for each word or idiom that is not idle,
// the senses it can have, turned round where it is denied.
func (c *cueBook) meaning(words []heardWord) [][]sense {
	var out [][]sense
	for i := 0; i < len(words); i++ {
		w := words[i]
		if means, n := c.idiomAt(words, i); n > i {
			senses := c.senses(heardWord{text: means.name, stem: means.name})
			for k := range senses {
				senses[k].not = senses[k].not != (means.not != w.denied)
			}
			out = append(out, senses)
			i = n - 1
			continue
		}
		if c.idle[w.text] || c.negators[w.text] && w.text != "nothing" && w.text != "none" {
			continue
		}
		senses := c.senses(w)
		if w.denied && !c.negators[w.text] {
			for k := range senses {
				senses[k].not = !senses[k].not
			}
		}
		out = append(out, senses)
	}
	return out
}

func (c *cueBook) idiomAt(words []heardWord, i int) (sense, int) {
	best, means := i, sense{}
	for _, d := range c.idioms {
		if n, ok := d.cue.at(words, i); ok && n > best {
			best, means = n, d.means
		}
	}
	return means, best
}

// surface is one way of saying an option.
type surface struct {
	option int
	means  [][]sense
	text   string
}

// surfaces are all ways the options are said: label, phrases, id, and the sides
// of an "or" in a label.
func (m *message) surfaces() []surface {
	var out []surface
	add := func(i int, s string) {
		w := m.cues.words(s)
		m.cues.deny(w)
		if means := m.cues.meaning(w); len(w) > 0 {
			out = append(out, surface{i, means, joinWords(w)})
		}
	}
	for i, o := range m.q.Options {
		add(i, o.Label)
		if parts := strings.Split(strings.ToLower(o.Label), " or "); len(parts) > 1 {
			for _, s := range parts {
				add(i, s)
			}
		}
		for _, s := range o.Phrases {
			add(i, s)
		}
		add(i, strings.ReplaceAll(o.ID, "-", " "))
	}
	return out
}

func joinWords(words []heardWord) string {
	var b strings.Builder
	for i, w := range words {
		if i > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(w.text)
	}
	return b.String()
}

// weights say how much a sense tells: less when several options share it, less
// for the small words of place and time.
func (m *message) weights(all []surface) map[string]float64 {
	in := map[string]map[int]bool{}
	for _, s := range all {
		for _, senses := range s.means {
			for _, k := range senses {
				if in[k.name] == nil {
					in[k.name] = map[int]bool{}
				}
				in[k.name][s.option] = true
			}
		}
	}
	w := map[string]float64{}
	for name, options := range in {
		w[name] = 1 / math.Sqrt(float64(len(options)))
		if m.cues.light[name] {
			w[name] *= 0.4
		}
	}
	return w
}

// weigh is the weight of a word: that of its most telling known sense.
func weigh(senses []sense, weight map[string]float64) float64 {
	w := weight[senses[0].name]
	for _, k := range senses[1:] {
		if w == 0 {
			w = weight[k.name]
		}
	}
	return w
}

// fit is how well what was said agrees with each option, -1..1. Below zero the
// option is denied: nothing agrees, and something says the opposite.
func (m *message) fit() []float64 {
	all := m.surfaces()
	weight := m.weights(all)
	said := map[sense]bool{}
	total := 0.0
	for _, senses := range m.cues.meaning(m.words) {
		if !said[senses[0]] {
			total += weigh(senses, weight)
		}
		for _, k := range senses {
			said[k] = true
		}
	}
	whole := joinWords(m.words)
	best := make([]float64, len(m.q.Options))
	worst := make([]float64, len(m.q.Options))
	for _, s := range all {
		f := m.agree(s.means, said, weight, total)
		if s.text == whole {
			f = 1
		}
		best[s.option] = max(best[s.option], f)
		worst[s.option] = min(worst[s.option], f)
	}
	for i := range best {
		if best[i] < 0.05 && worst[i] <= -0.5 {
			best[i] = worst[i]
		}
	}
	return best
}

// agree is the balance of recall and precision of one surface, less what is
// said the other way round; where nothing agrees, only the latter.
func (m *message) agree(means [][]sense, said map[sense]bool, weight map[string]float64, total float64) float64 {
	var all, hit, against float64
	seen := map[sense]bool{}
	for _, senses := range means {
		if seen[senses[0]] {
			continue
		}
		seen[senses[0]] = true
		w := weigh(senses, weight)
		all += w
		switch {
		case slices.ContainsFunc(senses, func(k sense) bool { return said[k] }):
			hit += w
		case slices.ContainsFunc(senses, func(k sense) bool { return said[sense{k.name, !k.not}] }):
			against += w
			if m.cues.light[senses[0].name] {
				against += w // on for off says more than on for on
			}
		}
	}
	switch {
	case all == 0 || hit+against == 0:
		return 0
	case hit == 0:
		return -math.Min(1, against/all)
	}
	// Recall counts more: what an owner adds to the answer is not held against it.
	recall, precision := hit/all, hit/math.Max(total, hit)
	f := 5 * recall * precision / (4*precision + recall)
	return f*1.3*hit/(hit+0.3) - 1.2*math.Min(1, against/all) // a match of small words alone is worth little
}

// exact finds the option that was said in its own words.
func (m *message) exact() (Reply, bool) {
	whole := joinWords(m.words)
	hit := -1
	for _, s := range m.surfaces() {
		if s.text != whole || s.option == hit {
			continue
		}
		if hit >= 0 {
			return Reply{}, false
		}
		hit = s.option
	}
	if hit < 0 {
		return Reply{}, false
	}
	return Reply{Intent: IntentChoice, Choice: m.q.Options[hit].ID, Confidence: 1}, true
}

// chosen maps the message on an option. A denied option is never chosen, and
// of two that fit alike neither is.
func (m *message) chosen() (Reply, bool) {
	if len(m.q.Options) == 0 {
		return Reply{}, false
	}
	fit := m.fit()
	best, second := -1, -1
	for i, f := range fit {
		switch {
		case best < 0 || f > fit[best]:
			best, second = i, best
		case second < 0 || f > fit[second]:
			second = i
		}
	}
	if c, ok := m.tried(); ok && fit[best] < 0.9 {
		return Reply{Intent: IntentChoice, Choice: c, Confidence: 0.75}, true
	}
	if fit[best] < 0.6 && says(m.cues.phrases["fine"], m.words) { // "all good" shares a small word with many an option
		if c, ok := m.byOutcome(); ok {
			return Reply{Intent: IntentChoice, Choice: c, Confidence: 0.7}, true
		}
	}
	next := 0.0 // of a single option
	if second >= 0 {
		next = fit[second]
	}
	const least, apart = 0.3, 0.15 // settled on the labelled replies and the phrases of the knowledge base
	switch {
	case fit[best] >= least && fit[best]-next >= apart:
		return Reply{Intent: IntentChoice, Choice: m.q.Options[best].ID, Confidence: 0.5 + 0.5*math.Min(1, fit[best])}, true
	}
	if c, ok := m.byOutcome(); ok {
		return Reply{Intent: IntentChoice, Choice: c, Confidence: 0.7}, true
	}
	if fit[best] >= least {
		return Reply{Intent: IntentUnsure, Confidence: 0.6}, true
	}
	if len(fit) == 2 && fit[best] >= 0 && next < 0 { // one of two denied
		return Reply{Intent: IntentChoice, Choice: m.q.Options[best].ID, Confidence: 0.6}, true
	}
	return Reply{}, false
}

// surely is chosen where the words leave little doubt, so that "can't see a light,
// stays dark" is an answer and no excuse.
func (m *message) surely() (Reply, bool) {
	r, ok := m.chosen()
	return r, ok && r.Intent == IntentChoice && r.Confidence >= 0.85
}

// tryPair finds the two answers of a try of which one is that nothing changed; -1
// where the options are no such pair.
func (m *message) tryPair() (same, cure int) {
	same, cure = -1, -1
	if len(m.q.Options) != 2 {
		return same, cure
	}
	for i, o := range m.q.Options {
		if m.optionIs(Choice{ID: o.ID, Label: o.Label}, "unchanged") {
			same = i
		} else {
			cure = i
		}
	}
	if same < 0 || cure < 0 {
		return -1, -1
	}
	return same, cure
}

// tried reads what came of such a try: "still dead with the new one" names the part
// that the cure names, and yet is none.
func (m *message) tried() (string, bool) {
	same, cure := m.tryPair()
	if same < 0 {
		return "", false
	}
	unchanged, cured := says(m.cues.phrases["unchanged"], m.words), says(m.cues.phrases["cured"], m.words)
	switch {
	case unchanged && !cured:
		return m.q.Options[same].ID, true
	case cured && !unchanged && m.optionIs(m.q.Options[cure], "cured"):
		return m.q.Options[cure].ID, true
	}
	return "", false
}

// byOutcome maps "still dead", "fixed it", "all good", "completely off" on the one
// option of that kind.
func (m *message) byOutcome() (string, bool) {
	for _, kind := range []string{"unchanged", "cured", "fine", "dead"} {
		if !says(m.cues.phrases[kind], m.words) {
			continue
		}
		hit, n := "", 0
		for _, o := range m.q.Options {
			if m.optionIs(o, kind) {
				hit = o.ID
				n++
			}
		}
		if n == 1 {
			return hit, true
		}
	}
	return "", false
}

// optionIs looks at label and id first; phrases only count where an outcome can
// be told by them alone ("all stuck" is not all fine).
func (m *message) optionIs(o Choice, kind string) bool {
	texts := []string{o.Label, strings.ReplaceAll(o.ID, "-", " ")}
	if kind != "fine" {
		texts = append(texts, o.Phrases...)
	}
	for _, s := range texts {
		w := m.cues.words(s)
		m.cues.deny(w)
		if says(m.cues.phrases["option-"+kind], w) {
			return true
		}
	}
	return false
}

// says reports whether a cue stands in the words and its first word is not
// denied: "nothing moves" is no cure, "not off" is not off.
func says(cues []cue, words []heardWord) bool {
	for i, w := range words {
		if w.denied {
			continue
		}
		for _, q := range cues {
			if _, ok := q.at(words, i); ok && (!q.start || i == 0) {
				return true
			}
		}
	}
	return false
}

// numbered reads "2", "the second one", "b)", "option 3", "last" as a place in
// the list that was offered.
func (m *message) numbered() (string, bool) {
	n := len(m.q.Options)
	if n == 0 || m.wantsFigure() && m.q.Kind == "measure" {
		return "", false
	}
	var rest []string
	for _, w := range m.words {
		if !m.cues.idle[w.text] && !m.cues.ordinalIdle[w.text] {
			rest = append(rest, w.text)
		}
	}
	if len(rest) == 0 { // "number one": a word that is idle elsewhere
		for _, w := range m.words {
			if m.cues.ordinals[w.text] != 0 {
				rest = append(rest, w.text)
			}
		}
	}
	if len(rest) != 1 {
		return "", false
	}
	at := 0
	w := rest[0]
	if k, ok := m.cues.ordinals[w]; ok {
		at = k
		if k < 0 {
			at = n + 1 + k
		}
	} else if k, err := strconv.Atoi(w); err == nil {
		at = k
	} else if len(w) == 1 && w[0] >= 'a' && w[0] <= 'j' && len(m.words) <= 2 {
		at = int(w[0]-'a') + 1
	}
	if at < 1 || at > n {
		return "", false
	}
	return m.q.Options[at-1].ID, true
}
