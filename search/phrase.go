package search

import (
	"slices"

	"triagebot/kb"
)

// offTopic is the class of phrases that are no symptom.
const offTopic = -1

// phrase is one phrase of the knowledge base, ready for matching.
type phrase struct {
	symptom    int // in Index.symptoms, or offTopic
	absent     bool
	text       string
	terms      []phraseTerm
	weight     float64    // of all terms
	head       float64    // of what it says of its parts
	partWeight float64    // of the parts
	real       int        // words with a meaning of their own
	parts      bool       // one of the terms names a part
	mixed      bool       // it denies one word and not another
	single     bool       // one clause
	hinged     bool       // one of its words denies, or is one of a pair of opposites
	hangs      bool       // one of its clauses says when or why
	words      []wordSaid // all of them, as they stand in it
	keyword    bool       // not written so, but a word that is the symptom's own
	// It speaks of the past, asks, or names another machine of its own accord,
	// so that a message may do so too.
	past, asks, foreign bool
}

// wordSaid is a word as it stands in a phrase, with whether it is denied there.
type wordSaid struct {
	text   string
	denied bool
}

// phraseTerm is one word of a phrase; the fields mean what they mean in token.
type phraseTerm struct {
	id       int32
	stem     string
	weight   float64
	part     bool
	pole     bool
	sign     bool
	subject  bool
	lacking  bool
	light    bool
	particle bool // makes a verb with the word before it: "cut out"
	clause   int
	half     int  // 1 behind a contrast
	aside    bool // it only leads up to the rest
}

func (p *phrase) has(id int32) bool {
	for i := range p.terms {
		if p.terms[i].id == id {
			return true
		}
	}
	return false
}

// speaksOf reports whether the phrase, in that clause of its own if it names a
// part there, names one of the parts, or there are none.
func (p *phrase) speaksOf(parts []int32, clause int) bool {
	if len(parts) == 0 {
		return true
	}
	own, any := false, false
	for i := range p.terms {
		t := &p.terms[i]
		named := slices.Contains(parts, t.id)
		any = any || named
		if t.clause == clause && t.part {
			own = true
			if named {
				return true
			}
		}
	}
	return any && !own
}

// says reports whether the word says something of a part: verbs, states and
// the particles that make a verb ("out"), or a part that is not there ("no lights").
func (t *phraseTerm) says() bool {
	if t.part {
		return t.lacking
	}
	return !t.light || t.pole || t.particle
}

// hinges reports whether it is by this word that the phrase denies or affirms.
func (t *phraseTerm) hinges() bool { return t.sign || t.pole }

// real reports whether the word has a meaning of its own.
func (t *phraseTerm) real() bool { return !t.light && t.stem != "#" }

// leastClause is the share of what was found of the phrase's clause that was
// found least: "i press the button" alone is not "i press the button and
// nothing comes on".
func (p *phrase) leastClause(f *fit) float64 {
	last := p.terms[len(p.terms)-1].clause
	if p.terms[0].clause == last {
		return f.cover
	}
	least := 1.0
	for c := p.terms[0].clause; c <= last; c++ {
		var got, all, saidGot, said float64
		for i := range p.terms {
			if t := &p.terms[i]; t.clause == c && !t.aside {
				all += t.weight
				if t.says() {
					said += t.weight
				}
			}
		}
		for _, h := range f.found {
			if t := &p.terms[h.term]; t.clause == c && !t.aside {
				got += h.weight
				if t.says() {
					saidGot += h.weight
				}
			}
		}
		if all > 0.3 {
			least = min(least, got/all)
		}
		if said > 0.3 {
			least = min(least, saidGot/said)
		}
	}
	return least
}

// readPhrases reads the phrases of the knowledge base, and the chatter.
func (x *Index) readPhrases(g *grammar, k *kb.KB) {
	for i, s := range k.Symptoms {
		for _, p := range s.Phrases {
			x.addPhrase(phrase{symptom: i, text: p})
		}
		for _, p := range s.Absent {
			x.addPhrase(phrase{symptom: i, text: p, absent: true})
		}
	}
	x.chatter = set{}
	for _, p := range g.chatter {
		x.chatter[joinTokens(x.lex.read(p))] = true
	}
	for _, p := range k.Words.OffTopic {
		x.addPhrase(phrase{symptom: offTopic, text: p})
	}
	for _, p := range g.chatter {
		x.addPhrase(phrase{symptom: offTopic, text: p})
	}
}

func (x *Index) addPhrase(p phrase) {
	t := x.lex.read(p.text)
	for _, c := range t.clauses {
		p.hangs = p.hangs || x.lex.g.hanging[c.joint]
		p.past = p.past || c.past || c.gone
		p.asks = p.asks || c.hypothetical
		p.foreign = p.foreign || c.foreign
	}
	half := 0
	for i := range t.tokens {
		tok := &t.tokens[i]
		if i > 0 && t.clauses[tok.seg].hard {
			half = 1
		}
		if !tok.matched() {
			continue
		}
		p.terms = append(p.terms, phraseTerm{
			id: x.lex.learnTerm(tok.term), stem: tok.stem, part: tok.part, pole: tok.pole,
			sign: tok.sign(), subject: tok.subject, lacking: tok.lacking,
			light: tok.light, particle: x.lex.g.particles[tok.text], clause: tok.seg, half: half,
		})
		p.parts = p.parts || tok.part
		p.hinged = p.hinged || p.terms[len(p.terms)-1].hinges()
	}
	for i := range t.tokens {
		p.words = append(p.words, wordSaid{t.tokens[i].text, t.tokens[i].denied})
	}
	if len(p.terms) > 0 {
		if len(p.words) >= wordsWithin {
			x.within[p.words[0].text] = append(x.within[p.words[0].text], len(x.phrases))
		}
		key := t.plainRun(0, len(t.clauses))
		x.exact[key] = append(x.exact[key], len(x.phrases))
		x.phrases = append(x.phrases, p)
	}
}
