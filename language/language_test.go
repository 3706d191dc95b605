package language

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestFilesParse(t *testing.T) {
	list, err := all()
	require.NoError(t, err)
	require.NotNil(t, Of(Base))
	assert.Equal(t, Of(Base), Of(""))
	for _, l := range list {
		assert.NotEmpty(t, l.Name, l.Code)
		assert.NotEmpty(t, l.Asked, l.Code)
		assert.NotEmpty(t, l.Words, l.Code)
	}
}

func TestRecognise(t *testing.T) {
	for text, want := range map[string]string{
		"la pantalla enciende pero el acelerador no hace nada": "es",
		"mi bici no anda":         "es",
		"no carga":                "es",
		"sale humo de la bateria": "es",
		"das Display geht, aber beim Gasgeben passiert nichts": "de",
		"mein rad fährt nicht mehr":                            "de",
		"akku raucht":                                          "de",
		"screen lights up fine but twisting does nothing":      "",
		"no drive":                          "",
		"it has no power since the rain":    "",
		"sorrel 60":                         "",
		"ok":                                "",
		"no":                                "",
		"4.98 V":                            "",
		"hello my bike no go, motor kaputt": "",
		"my dash die all of a sudden on la playa road and no drive": "",
	} {
		assert.Equal(t, want, Recognise(text, "", true, nil), text)
	}
}

func TestRecogniseLater(t *testing.T) {
	assert.Equal(t, "es", Recognise("ok", "es", false, nil))
	assert.Equal(t, "es", Recognise("display on, no", "es", false, nil), "a loan word or two is no change")
	assert.Equal(t, "en", Recognise("sorry, can you say that again please", "es", false, nil))
	assert.Equal(t, "", Recognise("no se", "", false, nil), "short")
	assert.Equal(t, "es", Recognise("no entiendo lo que me dices, la moto no arranca", "", false, nil))
}

func TestAskedFor(t *testing.T) {
	for _, c := range []struct{ text, code, rest string }{
		{"auf Deutsch bitte", "de", ""},
		{"en español", "es", ""},
		{"¿en español, por favor?", "es", ""},
		{"in English please", "en", ""},
		{"en español por favor, la moto no arranca", "es", "por favor, la moto no arranca"},
	} {
		code, rest, ok := AskedFor(c.text)
		assert.True(t, ok, c.text)
		assert.Equal(t, c.code, code, c.text)
		if c.rest == "" {
			assert.Empty(t, rest, c.text)
		} else {
			assert.Contains(t, rest, "la moto no arranca")
		}
	}
	_, _, ok := AskedFor("the screen is dead")
	assert.False(t, ok)
}

func TestFolded(t *testing.T) {
	de := Of("de")
	assert.Equal(t, de.Folded("fährt"), de.Folded("Faehrt"))
	assert.Equal(t, de.Folded("heiß"), de.Folded("heiss"))
	assert.Equal(t, "esta", Of("es").Folded("Está"))
	assert.Equal(t, Of("es").Stem("cargando"), Of("es").Stem("cargar"))
}

func BenchmarkRecognise(b *testing.B) {
	for b.Loop() {
		Recognise("screen lights up fine but twisting the throttle does nothing since it rained yesterday", "", false, nil)
	}
}
