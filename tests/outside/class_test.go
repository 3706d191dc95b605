package outside_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
	"triagebot/rules"
)

// classB says whether the caution of voltage class B is due on a bike.
func classB(t *testing.T, s *rules.Scope) bool {
	t.Helper()
	c := bikes(t).Caution("class-b")
	require.NotNil(t, c)
	require.NotEmpty(t, c.Due)
	for _, d := range c.Due {
		require.NotEmpty(t, d.When, "a condition is what ties the caution to the kit")
		holds, err := s.Holds(d.When, 0)
		require.NoError(t, err)
		if holds {
			return true
		}
	}
	return false
}

// ISO 6469-3: class B begins above 60 V DC (limits as in ISO 6469-4:2015, 5.2.2).
// Pack limits are series cells times the published charge voltage of a cell.
func TestClassBByKit(t *testing.T) {
	for _, c := range []struct {
		kit    string
		cells  int
		volts  float64 // of a full cell
		classB bool
	}{
		{"teasel-48", 13, 4.20, false}, // 54.6 V
		{"sorrel-60", 19, 3.65, true},  // 69.35 V
		{"yarrow-72", 20, 4.20, true},  // 84.0 V
	} {
		kit := bikes(t).Kit(c.kit)
		require.NotNil(t, kit, c.kit)
		s := scope(t, kit)
		assert.InDelta(t, float64(c.cells)*c.volts, number(t, s, "full"), 0.051, "%s, printed to 0.1 V", c.kit)
		assert.Equal(t, c.classB, float64(c.cells)*c.volts > 60, c.kit)
		assert.Equal(t, c.classB, classB(t, s), c.kit)
	}
	for _, kit := range builtKits(t) {
		s := scope(t, kit)
		assert.Equal(t, number(t, s, "full") > 60, classB(t, s), kit.ID)
	}
}

func TestClassBBorder(t *testing.T) {
	for full, due := range map[float64]bool{59.9: false, 60: false, 60.1: true} {
		kit := &kb.Kit{ID: "bench", Figures: kb.Figures{{Name: "full", Expr: fmt.Sprint(full)}}}
		s, err := rules.NewScope(bikes(t), kit, nil)
		require.NoError(t, err)
		assert.Equal(t, due, classB(t, s), "%g V", full)
	}
}

// On the generic kit only the label is known. Of the packs in use, each whose
// full voltage is above 60 V must bring the caution; labels are series cells
// times 3.7 V, or 3.2 V for LFP (common practice, no source).
func TestClassBByLabel(t *testing.T) {
	kit := bikes(t).Kit(bikes(t).About.Generic)
	for _, c := range []struct {
		label, full float64
	}{
		{36, 42.0}, {48, 54.6}, {51.8, 58.8}, {59.2, 67.2}, {62.9, 71.4}, {74, 84.0}, // Li-ion, 10 to 20 cells
		{38.4, 43.8}, {51.2, 58.4}, {64, 73.0}, {76.8, 87.6}, // LFP, 12 to 24 cells
	} {
		s, err := rules.NewScope(bikes(t), kit, map[string]float64{"nominal": c.label})
		require.NoError(t, err)
		assert.GreaterOrEqual(t, number(t, s, "full"), c.full-0.05, "a full pack of label %g V is not above what the kit may have", c.label)
		if c.full > 60 {
			assert.True(t, classB(t, s), "label %g V", c.label)
		}
	}
	for _, label := range []float64{24, 36, 48} {
		s, err := rules.NewScope(bikes(t), kit, map[string]float64{"nominal": label})
		require.NoError(t, err)
		assert.False(t, classB(t, s), "label %g V", label)
	}
}

// Every reading that may come out above 60 V on some kit carries the caution.
func TestHighReadingsCarryClassB(t *testing.T) {
	high := 0
	for _, c := range bikes(t).Checks {
		if c.Unit != "V" || len(c.Windows) == 0 {
			continue
		}
		for _, kit := range bikes(t).Kits {
			if kit.Has(c.Parts) && number(t, scope(t, kit), c.Windows[len(c.Windows)-1].To) > 60 {
				high++
				assert.Contains(t, c.Cautions, "class-b", "%s on %s", c.ID, kit.ID)
			}
		}
	}
	assert.NotZero(t, high)
}
