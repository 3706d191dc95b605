package web

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestAmounts(t *testing.T) {
	inf := math.Inf(1)
	for _, x := range []struct {
		from, to float64
		unit     string
		want     string
	}{
		{0.4, 0.8, "V", "0.4 to 0.8 V"}, {-0.15, 0.4, "V", "-0.15 to 0.4 V"}, {1e5, 1e6, "Ω", "100 kΩ to 1 MΩ"}, {1e6, inf, "Ω", "1 MΩ and above"},
		{-inf, 2, "A", "below 2 A"}, {-inf, inf, "%", "anything"}, {70.094, 100, "V", "70.094 to 100 V"}, {1.0 / 3, 1200, "Hz", "0.333 to 1200 Hz"},
	} {
		assert.Equal(t, x.want, between(x.from, x.to, x.unit))
	}
}

// Places go up with figures and stay on the axis; words on it do not meet.
func TestAxis(t *testing.T) {
	for _, unit := range []string{"V", "Ω"} {
		edges := []float64{-0.5, 0, 0.4, 0.8, 1.1, 100, 1e5, 1e6, math.Inf(1), math.Inf(-1)}
		a := axisOver(edges, unit)
		last := -1.0
		for _, x := range []float64{math.Inf(-1), -0.5, 0, 0.4, 0.8, 1.1, 100, 1e5, 1e6, math.Inf(1)} {
			p := a.place(x)
			assert.True(t, p >= last && p >= 0 && p <= scaleWide, "%g %s is at %g", x, unit, p)
			last = p
		}
		ticks := a.ticks(edges, unit)
		assert.NotEmpty(t, ticks)
		for i, x := range ticks {
			for _, y := range ticks[:i] {
				assert.Greater(t, math.Abs(x.X-y.X), 40.0, "%s and %s", x.Says, y.Says)
			}
		}
	}
	assert.Equal(t, axis{from: 0, to: 1}, axisOver([]float64{math.Inf(1)}, "V"))
	assert.NotPanics(t, func() { axisOver([]float64{5, 5}, "V").place(5) })
}

func TestWayBack(t *testing.T) {
	for to, want := range map[string]string{
		"/cases": "/cases", "/cases?after=3": "/cases?after=3", "": "/", "cases": "/", "//x": "/", `/\x`: "/", "https://x/": "/", "/a\nb": "/", "javascript:x": "/",
	} {
		assert.Equal(t, want, inside(to), "%q", to)
	}
}

func TestPlain(t *testing.T) {
	for in, want := range map[string]string{
		"a\x00b\u202ec\u2066d\u200be": "abcde", "  one\ntwo\tthree ": "one two three", "\xff\xfe": "", "öäü 5 Ω": "öäü 5 Ω", "123456": "12345…",
	} {
		most := 40
		if in == "123456" {
			most = 5
		}
		assert.Equal(t, want, plain(in, most), "%q", in)
	}
}

func TestPercentAndAgo(t *testing.T) {
	for p, want := range map[float64]string{0: "0 %", 0.001: "below 1 %", 0.5: "50 %", 0.994: "over 99 %", 1: "100 %"} {
		assert.Equal(t, want, percent(p))
	}
}
