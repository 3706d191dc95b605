package checker

import (
	"fmt"
	"slices"
	"strings"

	"triagebot/kb"
)

func (c *checker) error(pos kb.Pos, check, cure, text string, args ...any) {
	c.found = append(c.found, kb.Diagnostic{Pos: pos, Severity: kb.Error, Check: check, Text: fmt.Sprintf(text, args...), Cure: cure})
}

func (c *checker) warn(pos kb.Pos, check, cure, text string, args ...any) {
	c.found = append(c.found, kb.Diagnostic{Pos: pos, Severity: kb.Warning, Check: check, Text: fmt.Sprintf(text, args...), Cure: cure})
}

// onKit notes a fault of one kit. settle reports it once for all its kits.
func (c *checker) onKit(kit *kb.Kit, d kb.Diagnostic) {
	kits, seen := c.byKit[d]
	if !seen {
		kits = new([]string)
		c.byKit[d] = kits
		c.order = append(c.order, d)
	}
	if !slices.Contains(*kits, kit.ID) {
		*kits = append(*kits, kit.ID)
	}
}

func (c *checker) settle() {
	for _, d := range c.order {
		if kits := *c.byKit[d]; len(kits) == len(c.Kits) && len(kits) > 1 {
			d.Text += " (on every kit)"
		} else {
			d.Text += " (on " + strings.Join(kits, ", ") + ")"
		}
		c.found = append(c.found, d)
	}
}
