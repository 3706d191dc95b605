package outside_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
	"triagebot/rules"
)

// chemistry is what is published of one kind of cell, in volts.
type chemistry struct {
	full float64      // charge limit
	cut  float64      // discharge cut-off
	rest [][2]float64 // measured at rest: state of charge, volts
	flat float64      // how far from half full the nominal voltage may be on this curve
}

// Charge limits and cut-offs: chart of redway-tech.com (?p=112729). At rest: S.
// Sunil, K. Pattipati, B. Balasingam, IEEE Trans. Instrum. Meas., 2025, as in
// soorajsunil/Piecewise-Battery-OCV; NMC/NCA 21700 and LFP 18650.
var (
	nmc = chemistry{full: 4.20, cut: 3.0, flat: 0.1,
		rest: [][2]float64{{0, 2.5061}, {0.0151, 2.8981}, {0.0452, 3.1461}, {0.0955, 3.3231}, {0.1508, 3.4218}, {0.2915, 3.5737}, {0.4573, 3.7017}, {0.8342, 4.0637}, {0.9497, 4.1009}, {1, 4.1932}}}
	lfp = chemistry{full: 3.65, cut: 2.5, flat: 0.45,
		rest: [][2]float64{{0, 2.0102}, {0.0033, 2.4177}, {0.0117, 2.7405}, {0.0267, 2.9299}, {0.0534, 3.0872}, {0.0885, 3.1942}, {0.2972, 3.2772}, {0.9833, 3.3511}, {0.9950, 3.4180}, {1, 3.5981}}}
)

func chemistryOf(t *testing.T, kit *kb.Kit) chemistry {
	t.Helper()
	switch {
	case strings.Contains(kit.Summary, "LFP"):
		return lfp
	case strings.Contains(kit.Summary, "NMC"):
		return nmc
	}
	require.Fail(t, "the summary names no chemistry", "%s: %s", kit.ID, kit.Summary)
	return chemistry{}
}

// charge is the state of charge of a cell at rest.
func (c chemistry) charge(volts float64) float64 {
	for i := 1; i < len(c.rest); i++ {
		a, b := c.rest[i-1], c.rest[i]
		if volts <= b[1] {
			return a[0] + (b[0]-a[0])*(volts-a[1])/(b[1]-a[1])
		}
	}
	return 1
}

func TestKitsByTheirCells(t *testing.T) {
	for _, kit := range builtKits(t) {
		cell, s := chemistryOf(t, kit), scope(t, kit)
		series := number(t, s, "series")
		full, nominal, empty := number(t, s, "full")/series, number(t, s, "nominal")/series, number(t, s, "empty")/series

		assert.InDelta(t, cell.full, full, 0.005, "%s: full", kit.ID)
		assert.GreaterOrEqual(t, empty, cell.cut, "%s: empty is not below the cut-off of the chart", kit.ID)

		// At rest a pack at its empty voltage must be nearly empty by the measured
		// curves, and one at its nominal voltage about half full or, on the flat
		// curve of LFP, neither full nor empty.
		assert.Less(t, cell.charge(empty), 0.05, "%s: charge left at the empty voltage", kit.ID)
		assert.InDelta(t, 0.5, cell.charge(nominal), cell.flat, "%s: charge at the nominal voltage", kit.ID)
	}
}

// A charge voltage of 4.20 V a cell is kept to ±50 mV (Battery University BU-409,
// and the data sheet of a common 18650 cell).
const cellTolerance = 0.05

func TestChargerWithinCellTolerance(t *testing.T) {
	good := window(t, check(t, "charger-volts"), "good")
	for _, kit := range builtKits(t) {
		cell, s := chemistryOf(t, kit), scope(t, kit)
		series := number(t, s, "series")
		assert.GreaterOrEqual(t, number(t, s, good.From)/series, cell.full-cellTolerance, kit.ID)
		assert.LessOrEqual(t, number(t, s, good.To)/series, cell.full+cellTolerance, kit.ID)
	}
}

// A pack just charged within that tolerance is no sign of a wrong charger or
// kit: the reading may be too close to call, but not sure to be above full.
func TestFullPackWithinCellTolerance(t *testing.T) {
	c := check(t, "pack-volts")
	for _, kit := range builtKits(t) {
		cell, s := chemistryOf(t, kit), scope(t, kit)
		if cell.full != nmc.full {
			continue // no tolerance is published for the others
		}
		for _, volts := range []float64{cell.full, cell.full + cellTolerance} {
			j, err := s.Judge(c, rules.Reading{Value: volts * number(t, s, "series"), Unit: "V", Decimals: 1})
			require.NoError(t, err)
			assert.False(t, j.Odd, "%s at %g V a cell", kit.ID, volts)
			assert.False(t, j.Window == "high" && !j.Close, "%s at %g V a cell is judged above full: %+v", kit.ID, volts, j.Windows)
		}
	}
}
