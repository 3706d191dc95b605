package checker

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"triagebot/kb"
	"triagebot/rules"
)

// meterWords are the words for a unit in a meter's setting. They are those of
// the switch of any hand meter, of no trade.
var meterWords = map[string][]string{
	"V":  {"v", "volt", "volts", "voltage", "vdc", "vac", "dcv", "acv", "diode"},
	"A":  {"a", "amp", "amps", "ampere", "amperes", "current", "adc", "aac", "dca", "aca"},
	"Ω":  {"ω", "ohm", "ohms", "resistance", "continuity", "buzzer"},
	"°C": {"c", "°c", "celsius", "temperature", "thermometer", "thermocouple"},
	"Hz": {"hz", "hertz", "frequency"},
	"%":  {"%", "percent", "duty", "humidity"},
}

var (
	meterWord  = regexp.MustCompile(`[\p{L}°%]+`)
	leadClause = regexp.MustCompile(`(?i)\b(jack|jacks|socket|sockets|lead|leads|probe|probes|input|terminal)\b`)
	meterRange = regexp.MustCompile(`(?i)([0-9]+(?:\.[0-9]+)?)\s*([\p{L}°%]+)\s+range`)
)

// prefixes of units, as they stand on a meter. M is mega there, m is milli.
var prefixes = map[string]float64{"µ": 1e-6, "μ": 1e-6, "u": 1e-6, "m": 1e-3, "k": 1e3, "M": 1e6}

// unitOf reads a word of a meter's setting: V of "volts", V and 0.001 of "mV".
func unitOf(word string) (unit string, factor float64) {
	for _, u := range kb.Units {
		if slices.Contains(meterWords[u], strings.ToLower(word)) {
			return u, 1
		}
	}
	for p, f := range map[string]float64{"milli": 1e-3, "micro": 1e-6, "kilo": 1e3, "mega": 1e6} {
		if rest, ok := strings.CutPrefix(strings.ToLower(word), p); ok {
			if unit, _ := unitOf(rest); unit != "" {
				return unit, f
			}
		}
	}
	for p, f := range prefixes {
		if rest, ok := strings.CutPrefix(word, p); ok {
			for _, u := range []string{"V", "A", "Ω", "Hz"} {
				if strings.EqualFold(rest, u) || u == "Ω" && (rest == "ohm" || rest == "ohms") {
					return u, f
				}
			}
		}
	}
	return "", 0
}

// setTo lists the units that a meter's setting names. Which jack a lead goes
// to is no setting: the V jack serves ohms as well.
func setTo(meter string) []string {
	var units []string
	for clause := range strings.SplitSeq(meter, ",") {
		if leadClause.MatchString(clause) {
			continue
		}
		for _, w := range meterWord.FindAllString(clause, -1) {
			if u, _ := unitOf(w); u != "" && !slices.Contains(units, u) {
				units = append(units, u)
			}
		}
	}
	return units
}

// setting reports a check whose unit is not what its meter is set to.
func (c *checker) setting(check *kb.Check) {
	units := setTo(check.Meter)
	if check.Unit == "" || len(units) == 0 || slices.Contains(units, check.Unit) {
		return
	}
	c.error(c.At("checks", check.ID, "unit"), "meter", fmt.Sprintf("set the meter for %s, or give unit: %s", check.Unit, units[0]),
		"check %q reads in %s, but its meter is set to %q, which shows %s", check.ID, check.Unit, check.Meter, strings.Join(units, " or "))
}

// beyondRange reports limits that the meter cannot show in the range it is set
// to: a hand that follows them reads OL, or the limits are in another unit.
// Ohms are passed over, where OL is a reading like any other.
func (c *checker) beyondRange(check *kb.Check, m *rules.Model, possible span) {
	at := meterRange.FindStringSubmatch(check.Meter)
	if at == nil || check.Unit == "Ω" || !possible.ok {
		return
	}
	unit, factor := unitOf(at[2])
	most, err := strconv.ParseFloat(at[1], 64)
	if err != nil || unit != check.Unit || strings.Contains(check.Meter, "auto") {
		return
	}
	if most *= factor; possible.to > most*1.0001 {
		c.onKit(m.Kit, kb.Diagnostic{
			Pos: c.At("checks", check.ID, "possible", "to"), Severity: kb.Warning, Check: "meter",
			Text: fmt.Sprintf("check %q may read up to %.6g %s, but its meter is set to a range of %s %s", check.ID, possible.to, check.Unit, at[1], at[2]),
			Cure: fmt.Sprintf("write the limits in %s, or set the meter to a greater range", check.Unit),
		})
	}
}
