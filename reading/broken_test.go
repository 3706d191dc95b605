package reading_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"triagebot/reading"
)

// Figures as they come out of a hurried hand, a voice input or another tongue,
// where the unit asked for settles what is meant.
func TestFiguresThatNeedTheQuestion(t *testing.T) {
	for _, c := range []struct{ unit, text, want string }{
		{"V", "5️⃣4️⃣", "54"}, {"V", "4 . 8", "4.8"}, {"V", "62 , 5", "62.5"}, {"V", "6 2 . 5", "62.5"}, {"V", "4;85", "4.85"}, {"V", "0. 85", "0.85"}, {"V", "l.56", "1.56"},
		{"V", "3:85", "3.85"}, {"V", "at 10:30", ""}, {"Ω", "3:85", ""},
		{"V", "three ninety-two", "3.92"}, {"Ω", "three ninety", "390"}, {"V", "one fifty millivolts", "0.15V"}, {"V", "fifty sixty", "50 60"}, {"V", "sixty one four", "61.4"},
		{"V", "sixty volt point eight", "60.8V"}, {"V", "54 volts 2", "54.2V"}, {"V", "54 volts 13 cells", "54V"}, {"V", "hundred and fifty millivolts", "0.15V"},
		{"V", "quatre virgule deux", "4.2"}, {"", "quatre", ""}, {"V", "a couple of millivolts", "~0.002V"}, {"V", "thirty something millivolts", "~0.03V"},
		{"V", "61 with a minus in front", "-61"}, {"V", "neg 0.2", "-0.2"}, {"V", "seventy-something", "~70"}, {"V", "60+", "~60"},
		{"V", "fell from 61 to 40", "61 40"}, {"V", "fell from 61 to 60", "61 60"}, {"V", "4.1 sometimes 4.3", "~4.2[4.1..4.3]"}, {"V", "it is 4.1, could be 4.3", "~4.2[4.1..4.3]"},
		{"V", "1580 on the screen with mV next to it", "1.58V"}, {"V", "it is 850 and the sign says mV", "0.85V"}, {"Ω", "4.7, in kilo ohms", "4700Ω"}, {"V", "set to mV, shows 850", "0.85V"},
		{"V", "0.4 volts, before it was in mV", "0.4V"}, {"V", "4.9 on the 20 V range", "4.9 20V"},
	} {
		require.Equal(t, c.want, show(reading.FindFor(c.text, c.unit)), "%q", c.text)
	}
}
