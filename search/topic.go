package search

// offtopic is what the phrases of other talk found in a message.
type offtopic struct {
	score   float64 // of the best phrase of other talk
	command bool    // an order to the bot
	matter  bool    // some clause is of ours and not other talk
	foreign bool    // some clause is about another machine
	plain   bool    // a pattern of other talk is there
}

// ourShare is how much of what is said must be words that the phrases know,
// when no part is named.
const ourShare = 0.7

// A message asks for time when it has no more words and begins with it, or
// with a word or two before.
const (
	timeWords  = 8
	timeBegins = 3
)

// chatterSure is the score from which a phrase of other talk is believed.
const chatterSure = 0.6

func (x *Index) offTopicIn(t *text, found []finding) offtopic {
	var o offtopic
	byClause := make([]float64, len(t.clauses))
	for i := range found {
		f := &found[i]
		if f.symptom >= 0 {
			continue
		}
		if f.same {
			o.score = max(o.score, f.conf)
			o.plain = o.plain || f.concept
			byClause[f.clause] = max(byClause[f.clause], f.conf)
		}
	}
	for i := range t.tokens {
		if _, n := x.lex.g.commands.at(t.key, i, len(t.tokens)); n > 0 {
			o.command = true
		}
	}
	for k, c := range t.clauses {
		o.matter = o.matter || c.attempt && !c.foreign || !c.foreign && byClause[k] < 0.3 && x.speaksOfOurs(t, c)
	}
	ours := false
	for _, c := range t.clauses {
		o.foreign = o.foreign || c.foreign
		ours = ours || !c.foreign && x.lex.subjectOf(t, c) == "ours"
	}
	o.foreign = o.foreign && !ours
	if x.chatter[joinTokens(t)] {
		o.score = 1
	}
	return o
}

// isOfftopic decides whether the message is none of ours. A complaint, a
// reading or a tool makes it ours whatever else it says; what only answers a
// question is left to the talk.
func (x *Index) isOfftopic(t *text, said *Said, kept []finding, off offtopic) bool {
	well := 0
	for i := range kept {
		if kept[i].present && !x.healthy[kept[i].symptom] {
			return false
		}
		if kept[i].conf > off.score && !off.plain {
			well++
		}
	}
	if off.command {
		return true
	}
	if well > 0 || len(t.tokens) == 0 || x.asksForTime(t) {
		return false
	}
	if off.plain && said.Kit == "" && len(said.Readings) == 0 {
		return true
	}
	if off.score >= chatterSure && !off.matter || off.foreign {
		return true
	}
	if len(said.Readings) > 0 || said.Kit != "" || len(said.Tools) > 0 || x.answers(t) {
		return false
	}
	return !x.ours(t)
}

// asksForTime reports whether a short message begins by asking to wait, which
// leaves the talk where it is: "hang on, phone".
func (x *Index) asksForTime(t *text) bool {
	for i := 0; i < len(t.tokens) && i < timeBegins && len(t.tokens) <= timeWords; i++ {
		if _, n := x.lex.g.waits.at(t.key, i, len(t.tokens)); n > 0 {
			return true
		}
	}
	return false
}

// speaksOfOurs reports whether a clause says something of the thing or a part.
func (x *Index) speaksOfOurs(t *text, c clause) bool {
	part, said := false, false
	for i := c.from; i < c.to; i++ {
		tok := &t.tokens[i]
		part = part || tok.part && tok.matched()
		said = said || !tok.part && !tok.light && tok.matched() && tok.id >= 0 && len(x.affinity[tok.id]) > 0
	}
	return part && said
}

// answers reports whether the message only answers something.
func (x *Index) answers(t *text) bool {
	if len(t.tokens) > 6 {
		return false
	}
	other := 0
	for i := range t.tokens {
		tok := &t.tokens[i]
		if !x.lex.g.answers[tok.text] && !tok.light && !tok.cue && !hasDigit(tok.text) {
			other++
		}
	}
	return other == 0 || other == 1 && len(t.tokens) <= 3
}

// ours reports whether enough of the message's words are words of the trade.
func (x *Index) ours(t *text) bool {
	var known, all float64
	for i := range t.tokens {
		tok := &t.tokens[i]
		if tok.light || !tok.matched() {
			continue
		}
		if tok.part && !t.clauses[tok.seg].foreign || tok.term == workTerm || x.lex.g.is("trouble", tok.text) {
			return true
		}
		w := x.tokenWeight(tok)
		all += w
		if tok.id >= 0 && len(x.affinity[tok.id]) > 0 {
			known += w
		}
	}
	return all > 0 && known >= ourShare*all
}

func joinTokens(t *text) string {
	words := make([]word, len(t.tokens))
	for i := range t.tokens {
		words[i] = t.tokens[i].word
	}
	return joinWords(words)
}
