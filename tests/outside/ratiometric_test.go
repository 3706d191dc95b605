package outside_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/rules"
)

// The output of a linear Hall sensor follows its supply: at 5.25 V rest and
// sensitivity are 5 % above those at 5 V (TI DRV5055-Q1, 6.3.4); at 5.5 V the
// rest of 2.5 V has become 2.75 V (Allegro application note 27702A). The
// windows of the throttle's signal must follow as well.
func TestThrottleFollowsItsSupply(t *testing.T) {
	for _, id := range []string{"throttle-rest", "throttle-full"} {
		good := window(t, check(t, id), "good")
		limits := func(supply float64) (lo, hi float64) {
			s := scope(t, builtKits(t)[0]).With(map[string]rules.Known{"throttle-5v": {Value: supply}})
			return number(t, s, good.From), number(t, s, good.To)
		}
		lo, hi := limits(5)
		for supply, factor := range map[float64]float64{5.25: 1.05, 5.5: 2.75 / 2.5} {
			from, to := limits(supply)
			assert.InDelta(t, lo*factor, from, 1e-9, "%s at %g V", id, supply)
			assert.InDelta(t, hi*factor, to, 1e-9, "%s at %g V", id, supply)
		}
	}
}

// Such an output lies between ground and supply (Honeywell SS490, "rail to
// rail"): more than the supply is no reading of a throttle.
func TestNoSignalAboveTheSupply(t *testing.T) {
	for _, id := range []string{"throttle-rest", "throttle-full"} {
		s := scope(t, builtKits(t)[0]).With(map[string]rules.Known{"throttle-5v": {Value: 5.0}})
		for value, odd := range map[float64]bool{4.9: false, 5.7: true, math.Inf(1): true} {
			j, err := s.Judge(check(t, id), rules.Reading{Value: value, Unit: "V", Decimals: 1})
			require.NoError(t, err)
			assert.Equal(t, odd, j.Odd, "%s at %g V", id, value)
			if odd {
				assert.NotEmpty(t, j.OddReason, "%s at %g V", id, value)
			}
		}
	}
}
