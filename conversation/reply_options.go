package conversation

import (
	"math"
	"strconv"
	"strings"
)

// sense is a concept with its side: "not off" is on, "unplugged" is not plugged.
type sense struct {
	name string
	not  bool
}

// meaning is what a row of words says, without the idle words.
func (c *cueBook) meaning(words []heardWord) []sense {
	var out []sense
	for _, w := range words {
		if c.idle[w.text] || c.negators[w.text] && w.text != "nothing" {
			continue
		}
		k := c.concept(w.stem, w.text)
		out = append(out, sense{k.name, k.against != (w.denied && w.text != "nothing")})
	}
	return out
}

// surface is one way of saying an option.
type surface struct {
	option int
	means  []sense
	text   string
}

// surfaces are all ways the options are said: label, phrases, id, and the sides
// of an "or" in a label.
func (m *message) surfaces() []surface {
	var out []surface
	add := func(i int, s string) {
		w := m.cues.words(s)
		m.cues.deny(w)
		if means := m.cues.meaning(w); len(means) > 0 {
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

// weights say how much a concept tells: less when several options share it, less
// for the small words of place and time.
func (m *message) weights(all []surface) map[string]float64 {
	in := map[string]map[int]bool{}
	for _, s := range all {
		for _, k := range s.means {
			if in[k.name] == nil {
				in[k.name] = map[int]bool{}
			}
			in[k.name][s.option] = true
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

// fit is how well what was said agrees with each option, -1..1. Below zero the
// option is denied: nothing agrees, and something says the opposite.
func (m *message) fit() []float64 {
	all := m.surfaces()
	weight := m.weights(all)
	said := map[sense]bool{}
	total := 0.0
	for _, k := range m.cues.meaning(m.words) {
		if !said[k] {
			total += weight[k.name]
		}
		said[k] = true
	}
	whole := joinWords(m.words)
	best := make([]float64, len(m.q.Options))
	worst := make([]float64, len(m.q.Options))
	for _, s := range all {
		f := agree(s.means, said, weight, total)
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
func agree(means []sense, said map[sense]bool, weight map[string]float64, total float64) float64 {
	var all, hit, against float64
	seen := map[sense]bool{}
	for _, k := range means {
		if seen[k] {
			continue
		}
		seen[k] = true
		w := weight[k.name]
		all += w
		switch {
		case said[k]:
			hit += w
		case said[sense{k.name, !k.not}]:
			against += w
		}
	}
	switch {
	case all == 0 || hit+against == 0:
		return 0
	case hit == 0:
		return -against / all
	}
	recall, precision := hit/all, hit/math.Max(total, hit)
	return 2*recall*precision/(recall+precision) - 1.2*against/all
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
	next := 0.0 // of a single option
	if second >= 0 {
		next = fit[second]
	}
	const least, apart = 0.3, 0.06
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

// byOutcome maps "still dead", "fixed it", "all good", "completely off" on the one
// option of that kind.
func (m *message) byOutcome() (string, bool) {
	for _, kind := range []string{"unchanged", "cured", "fine", "dead"} {
		if !m.has(kind) {
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
		if _, _, ok := findCue(m.cues.phrases["option-"+kind], m.cues.words(s)); ok {
			return true
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
	} else if len(w) == 1 && w[0] >= 'a' && w[0] <= 'j' {
		at = int(w[0]-'a') + 1
	}
	if at < 1 || at > n {
		return "", false
	}
	return m.q.Options[at-1].ID, true
}
