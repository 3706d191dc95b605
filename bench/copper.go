package bench

import (
	"fmt"
	"slices"
)

// ohmPerKm is the largest resistance at 20 °C of flexible copper, class 5,
// plain, by cross-section in mm²: IEC 60228.
var ohmPerKm = map[float64]float64{
	0.5: 39.0, 0.75: 26.0, 1: 19.5, 1.5: 13.3, 2.5: 7.98,
	4: 4.95, 6: 3.30, 10: 1.91, 16: 1.21, 25: 0.780,
}

// copper is the resistance of a wire at a temperature in °C. The factor for
// the temperature is that of IEC 60228 annex: 1 + 0.004 per kelvin off 20 °C.
func copper(mm2, metres, celsius float64) (float64, error) {
	per, ok := ohmPerKm[mm2]
	if !ok {
		sizes := make([]float64, 0, len(ohmPerKm))
		for s := range ohmPerKm {
			sizes = append(sizes, s)
		}
		slices.Sort(sizes)
		return 0, fmt.Errorf("finding the resistance of a wire of %g mm²: no such size, use one of %v", mm2, sizes)
	}
	return per * metres / 1000 * (1 + 0.004*(celsius-20)), nil
}
