package conversation

import (
	"slices"
	"strings"
	"sync"

	"triagebot/kb"
	"triagebot/language"
)

// MatcherMaker makes the matcher of a knowledge base in one of its languages.
type MatcherMaker func(*kb.KB) (Matcher, error)

// Option is an option of New.
type Option func(*Engine)

// Speaking lets the engine speak the languages of its knowledge base. Each is
// made ready when first spoken, so that nobody waits for what is not needed.
func Speaking(m MatcherMaker) Option { return func(e *Engine) { e.maker = m } }

// spoken is an engine in one language, made once.
type spoken struct {
	once   sync.Once
	engine *Engine
	own    map[string]bool // words of the trade by which it is recognised
}

// In is the engine in a language: the same rules, with the texts, phrases and
// sentences of that language. "", the base language, and a language that is not
// there or not whole enough to be spoken give the engine of the base language.
func (e *Engine) In(code string) *Engine {
	base := e
	if e.base != nil {
		base = e.base
	}
	s := base.spoken(code)
	if s == nil {
		return base
	}
	s.once.Do(func() { s.engine = base.makeIn(code) })
	return s.engine
}

// Language is the code of the language that the engine speaks; "" is the base.
func (e *Engine) Language() string { return e.kb.Language }

// spoken finds a language that the engine can be made to speak; nil when there is none.
func (e *Engine) spoken(code string) *spoken {
	if code == "" || code == language.Base || e.maker == nil {
		return nil
	}
	if s, ok := e.others.Load(code); ok {
		return s.(*spoken)
	}
	if language.Of(code) == nil || !slices.Contains(e.kb.Languages(), code) {
		return nil
	}
	s := &spoken{own: map[string]bool{}}
	for _, w := range e.kb.Recognised(code) {
		s.own[language.Plain(w)] = true
	}
	kept, _ := e.others.LoadOrStore(code, s)
	return kept.(*spoken)
}

func (e *Engine) makeIn(code string) *Engine {
	k := e.kb.In(code)
	m, err := e.maker(k)
	if err != nil {
		return e // the checker says what is wrong with it
	}
	own, err := New(k, m)
	if err != nil {
		return e
	}
	own.base = e
	return own
}

// speaks says whether a language can be spoken.
func (e *Engine) speaks(code string) bool {
	return code == language.Base || e.In(code).Language() == code
}

// settleLanguage takes a wish for a language, or the language that a message is
// plainly written in. What is left of the message is read in it; answered means
// that nothing is left.
func (t *step) settleLanguage(msg string) (rest string, answered bool, err error) {
	base := t.e.In("")
	if base.maker == nil {
		return msg, false, nil
	}
	if code, rest, ok := language.AskedFor(msg); ok && base.speaks(code) {
		t.speak(base, code)
		t.say("language-taken")
		if rest == "" {
			return "", true, t.repeat()
		}
		return rest, false, nil
	}
	own := func(code, word string) bool {
		s := base.spoken(code)
		return s != nil && s.own[word]
	}
	code := language.Recognise(msg, t.st.Language, t.st.Phase == Opening, own)
	if code != t.st.Language && base.speaks(code) {
		t.speak(base, code)
	}
	return msg, false, nil
}

// speak goes on in a language.
func (t *step) speak(base *Engine, code string) {
	if code == t.st.Language || code == language.Base && t.st.Language == "" {
		return
	}
	t.emit(Event{Kind: SpokenIn, ID: code})
	t.e, t.assessed = base.In(code), nil
}

// format writes a reading as the language writes figures.
func (e *Engine) format(m Measured) string {
	if m.Overload {
		return e.words.say("overload")
	}
	text := FormatValue(m)
	if e.lang != nil && e.lang.Decimal != "" {
		text = strings.Replace(text, ".", e.lang.Decimal, 1)
	}
	return text
}

// lowerFirst puts a sentence behind another text, where a language has that.
func (e *Engine) lowerFirst(s string) string {
	if e.lang != nil && e.lang.Nouns {
		return s
	}
	return lowerFirst(s)
}

// joinAnd joins names with commas and a last "and".
func (e *Engine) joinAnd(list []string) string {
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	return strings.Join(list[:len(list)-1], ", ") + " " + e.words.say("and") + " " + list[len(list)-1]
}

// otherWays are more ways to give an answer that no check offers.
func (e *Engine) otherWays(name string) []string {
	var list []string
	for s := range strings.SplitSeq(e.words.say(name), "|") {
		list = append(list, strings.TrimSpace(s))
	}
	return list
}

// toolName is what a tool is called in a sentence.
func (e *Engine) toolName(id string) string {
	if text, ok := e.words["tool-"+id]; ok {
		return text
	}
	name := strings.ReplaceAll(id, "-", " ")
	if words := e.kb.Words.Tools[id]; e.kb.Language != "" && len(words) > 0 {
		name = words[0]
	}
	return e.words.say("tool-named", "tool", name)
}
