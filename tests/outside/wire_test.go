package outside_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
	"triagebot/rules"
)

// IEC 60228, class 5, flexible plain copper: mm² and the largest Ω/km at 20 °C
// (mycableengineering.com, and 1 to 25 mm² uecables.com).
var classFive = [][2]float64{
	{0.5, 39.0}, {0.75, 26.0}, {1, 19.5}, {1.5, 13.3}, {2.5, 7.98}, {4, 4.95}, {6, 3.30}, {10, 1.91}, {16, 1.21}, {25, 0.780},
}

// Solid wire by the American gauge: mm² and Ω/km at 20 °C (daycounter.com,
// after ASTM B 258-02), gauges 8 to 20.
var americanGauge = [][2]float64{
	{8.36, 2.06}, {5.26, 3.28}, {3.31, 5.21}, {2.08, 8.29}, {1.31, 13.2}, {0.823, 21.0}, {0.518, 33.3},
}

// The resistivity of annealed copper, IEC 60028: 1/58 Ω·mm²/m.
const ohmKilometre = 1000.0 / 58

// kmOhm reads the knowledge base's wire table the way a limit does.
func kmOhm(t *testing.T, area float64) float64 {
	t.Helper()
	return number(t, scope(t, builtKits(t)[0]), fmt.Sprintf("table('copper-ohm-per-km', %g)", area))
}

func TestWireTable(t *testing.T) {
	for _, p := range classFive {
		assert.InDelta(t, p[1], kmOhm(t, p[0]), 1e-9, "%g mm²", p[0])
	}
}

// At the areas of American gauges the table must stand above solid wire by what
// class 5 stands above solid copper at its own areas (stranding and tolerance,
// 11 to 16 %), and by no more than 4 % beside, which the curve between two
// published points may add.
func TestWireTableBetweenItsPoints(t *testing.T) {
	least, most := math.Inf(1), 0.0
	for _, p := range classFive {
		ratio := p[1] / (ohmKilometre / p[0])
		least, most = min(least, ratio), max(most, ratio)
	}
	for _, p := range americanGauge {
		assert.InDelta(t, p[1], ohmKilometre/p[0], 0.005*p[1], "solid wire of %g mm²", p[0])
		ratio := kmOhm(t, p[0]) / p[1]
		assert.GreaterOrEqual(t, ratio, least, "%g mm²", p[0])
		assert.LessOrEqual(t, ratio, most*1.04, "%g mm²", p[0])
	}
}

// dropLimit is the upper limit of a good reading at the negative-drop check, for
// a bike with this wire.
func dropLimit(t *testing.T, current, metres, area float64) float64 {
	t.Helper()
	kit := &kb.Kit{ID: "bench", Figures: kb.Figures{
		{Name: "current", Expr: fmt.Sprint(current)},
		{Name: "feed_wire_m", Expr: fmt.Sprint(metres)},
		{Name: "feed_wire_mm2", Expr: fmt.Sprint(area)},
	}}
	s, err := rules.NewScope(bikes(t), kit, nil)
	require.NoError(t, err)
	return number(t, s, window(t, check(t, "negative-drop"), "good").To)
}

// Worked drops of 4 m of class 5 wire at 15 A, and of 2 m (computed from the
// published table). The limit never falls below 0.2 V.
func TestWorkedDrops(t *testing.T) {
	for _, c := range []struct{ area, drop float64 }{{1.5, 0.80}, {2.5, 0.479}, {4, 0.297}, {6, 0.198}} {
		assert.InDelta(t, max(0.2, c.drop), dropLimit(t, 15, 4, c.area), 0.002, "%g mm²", c.area)
		assert.InDelta(t, max(0.2, c.drop/2), dropLimit(t, 15, 2, c.area), 0.002, "2 m of %g mm²", c.area)
		// At twice the current every one of them is above the floor.
		assert.InDelta(t, 2*c.drop, dropLimit(t, 30, 4, c.area), 0.004, "30 A in %g mm²", c.area)
	}
}

// IEC 60228, annex: factors that bring a resistance at t °C back to 20 °C
// (uecables.com). They follow 250/(230+t); the 0.00393 of annealed copper
// gives 0.8945 at 50 °C.
var backToTwenty = [][2]float64{
	{5, 1.064}, {10, 1.042}, {15, 1.020}, {20, 1.000}, {25, 0.980}, {30, 0.962}, {35, 0.943}, {40, 0.926},
	{45, 0.909}, {50, 0.893}, {60, 0.862}, {70, 0.833}, {80, 0.806}, {90, 0.781}, {100, 0.758},
}

// The published factors, through the language of limits.
func TestTemperatureFactor(t *testing.T) {
	for _, p := range backToTwenty {
		kit := &kb.Kit{ID: "bench", Figures: kb.Figures{{Name: "t", Expr: fmt.Sprint(p[0])}, {Name: "factor", Expr: "250 / (230 + t)"}}}
		s, err := rules.NewScope(bikes(t), kit, nil)
		require.NoError(t, err)
		assert.InDelta(t, p[1], number(t, s, "factor"), 0.0006, "%g °C", p[0])
	}
}

// A sound wire that has warmed to 60 °C at the kit's full current, factor 0.862,
// must still read as good.
func TestWarmWireIsGood(t *testing.T) {
	for _, kit := range bikes(t).Kits {
		s := scope(t, kit)
		limit := number(t, s, window(t, check(t, "negative-drop"), "good").To)
		warm := number(t, s, "current * feed_wire_m * table('copper-ohm-per-km', feed_wire_mm2) / 1000") / 0.862
		assert.Less(t, warm, limit, kit.ID)
	}
}
