package picture

import "triagebot/kb"

// checkText is the picture of a check in characters of one width: the lines
// that the talk shows as well, with a heading and the meter.
func checkText(k *kb.KB, kit *kb.Kit, c *kb.Check) []string {
	v := voice{k.Language}
	lines := append([]string{capital(c.Name) + " (" + kit.Name + ")", ""}, v.words().Text(kit, c)...)
	if caveat := v.words().Caveat(k, kit, c); caveat != "" {
		lines = append(lines, caveat)
	}
	if c.Meter != "" {
		lines = append(lines, meterSays(v, c))
	}
	return lines
}

func meterSays(v voice, c *kb.Check) string {
	says := stop(v.say("alt-meter", "meter", c.MeterSaid()))
	if c.Unit != "" {
		says += " " + stop(readIn(v, c.Meter, c.Unit))
	}
	return says
}
