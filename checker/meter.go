package checker

import (
	"fmt"

	"triagebot/kb"
	"triagebot/rules"
)

// beyondRange reports limits that the meter cannot show in the range it is set
// to: a hand that follows them reads OL, or the limits are in another unit.
// Ohms are passed over, where OL is a reading like any other.
func (c *checker) beyondRange(check *kb.Check, m *rules.Model, possible span) {
	set := kb.MeterSetting(check.Meter)
	if !possible.ok || check.Unit == "Ω" || set.RangeUnit != check.Unit || set.Range == 0 || possible.to <= set.Range*1.0001 {
		return
	}
	c.onKit(m.Kit, kb.Diagnostic{
		Pos: c.At("checks", check.ID, "possible", "to"), Severity: kb.Warning, Check: "meter",
		Text: fmt.Sprintf("check %q may read up to %.6g %s, but the range of its meter, %q, ends at %.6g %s", check.ID, possible.to, check.Unit, check.Meter, set.Range, check.Unit),
		Cure: fmt.Sprintf("write the limits in %s, or set the meter to a greater range", check.Unit),
	})
}
