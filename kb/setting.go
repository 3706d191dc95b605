package kb

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// unitWords are the words for a unit in a meter's setting. They are those of
// the switch of any hand meter, of no trade.
var unitWords = map[string][]string{
	"V":  {"v", "volt", "volts", "voltage", "vdc", "vac", "dcv", "acv", "diode"},
	"A":  {"a", "amp", "amps", "ampere", "amperes", "current", "adc", "aac", "dca", "aca"},
	"Ω":  {"ω", "ohm", "ohms", "resistance", "continuity", "buzzer"},
	"°C": {"c", "°c", "degc", "celsius", "temperature", "thermometer", "thermocouple"},
	"Hz": {"hz", "hertz", "frequency"},
	"%":  {"%", "percent", "duty", "humidity"},
}

// prefixes of units, as they stand on a meter. M is mega there, m is milli.
var prefixes = []struct {
	name   string
	factor float64
}{{"milli", 1e-3}, {"micro", 1e-6}, {"kilo", 1e3}, {"mega", 1e6}, {"µ", 1e-6}, {"μ", 1e-6}, {"u", 1e-6}, {"m", 1e-3}, {"k", 1e3}, {"M", 1e6}}

var (
	settingWord  = regexp.MustCompile(`[\p{L}°%]+`)
	leadClause   = regexp.MustCompile(`(?i)\b(jacks?|sockets?|leads?|probes?|inputs?|terminals?)\b`)
	settingRange = regexp.MustCompile(`([0-9]+(?:\.[0-9]+)?)\s*([\p{L}°%]+)\s+range`)
)

// unitOf reads a word for a unit: V and 1 of "volts", V and 0.001 of "mV".
func unitOf(word string) (unit string, factor float64) {
	lower := strings.ToLower(word)
	for _, u := range Units {
		if slices.Contains(unitWords[u], lower) {
			return u, 1
		}
	}
	for _, p := range prefixes {
		rest, ok := strings.CutPrefix(word, p.name)
		if !ok || rest == "" || rest == strings.ToLower(rest) && len(p.name) <= 2 && !strings.HasPrefix(rest, "ohm") && rest != "hz" {
			continue // "multi" and "mark" are words of their own
		}
		for _, u := range Units[:5] {
			if u != "°C" && slices.Contains(unitWords[u][:3], strings.ToLower(rest)) {
				return u, p.factor
			}
		}
	}
	return "", 0
}

// Setting is what the text of a check's meter says.
type Setting struct {
	Units []string // of what it then shows; none when the text does not tell
	Range float64  // the greatest reading in that range, in RangeUnit; 0 when none is named
	// RangeUnit is the unit of Range without its prefix.
	RangeUnit string
}

// MeterSetting reads the text of a check's meter. Which jack a lead goes to is
// no setting: the V jack serves ohms as well.
func MeterSetting(meter string) Setting {
	var s Setting
	for clause := range strings.SplitSeq(meter, ",") {
		if leadClause.MatchString(clause) {
			continue
		}
		for _, w := range settingWord.FindAllString(clause, -1) {
			if u, _ := unitOf(w); u != "" && !slices.Contains(s.Units, u) {
				s.Units = append(s.Units, u)
			}
		}
	}
	if m := settingRange.FindStringSubmatch(meter); m != nil && !strings.Contains(meter, "auto") {
		if most, err := strconv.ParseFloat(m[1], 64); err == nil {
			unit, factor := unitOf(m[2])
			s.Range, s.RangeUnit = most*factor, unit
		}
	}
	return s
}

// setting reports a check whose unit is not what its meter is set to. It gives
// the unit that cautions are due for: what the hand will really measure.
func (l *linker) setting(c *Check) string {
	shown := MeterSetting(c.Meter).Units
	if c.Unit == "" || len(shown) == 0 || slices.Contains(shown, c.Unit) {
		return c.Unit
	}
	l.out.error(l.at(c, "unit"), "meter", fmt.Sprintf("give unit: %s, or set the meter for %s", shown[0], c.Unit),
		"check %q reads in %s, but its meter is set to %q, which shows %s", c.ID, c.Unit, c.Meter, strings.Join(shown, " or "))
	return shown[0]
}
