package reading_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"triagebot/reading"
)

// show writes quantities as short as they can be compared: value and unit, then
// what is special: ~ approximate, [low..high] a range, OL.
func show(list []reading.Quantity) string {
	var out []string
	for _, q := range list {
		s := fmt.Sprintf("%g%s", q.Value, q.Unit)
		if q.Overload {
			s = "OL" + q.Unit
		}
		if q.Ranged() {
			s += fmt.Sprintf("[%g..%g]", q.Low, q.High)
		}
		if q.Approx {
			s = "~" + s
		}
		out = append(out, s)
	}
	return strings.Join(out, " ")
}

func TestFind(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		// digits
		{"4.2", "4.2"}, {"4.2v", "4.2V"}, {"4.2volts", "4.2V"}, {"4.2 Volts", "4.2V"}, {"4.2V.", "4.2V"}, {"is 4.2?", "4.2"},
		{".85", "0.85"}, {"5,02", "5.02"}, {"-0,03", "-0.03"}, {"−0.03 V", "-0.03V"}, {"1,234.5 V", "1234.5V"}, {"1.234,5 mV", "1.2345V"},
		{"1,200 ohms", "1200Ω"}, {"4,125 V", "4.125V"}, {"1'234 ohm", "1234Ω"}, {"4v2", "4.2V"}, {"4V2", "4.2V"}, {"1k2", "1200"}, {"4R7", "4.7Ω"},
		{"４．２Ｖ", "4.2V"}, {"½ volt", "0.5V"}, {"4½ volts", "4.5V"}, {"1/2 V", "0.5V"}, {"1 1/2 volts", "1.5V"},
		{"4.2e0 V", "4.2V"}, {"1e3 ohm", "1000Ω"}, {"+5.1V", "5.1V"}, {"4.20", "4.2"},
		// slips of the keyboard
		{"O.8", "0.8"}, {"5.O2", "5.02"}, {"1O.2 V", "10.2V"}, {"4 .2", "4.2"}, {"4. 2v", "4.2V"}, {"4..2", "4.2"}, {"4.2 vots", "4.2V"}, {"12 omhs", "12Ω"},
		// prefixes and units
		{"850 mV", "0.85V"}, {"850mv", "0.85V"}, {"850 MV", "0.85V"}, {"1.2k ohm", "1200Ω"}, {"1.2 kΩ", "1200Ω"}, {"1.2K", "1200"},
		{"2 mohm", "0.002Ω"}, {"2 Mohm", "2e+06Ω"}, {"2 MΩ", "2e+06Ω"}, {"2 mΩ", "0.002Ω"}, {"2 meg", "2e+06"}, {"10 meg ohms", "1e+07Ω"}, {"1.5 megohm", "1.5e+06Ω"},
		{"3 milli ohms", "0.003Ω"}, {"4 kilo ohms", "4000Ω"}, {"20 A", "20A"}, {"20 amps", "20A"}, {"300 mA", "0.3A"}, {"25c", "25°C"}, {"25 °C", "25°C"},
		{"20 degrees", "20°C"}, {"20 deg C", "20°C"}, {"50 Hz", "50Hz"}, {"1.2 kHz", "1200Hz"}, {"80%", "80%"}, {"80 per cent", "80%"}, {"12 V DC", "12V"}, {"12.6 vdc", "12.6V"},
		{"volts: 4.2", "4.2V"}, {"V=4.2", "4.2V"}, {"48-volt", "48V"},
		// words
		{"four point two", "4.2"}, {"forty one point eight volts", "41.8V"}, {"forty-one point eight volts", "41.8V"}, {"fifty two and a half", "52.5"},
		{"four and a quarter volts", "4.25V"}, {"half an ohm", "0.5Ω"}, {"three quarters of a volt", "0.75V"}, {"a volt and a half", "1.5V"}, {"four volts and a half", "4.5V"},
		{"eight hundred and fifty millivolts", "0.85V"}, {"twelve hundred ohms", "1200Ω"}, {"two thousand three hundred ohms", "2300Ω"},
		{"five hundred and twenty thousand ohms", "520000Ω"}, {"a hundred ohms", "100Ω"}, {"two million ohms", "2e+06Ω"}, {"1.2 thousand ohms", "1200Ω"},
		{"minus five", "-5"}, {"negative point two volts", "-0.2V"}, {"zero", "0"}, {"nought point eight", "0.8"}, {"oh point eight", "0.8"}, {"point oh three", "0.03"},
		{"four point oh five", "4.05"}, {"four point twenty five", "4.25"}, {"four dot two", "4.2"}, {"four comma two", "4.2"}, {"4 point 2", "4.2"}, {"4 point two five", "4.25"},
		{"four-point-two", "4.2"}, {"fourty two volts", "42V"}, {"FIFTY VOLTS", "50V"}, {"fifty percent", "50%"},
		{"five oh two volts", "~5.02V"}, {"fifty four six volts", "~54.6V"}, {"reads for point two", "~4.2"}, {"a volt", "~1V"},
		// vagueness
		{"about 4", "~4"}, {"nearly five", "~5"}, {"~4.2", "~4.2"}, {"≈ 4.2 V", "~4.2V"}, {"roughly fifty", "~50"}, {"4ish", "~4"}, {"4.2-ish", "~4.2"}, {"fourish volts", "~4V"},
		{"4 or so", "~4"}, {"just under 0.1", "~0.1"}, {"close to 4.2", "~4.2"}, {"less than 1 ohm", "~1Ω"}, {"4.2 give or take", "~4.2"},
		// ranges
		{"3.9-4.1", "4[3.9..4.1]"}, {"3.9 – 4.1 V", "4V[3.9..4.1]"}, {"between 3.9 and 4.1", "4[3.9..4.1]"}, {"drifting 3.8 to 4.0", "3.9[3.8..4]"},
		{"bouncing between 3 and 4 volts", "3.5V[3..4]"}, {"4.1 down to 3.9", "4[3.9..4.1]"}, {"850mV to 1.2 V", "1.025V[0.85..1.2]"}, {"3.9V-4.1V", "4V[3.9..4.1]"},
		{"4.1 or 4.2", "~4.15[4.1..4.2]"}, {"4.1 ± 0.1", "~4.1[4..4.2]"}, {"4.1 +/- 0.1 V", "~4.1V[4..4.2]"}, {"3.9..4.1", "4[3.9..4.1]"}, {"four to five volts", "4.5V[4..5]"},
		{"2-3 ohms", "2.5Ω[2..3]"}, {"0.02-0.03", "0.025[0.02..0.03]"}, {"-0.1 to 0.1", "0[-0.1..0.1]"},
		// several
		{"0.8 shut, 4.1 open", "0.8 4.1"}, {"0.8/4.1", "0.8 4.1"}, {"rest-0.8 full-4.1", "0.8 4.1"}, {"0,8 closed and 4,1 open", "0.8 4.1"}, {"4.2 4.3 4.2", "4.2 4.3 4.2"},
		{"0.8,4.1", "0.8 4.1"}, {"1) 0.8 2) 4.1", "0.8 4.1"}, {"1. 0.8", "0.8"}, {"I meant 4.1 not 1.4", "4.1 1.4"}, {"5 V line reads 4.9", "5V 4.9"}, {"rest - 0.8, full - 4.1", "0.8 4.1"},
		// overload
		{"OL", "OL"}, {"0L", "OL"}, {"O.L", "OL"}, {"0.L", "OL"}, {"it says OL", "OL"}, {"ol", "OL"}, {"OL ohms", "OLΩ"}, {"1 .", "OL"}, {"over limit", "OL"}, {"infinity", "OL"},
		{"∞", "OL"}, {"open line", "OL"}, {"OL released, 0.3 squeezed", "OL 0.3"}, {"good ol bike", ""},
		// places called minus and point
		{"red to plus, black to pack minus: 48.2", "48.2"}, {"against pack minus 48.2", "48.2"}, {"at test point 2", ""},
	} {
		require.Equal(t, c.want, show(reading.Find(c.text)), "%q", c.text)
	}
}

// What holds a number but no reading.
func TestNotQuantities(t *testing.T) {
	for _, text := range []string{
		"", "hello", "2 wires", "3 pin plug", "3-pin plug", "yarrow 72", "yarrow-72", "my sorrel 60 is dead", "step 2", "option 3", "number 4",
		"12/05/2024", "2024-05-12", "12.05.2024", "at 10:30", "10.30am", "5pm", "24/7", "five minutes ago", "2 weeks", "20 Ah", "500W", "25 km/h", "30 mph", "£20", "5 kg",
		"the red one", "no one knows", "one of them", "2 of them are loose", "all three are fine", "2x", "mk2", "user123", "A1", "#3", "1st", "2nd time", "half way", "half open",
		"1e400", "NaN", "inf", "192.168.1.1", "1.2.3", "07700 900123", "+44 7700 900123", "since 2021", strings.Repeat("9", 60), "...", "-", "o", "oh", "both brakes", "4 screws",
		"three phase wires", "quarter past four", "point", "minus",
	} {
		require.Empty(t, reading.Find(text), "%q", text)
	}
}

func TestDecimals(t *testing.T) {
	for text, want := range map[string]int{
		"4.98 V": 2, "4.980": 3, "5": 0, "850 mV": 3, "1.2 kΩ": 0, "half a volt": -1, "four point two": 1, "four": 0, "four point oh five": 2, "4v2": 1, "3.9 to 4.15": 2, "OL": -1, "1e3": -1,
	} {
		got := reading.Find(text)
		require.Len(t, got, 1, text)
		require.Equal(t, want, got[0].Decimals, text)
	}
}

func TestOffsetsAreBytesOfTheWords(t *testing.T) {
	text := "Größe ½ kaputt – signal −0,03 V, pack about fifty two and a half volts, OL"
	var words []string
	for _, q := range reading.Find(text) {
		words = append(words, text[q.Start:q.End])
	}
	require.Equal(t, []string{"−0,03 V", "fifty two and a half volts", "OL"}, words)
}

// The unit asked for settles what is ambiguous, and nothing else.
func TestFindFor(t *testing.T) {
	require.Equal(t, "5A", show(reading.FindFor("it draws 5 A at full", reading.Ampere)))
	require.Equal(t, "4.2", show(reading.FindFor("4.2", reading.Volt)), "a unit that was not said is not put in")
	for text, want := range map[string]string{
		"1,544": "1.544", "4,935": "4.935", "about 1,532": "~1.532", "it says 54,120": "54.12", "12,345": "12.345", "4,081 to 4,215": "4.148[4.081..4.215]", "1,540 mV": "1.54V", "1544": "1544",
	} {
		require.Equal(t, want, show(reading.FindFor(text, reading.Volt)), text)
	}
	require.Equal(t, "1234", show(reading.FindFor("1,234", reading.Ohm)), "no meter at hand shows three places of an ohm")
	require.Equal(t, "1234", show(reading.Find("1,234")), "without a question it may be anything")
}

// The work grows with the length of the text: eight times the text takes about
// eight times as long, where work that grows with the square would take 64
// times. A ratio within one run holds on a slow machine as well; on a busy one a
// pause may fall into either half, so the least disturbed of five is held to it.
func TestLongTexts(t *testing.T) {
	took := func(text string) float64 {
		begin := time.Now()
		reading.Find(text)
		return float64(time.Since(begin))
	}
	for _, piece := range []string{"9", "1.", "one ", "4.2 v ", "- ", "1,", "twenty-", "point ", "minus ", "a ", "0.1 to ", "½", "o.", "hundred and ", "1 2 3 "} {
		short := strings.Repeat(piece, 12_500/len(piece))
		long := strings.Repeat(short, 8)
		ratio := math.Inf(1)
		for try := 0; try < 5 && ratio >= 24; try++ {
			ratio = min(ratio, took(long)/took(short))
		}
		require.Less(t, ratio, 24.0, "%q", piece)
	}
}

func FuzzFind(f *testing.F) {
	for _, s := range []string{"4.2v", "about four point two volts", "0.8 shut, 4.1 open", "3.9-4.1", "OL", "1e400", "½ volt", "−0,03", "\xff4.2\xfe", "4v2", "1,234.5 V", "1 .", "five oh two volts", "4.1 ± 200%"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got := reading.Find(text)
		require.Equal(t, got, reading.Find(text), "not deterministic")
		end := 0
		for _, q := range got {
			require.False(t, q.Value-q.Value != 0 || q.Low-q.Low != 0 || q.High-q.High != 0, "not finite: %v", q)
			require.GreaterOrEqual(t, q.Start, end, "overlaps the one before")
			require.Greater(t, q.End, q.Start)
			require.LessOrEqual(t, q.End, len(text))
			require.LessOrEqual(t, q.Low, q.Value)
			require.LessOrEqual(t, q.Value, q.High)
			require.Contains(t, []string{"", "V", "A", "Ω", "°C", "Hz", "%"}, q.Unit)
			require.GreaterOrEqual(t, q.Decimals, -1)
			end = q.End
		}
		// Blanks around change nothing but the places.
		require.Equal(t, show(got), show(reading.Find(" "+text+" ")))
	})
}
