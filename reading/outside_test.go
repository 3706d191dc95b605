package reading_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"triagebot/reading"
)

// Published programs that read numbers or units, and what they read. Where two
// of them differ, the row names the one that agrees with how meters are read.
const (
	recognizers = "recognizers-text-suite 1.3.1, numbers"
	compromise  = "compromise 14.17.0"
	quantities  = "js-quantities 1.8.0"
	mathjs      = "mathjs 15.2.0"
)

func TestAgainstPublishedReaders(t *testing.T) {
	for _, c := range []struct {
		text   string
		value  float64
		unit   string
		source string
	}{
		{"about four point two volts", 4.2, "V", recognizers + "; " + compromise},
		{"forty one point eight volts", 41.8, "V", recognizers + "; " + compromise},
		{"fifty two and a half volts", 52.5, "V", recognizers + "; " + compromise},
		{"eight hundred fifty millivolts", 0.85, "V", recognizers + " (850); the prefix: " + mathjs},
		{"half a volt", 0.5, "V", recognizers + "; " + compromise},
		{"a quarter volt", 0.25, "V", recognizers + "; " + compromise},
		{"a quarter of a volt", 0.25, "V", recognizers + "; " + compromise},
		{"twelve hundred ohms", 1200, "Ω", recognizers + "; " + compromise},
		{"minus five degrees", -5, "°C", recognizers + ", temperature; " + compromise},
		{"minus 5 degrees", -5, "°C", recognizers + ", temperature; " + compromise},
		{"4.2v", 4.2, "V", compromise + "; recognizers finds nothing"},
		{"4,2 volts", 4.2, "V", recognizers + "; compromise takes thousands"},
		{"1,234.5 V", 1234.5, "V", recognizers + "; " + compromise},
		{".85 volts", 0.85, "V", recognizers + "; " + compromise},
		{"1.2 kΩ", 1200, "Ω", recognizers + " (1200)"},
		{"4.2 V", 4.2, "V", quantities + "; " + mathjs},
		{"850 mV", 0.85, "V", quantities},
		{"850 millivolts", 0.85, "V", mathjs},
		{"1.2 kohm", 1200, "Ω", quantities},
		{"4.2 volts", 4.2, "V", quantities},
		{"2 mohm", 0.002, "Ω", quantities + "; " + mathjs},
	} {
		t.Run(c.text, func(t *testing.T) {
			got := reading.Find(c.text)
			require.Len(t, got, 1, c.source)
			require.InDelta(t, c.value, got[0].Value, 1e-12, c.source)
			require.Equal(t, c.unit, got[0].Unit, c.source)
		})
	}
	t.Run("between 3.9 and 4.1 volts", func(t *testing.T) { // both ends: recognizers, compromise
		got := reading.Find("between 3.9 and 4.1 volts")
		require.Len(t, got, 1)
		require.Equal(t, [3]float64{3.9, 4, 4.1}, [3]float64{got[0].Low, got[0].Value, got[0].High})
	})
}

// The point of ice and the point of steam fix the scale of Fahrenheit; 37 °C
// is 98.6 °F by the same line.
func TestFahrenheit(t *testing.T) {
	for text, want := range map[string]float64{"32 F": 0, "212 °F": 100, "98.6 degrees Fahrenheit": 37, "-40F": -40} {
		got := reading.Find(text)
		require.Len(t, got, 1, text)
		require.InDelta(t, want, got[0].Value, 1e-9, text)
		require.Equal(t, reading.Celsius, got[0].Unit, text)
	}
}
