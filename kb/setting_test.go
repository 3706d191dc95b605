package kb

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestMeterSettingNamesUnits(t *testing.T) {
	for meter, want := range map[string][]string{
		"DC volts": {"V"},
		"DC volts, 20 V range, red lead in the V jack": {"V"},
		"DC millivolts, 200 mV range":                  {"V"},
		"ohms, lowest range, leads zeroed":             {"Ω"},
		"ohms, red lead in the V jack":                 {"Ω"},
		"resistance, 20 kΩ range or auto":              {"Ω"},
		"diode test, red lead in the V jack":           {"V"},
		"DC amps, clamp":                               {"A"},
		"DC millivolts, clamp of 10 mV for each amp":   {"V", "A"},
		"thermometer":                                  {"°C"},
		"frequency, or duty in %":                      {"Hz", "%"},
		"as set by the workshop":                       nil,
		"":                                             nil,
	} {
		assert.Equal(t, want, MeterSetting(meter).Units, meter)
	}
}

func TestUnitOf(t *testing.T) {
	for word, want := range map[string]float64{"V": 1, "mV": 1e-3, "kΩ": 1e3, "MΩ": 1e6, "mΩ": 1e-3, "µA": 1e-6, "kHz": 1e3, "millivolts": 1e-3, "kohm": 1e3} {
		_, factor := unitOf(word)
		assert.InDelta(t, want, factor, 1e-12, word)
	}
	for _, word := range []string{"range", "auto", "lowest", "m", "milli", "DC", "test", "mark", "multi"} {
		unit, _ := unitOf(word)
		assert.Empty(t, unit, word)
	}
}

func TestMeterSettingNamesTheRange(t *testing.T) {
	assert.Equal(t, Setting{[]string{"V"}, 2, "V"}, MeterSetting("DC millivolts, 2000 mV range, red lead in the V jack"))
	assert.Equal(t, Setting{[]string{"Ω"}, 20000, "Ω"}, MeterSetting("resistance, 20 kΩ range"))
	assert.Zero(t, MeterSetting("DC volts, 20 V range or auto").Range)
	assert.Zero(t, MeterSetting("DC volts").Range)
}
