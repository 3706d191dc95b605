package bench

import "math"

// Motor temperature sensor: 10 kΩ NTC, B25/85 3977 K. Extended Steinhart-Hart
// coefficients of the data sheet, 1/T = A + B·L + C·L² + D·L³, L = ln(R/R25).
const (
	ntcA = 3.354016e-3
	ntcB = 2.569850e-4
	ntcC = 2.620131e-6
	ntcD = 6.383091e-8
	ntc0 = 10000.0
)

// thermistor is the sensor's resistance at a temperature in °C. The equation
// gives temperature from resistance and falls steadily with it, so halving
// the logarithm's range finds the resistance.
func thermistor(celsius float64) float64 {
	want := 1 / (celsius + 273.15)
	low, high := -8.0, 8.0
	for range 60 {
		l := (low + high) / 2
		if ntcA+ntcB*l+ntcC*l*l+ntcD*l*l*l < want {
			low = l
		} else {
			high = l
		}
	}
	return ntc0 * math.Exp((low+high)/2)
}
