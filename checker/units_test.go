package checker

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestPlainReadings(t *testing.T) {
	for limit, want := range map[string][]string{
		"4.5":                              nil,
		"0.9 * full":                       nil,
		"0.16 * reading('throttle-5v', 5)": {"throttle-5v"},
		`max(1, reading("a", 2)) + (reading('b', 3))`:          {"a", "b"},
		"table('ntc-10k', reading('air', 20))":                 nil,
		"table('ntc-10k', 20) * reading('ref', 1)":             {"ref"},
		"10 * exp(3977 * (1 / (reading('air', 20) + 273.15)))": nil,
		"reading(":           nil,
		")) reading('a', 1)": {"a"},
	} {
		assert.Equal(t, want, plainReadings(limit), limit)
	}
}

func TestOneUnit(t *testing.T) {
	units := map[string]string{"nominal": "V", "full": "V", "draw": "A"}
	for expr, want := range map[string]string{
		"1.15 * nominal":               "V",
		"max(full, 2 * nominal)":       "V",
		"nominal / 3.6":                "",
		"nominal * draw":               "",
		"table('copper', draw)":        "",
		"5":                            "",
		"nominal * reading('drop', 1)": "",
	} {
		got, ok := oneUnit(expr, units)
		assert.Equal(t, want != "", ok, expr)
		if ok {
			assert.Equal(t, want, got, expr)
		}
	}
}
