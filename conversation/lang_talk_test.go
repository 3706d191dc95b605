package conversation

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
)

// quiet hears nothing: what is tried here does not need the index.
type quiet struct{}

func (quiet) Match(string) Heard { return Heard{} }

func speakingEngine(t *testing.T) (*Engine, *int) {
	t.Helper()
	k, found := kb.Load(kb.Embedded())
	require.False(t, kb.HasErrors(found))
	made := new(int)
	e, err := New(k, quiet{}, Speaking(func(k *kb.KB) (Matcher, error) {
		*made++
		return quiet{}, nil
	}))
	require.NoError(t, err)
	return e, made
}

func TestALanguageIsMadeWhenFirstSpoken(t *testing.T) {
	e, made := speakingEngine(t)
	st := NewState()
	hear := func(msg string) Turn {
		events, turn, err := e.Step(st, msg, time.Unix(0, 0))
		require.NoError(t, err)
		for _, x := range events {
			st.Apply(x)
		}
		return turn
	}
	turn := hear("hello there, it will not go")
	assert.Empty(t, turn.Language)
	assert.Zero(t, *made, "nobody has spoken it yet")
	turn = hear("en español por favor")
	assert.Equal(t, "es", turn.Language)
	assert.Equal(t, "es", st.Language)
	assert.Contains(t, turn.Say, "Muy bien, en español.")
	turn = hear("la moto no anda nada y no sé por qué")
	assert.Equal(t, "es", turn.Language)
	assert.Equal(t, 1, *made)
	turn = hear("ok")
	assert.Equal(t, "es", turn.Language, "a word of both changes nothing")
	turn = hear("in English please")
	assert.Empty(t, turn.Language)
	assert.Equal(t, "en", st.Language)
	turn = hear("en français, mon vélo ne marche pas")
	assert.Empty(t, turn.Language, "a language that the knowledge base does not have")
}

func TestFirstWordsChooseTheLanguage(t *testing.T) {
	e, _ := speakingEngine(t)
	events, turn, err := e.Step(NewState(), "hola, mi bici no arranca", time.Unix(0, 0))
	require.NoError(t, err)
	assert.Equal(t, "es", turn.Language)
	var kinds []EventKind
	for _, x := range events {
		kinds = append(kinds, x.Kind)
	}
	assert.Contains(t, kinds, SpokenIn)
	assert.Equal(t, "es", Replay(events).Language, "a replay speaks the same")
}

func TestGreetingNamesTheLanguages(t *testing.T) {
	e, made := speakingEngine(t)
	lines := e.Greet(time.Unix(0, 0))[0].Lines
	assert.Contains(t, lines, "También puedes escribirme en español.")
	assert.Zero(t, *made)
}

func TestWithoutMakerOnlyTheBaseIsSpoken(t *testing.T) {
	k, _ := kb.Load(kb.Embedded())
	e, err := New(k, quiet{})
	require.NoError(t, err)
	_, turn, err := e.Step(NewState(), "hola, mi bici no arranca", time.Unix(0, 0))
	require.NoError(t, err)
	assert.Empty(t, turn.Language)
	assert.Len(t, e.Greet(time.Unix(0, 0))[0].Lines, 1)
}

func TestFiguresAsALanguageWritesThem(t *testing.T) {
	e, _ := speakingEngine(t)
	m := Measured{Value: 5.02, Unit: "V", Decimals: 2}
	assert.Equal(t, "5.02 V", e.format(m))
	assert.Equal(t, "5,02 V", e.In("es").format(m))
	assert.Equal(t, "fuera de rango", e.In("es").format(Measured{Overload: true}))
	assert.Equal(t, "a, b y c", e.In("es").joinAnd([]string{"a", "b", "c"}))
}
