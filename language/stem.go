package language

import (
	"github.com/blevesearch/snowballstem"
	"github.com/blevesearch/snowballstem/danish"
	"github.com/blevesearch/snowballstem/dutch"
	"github.com/blevesearch/snowballstem/english"
	"github.com/blevesearch/snowballstem/finnish"
	"github.com/blevesearch/snowballstem/french"
	"github.com/blevesearch/snowballstem/german"
	"github.com/blevesearch/snowballstem/italian"
	"github.com/blevesearch/snowballstem/norwegian"
	"github.com/blevesearch/snowballstem/portuguese"
	"github.com/blevesearch/snowballstem/spanish"
	"github.com/blevesearch/snowballstem/swedish"
)

// stemmers are the Snowball stemmers a language may name.
var stemmers = map[string]func(string) string{
	"danish": by(danish.Stem), "dutch": by(dutch.Stem), "english": by(english.Stem), "finnish": by(finnish.Stem),
	"french": by(french.Stem), "german": by(german.Stem), "italian": by(italian.Stem), "norwegian": by(norwegian.Stem),
	"portuguese": by(portuguese.Stem), "spanish": by(spanish.Stem), "swedish": by(swedish.Stem),
}

func by(stem func(*snowballstem.Env) bool) func(string) string {
	return func(w string) string {
		env := snowballstem.NewEnv(w)
		stem(env)
		return env.Current()
	}
}
