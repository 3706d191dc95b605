package search

// sure turns the score of a finding that stands into how often such a finding
// was right. The points were read off the reliability table of messages that no
// rule was made from (tests/language, the held half of dev2); between them it is
// a straight line, so that a surer finding stays the surer one.
var sure = [][2]float64{{0, 0}, {0.60, 0.35}, {0.80, 0.55}, {0.90, 0.80}, {0.935, 0.85}, {0.966, 0.94}, {1, 0.97}}

// calibrated reads the curve.
func calibrated(score float64) float64 {
	for i := 1; i < len(sure); i++ {
		a, b := sure[i-1], sure[i]
		if score <= b[0] {
			return a[1] + (b[1]-a[1])*(score-a[0])/(b[0]-a[0])
		}
	}
	return sure[len(sure)-1][1]
}
