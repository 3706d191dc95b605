package picture

import (
	"triagebot/kb"
	"triagebot/probe"
)

// checkText is the picture of a check in characters of one width: the lines
// that the talk shows as well, with a heading and the meter.
func checkText(k *kb.KB, kit *kb.Kit, c *kb.Check) []string {
	lines := append([]string{capital(c.Name) + " (" + kit.Name + ")", ""}, probe.Text(kit, c)...)
	if caveat := probe.Caveat(k, kit, c); caveat != "" {
		lines = append(lines, caveat)
	}
	if c.Meter != "" {
		lines = append(lines, meterSays(c))
	}
	return lines
}

func meterSays(c *kb.Check) string {
	says := stop(say("alt-meter", "meter", c.Meter))
	if c.Unit != "" {
		says += " " + stop(readIn(c.Meter, c.Unit))
	}
	return says
}
