package bench

// curve is a table with straight lines between its points.
type curve [][2]float64

// at reads the curve; outside it the end values hold.
func (c curve) at(x float64) float64 {
	if x <= c[0][0] {
		return c[0][1]
	}
	for i := 1; i < len(c); i++ {
		if x <= c[i][0] {
			a, b := c[i-1], c[i]
			return a[1] + (b[1]-a[1])*(x-a[0])/(b[0]-a[0])
		}
	}
	return c[len(c)-1][1]
}

// Open-circuit voltage of one cell by state of charge, measured at C/32:
// S. Sunil, K. Pattipati, B. Balasingam, "Piecewise linear approximation of
// battery OCV characteristics using dynamic programming", IEEE Trans.
// Instrum. Meas., 2025.
var (
	nmcVolts = curve{
		{0, 2.5061}, {.0151, 2.8981}, {.0452, 3.1461}, {.0955, 3.3231}, {.1508, 3.4218},
		{.2915, 3.5737}, {.4573, 3.7017}, {.8342, 4.0637}, {.9497, 4.1009}, {1, 4.1932},
	}
	lfpVolts = curve{
		{0, 2.0102}, {.0033, 2.4177}, {.0117, 2.7405}, {.0267, 2.9299}, {.0534, 3.0872},
		{.0885, 3.1942}, {.2972, 3.2772}, {.9833, 3.3511}, {.9950, 3.4180}, {1, 3.5981},
	}
)

// cell is a chemistry.
type cell struct {
	volts  curve
	full   float64 // charged to, V
	empty  float64 // the maker's end of discharge, V
	cutOff float64 // where a BMS opens, V
}

var (
	nmc = cell{nmcVolts, 4.20, 3.0, 2.75}
	lfp = cell{lfpVolts, 3.65, 2.8, 2.4}
)

// coldFactor is how much the inner resistance of a cell grows below 25 °C:
// about double at 0 °C, common practice of the trade.
func coldFactor(celsius float64) float64 {
	if celsius >= 25 {
		return 1
	}
	return 1 + (25-celsius)*0.04
}
