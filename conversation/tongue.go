package conversation

import (
	"github.com/kljensen/snowball/english"

	"triagebot/commonwords"
	"triagebot/language"
)

// tongue is what a language does to single words of replies; the zero value is
// English.
type tongue struct {
	lang   *language.Language
	common func(string) bool
}

func (t tongue) code() string {
	if t.lang == nil {
		return ""
	}
	return t.lang.Code
}

func (t tongue) stem(w string) string {
	switch {
	case len(w) < 4:
		return w
	case t.lang != nil:
		return t.lang.Stem(w)
	}
	return english.Stem(w, false)
}

func (t tongue) folded(w string) string {
	if t.lang == nil {
		return w
	}
	return t.lang.Folded(w)
}

func (t tongue) isCommon(w string) bool {
	if t.common == nil {
		return commonwords.Has(w)
	}
	return t.common(w)
}
