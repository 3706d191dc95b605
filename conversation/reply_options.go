package conversation

import (
	"math"
	"slices"
	"strings"
)

// meaning is what a row of words says: for each word or idiom that is not idle,
// the senses it can have, turned round where it is denied.
func (c *cueBook) meaning(words []heardWord) [][]sense {
	var out [][]sense
	for i := 0; i < len(words); i++ {
		w := words[i]
		means, n := c.idiomAt(words, i)
		for j := i + 1; j < n; j++ { // "goes up and down" is no going up
			if _, k := c.idiomAt(words, j); k > n && k-j >= n-i {
				n = i
			}
		}
		if n > i {
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
func (m *message) surfaces(labelsOnly bool) []surface {
	var out []surface
	add := func(i int, s string) {
		if x := m.cues.surface(s); x.text != "" {
			x.option = i
			out = append(out, x)
		}
	}
	for i, o := range m.q.Options {
		add(i, o.Label)
		if labelsOnly {
			continue
		}
		for _, or := range m.cues.ors {
			if parts := strings.Split(strings.ToLower(o.Label), " "+or+" "); len(parts) > 1 {
				for _, s := range parts {
					add(i, s)
				}
			}
		}
		for _, s := range o.Phrases {
			add(i, s)
		}
		add(i, strings.ReplaceAll(o.ID, "-", " "))
	}
	return out
}

// surface works out what an offered answer's words mean.
func (c *cueBook) surface(text string) surface {
	return c.offered.of(text, func(text string) surface {
		w := c.words(text)
		c.deny(w)
		return surface{means: c.meaning(w), text: joinWords(w)}
	})
}

// askedWords cuts the text of a question or an offered answer into words. They
// are shared: clone them before denying any.
func (c *cueBook) askedWords(text string) []heardWord { return c.asked.of(text, c.words) }

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

// mostlyForeign is the share of what is said that an option must know to be taken
// without asking again.
const mostlyForeign = 0.34

// plainly is the confidence of an option that a rule finds without a doubt.
const plainly = 0.8

// certainty is the confidence of an option that fits so well.
func certainty(fit float64) float64 { return 0.52 + 0.48*math.Min(1, fit) }

// hardlySure is the confidence of an option that is asked for again.
const hardlySure = 0.6

// exact finds the option that was said in its own words.
func (m *message) exact() (Reply, bool) {
	whole := joinWords(m.words)
	hit := -1
	for _, s := range m.offered().all {
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

// chosen maps the message on an option. What may be of something else is no
// better than a guess.
func (m *message) chosen() (Reply, bool) {
	if len(m.q.Options) == 0 {
		return Reply{}, false
	}
	r, ok := m.choose()
	if !ok || r.Intent != IntentChoice {
		return r, ok
	}
	at := m.option(r.Choice)
	if sure := certainty(m.fit()[at]); r.Confidence >= plainly { // a rule that settles it makes it no less sure
		r.Confidence = max(r.Confidence, sure)
	}
	if m.strays(at) || (m.bare() || m.q.Options[at].Healthy && m.has("but-then")) && m.fit()[at] < 1 {
		r.Confidence = min(r.Confidence, hardlySure)
	}
	return r, ok
}

// choose finds the option that fits best. A denied option is never chosen, and
// of two that fit alike neither is.
func (m *message) choose() (Reply, bool) {
	if r, ok := m.quantified(); ok {
		return r, true
	}
	if r, ok := m.byClauses(); ok {
		return r, true
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
	if c, ok := m.tried(); ok {
		return Reply{Intent: IntentChoice, Choice: c, Confidence: 0.85}, true
	}
	if c, ok := m.plainlyFine(); ok && (fit[m.option(c)] >= -0.5 || m.has("fine-sure")) {
		return Reply{Intent: IntentChoice, Choice: c, Confidence: plainly}, true
	}
	if second >= 0 && fit[best] >= 0.3 && fit[second] >= 0.3 && m.q.Options[best].Healthy != m.q.Options[second].Healthy &&
		(m.has("but-then") || m.has("and-then") && fit[best]-fit[second] < 0.15) {
		if m.q.Options[best].Healthy { // "fine until it jumps" is not fine
			best, second = second, best
		}
		return Reply{Intent: IntentChoice, Choice: m.q.Options[best].ID, Confidence: 0.7}, true
	}
	if fit[best] < 0.6 && says(m.cues.phrases["fine"], m.words) { // "all good" shares a small word with many an option
		if c, ok := m.byOutcome(); ok && !m.otherNamed(c) {
			return Reply{Intent: IntentChoice, Choice: c, Confidence: 0.7}, true
		}
	}
	next := 0.0 // of a single option
	if second >= 0 {
		next = fit[second]
	}
	const least, apart = 0.38, 0.15 // settled on the labelled replies and the phrases of the knowledge base
	switch {
	case fit[best] >= least && fit[best]-next >= apart:
		sure := certainty(fit[best])
		if m.foreign(best) || m.placed() && fit[best] < 0.9 { // one word among many that no option knows
			sure = min(sure, hardlySure)
		}
		return Reply{Intent: IntentChoice, Choice: m.q.Options[best].ID, Confidence: sure}, true
	}
	if fit[best] >= least && second >= 0 {
		owned := m.owned(m.offered())
		a, b := m.explains(best), m.explains(second)
		switch {
		case owned[best] && !owned[second], a > b && fit[best] >= 0.6:
			return Reply{Intent: IntentChoice, Choice: m.q.Options[best].ID, Confidence: 0.7}, true
		case b > a && fit[second] >= 0.6:
			return Reply{Intent: IntentChoice, Choice: m.q.Options[second].ID, Confidence: 0.7}, true
		}
	}
	if c, ok := m.byOutcome(); ok && !m.otherNamed(c) {
		return Reply{Intent: IntentChoice, Choice: c, Confidence: 0.7}, true
	}
	if fit[best] >= least && next < least {
		return Reply{Intent: IntentChoice, Choice: m.q.Options[best].ID, Confidence: 0.6}, true
	}
	if fit[best] >= least {
		if labels := m.fitOf(m.labels()); labels[best]-labels[second] >= apart || labels[second]-labels[best] >= apart {
			if labels[second] > labels[best] {
				best = second
			}
			return Reply{Intent: IntentChoice, Choice: m.q.Options[best].ID, Confidence: 0.6}, true
		}
	}
	if fit[best] >= 0.45 {
		return Reply{Intent: IntentUnsure, Confidence: 0.6}, true
	}
	if len(fit) == 2 && fit[best] >= 0 && next < 0 { // one of two denied
		return Reply{Intent: IntentChoice, Choice: m.q.Options[best].ID, Confidence: 0.6}, true
	}
	if c, ok := m.deniesTroubles(); ok && fit[m.option(c)] >= 0 {
		return Reply{Intent: IntentChoice, Choice: c, Confidence: 0.7}, true
	}
	return m.byThing(fit)
}

// otherNamed reports whether a thing is named that only another option knows.
func (m *message) otherNamed(id string) bool {
	for i, own := range m.owned(m.offered()) {
		if own && m.q.Options[i].ID != id && len(m.q.Options) > 2 {
			return true
		}
	}
	return false
}

// option is the index of the option with an id; -1 where none has it.
func (m *message) option(id string) int {
	return slices.IndexFunc(m.q.Options, func(o Choice) bool { return o.ID == id })
}

// surely is chosen where the words leave little doubt, so that "can't see a light,
// stays dark" is an answer and no excuse.
func (m *message) surely() (Reply, bool) {
	r, ok := m.chosen()
	return r, ok && r.Intent == IntentChoice && r.Confidence >= 0.85
}
