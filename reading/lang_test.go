package reading

import (
	"io/fs"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestWordFilesParse(t *testing.T) {
	files, err := fs.Glob(langFiles, "lang/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, f := range files {
		_, err := loadWords(strings.TrimSuffix(strings.TrimPrefix(f, "lang/"), ".yaml"))
		assert.NoError(t, err, f)
	}
}

func TestFindInOtherLanguages(t *testing.T) {
	for _, c := range []struct {
		code, text, want string
		value            float64
		unit             string
	}{
		{"es", "cuatro coma dos voltios", "V", 4.2, Volt},
		{"es", "cuatro con dos", "V", 4.2, ""},
		{"es", "cincuenta y cuatro coma seis", "V", 54.6, ""},
		{"es", "la bateria con 54 voltios", "V", 54, Volt},
		{"es", "marca 5,02", "V", 5.02, ""},
		{"es", "ochocientos cincuenta milivoltios", "V", 0.85, Volt},
		{"es", "casi cinco voltios", "V", 5, Volt},
		{"es", "medio voltio", "V", 0.5, Volt},
		{"es", "veinticuatro voltios", "V", 24, Volt},
		{"es", "cero coma ocho", "V", 0.8, ""},
		{"es", "me da menos 0,3 voltios", "V", -0.3, Volt},
		{"es", "unos 48 grados", "°C", 48, Celsius},
		{"es", "medio ohmio", "Ω", 0.5, Ohm},
		{"de", "vier komma zwei", "V", 4.2, ""},
		{"de", "vierundfünfzig komma sechs Volt", "V", 54.6, Volt},
		{"de", "achthundertfünfzig Millivolt", "V", 0.85, Volt},
		{"de", "fast fünf Volt", "V", 5, Volt},
		{"de", "ein halbes Volt", "V", 0.5, Volt},
		{"de", "5,02", "V", 5.02, ""},
		{"de", "null komma acht", "V", 0.8, ""},
		{"de", "viereinhalb Volt", "V", 4.5, Volt},
		{"de", "es zeigt minus 0,3 V", "V", -0.3, Volt},
		{"de", "hundertzwanzig Ohm", "Ω", 120, Ohm},
	} {
		got := FindIn(c.code, c.text, c.want)
		if assert.Len(t, got, 1, c.text) {
			assert.InDelta(t, c.value, got[0].Value, 1e-9, c.text)
			assert.Equal(t, c.unit, got[0].Unit, c.text)
			assert.GreaterOrEqual(t, len(c.text), got[0].End, c.text)
		}
	}
	assert.True(t, FindIn("es", "fuera de rango", Ohm)[0].Overload)
	assert.True(t, FindIn("de", "überlauf", Ohm)[0].Overload)
	r := FindIn("es", "entre 3,9 y 4,1 voltios", Volt)
	require.Len(t, r, 1)
	assert.InDelta(t, 3.9, r[0].Low, 1e-9)
	assert.InDelta(t, 4.1, r[0].High, 1e-9)
	r = FindIn("de", "zwischen 3,9 und 4,1 Volt", Volt)
	require.Len(t, r, 1)
	assert.InDelta(t, 4.1, r[0].High, 1e-9)
	assert.Empty(t, FindIn("es", "tiene 3 cables", Volt))
	assert.Empty(t, FindIn("de", "seit drei Tagen", Volt))
}
