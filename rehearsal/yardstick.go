package rehearsal

import (
	"context"
	"math"
	"slices"

	"triagebot/rules"
)

// Yardsticks are what other ways to choose the next check come to on the same
// bikes. All of them are told the same symptoms, hold the same belief and are
// answered by the same owners, who misread nothing. The bot's way also chooses
// when to name a remedy, by expected cost; the others name one once it is as
// likely as the knowledge base wants it to be (cost.sure).
type Yardsticks struct {
	Bikes int   `json:"bikes"`
	Ways  []Way `json:"ways"`
	// Common are the bikes that every way brings to the right remedy.
	Common int `json:"common"`

	Bits     float64  `json:"bits"`      // doubt about the remedy once the complaint is known, on those same bikes
	BitsLeft float64  `json:"bits_left"` // when the bot's own way ends right
	Bound    float64  `json:"bound"`     // (Bits - BitsLeft) over the bits of the largest answer
	Families []Family `json:"families"`
}

// Way is one way to choose the next check.
type Way struct {
	Name            string `json:"name"`
	Right           Share  `json:"right"`
	Wrong           Share  `json:"wrong"`
	Questions       Spread `json:"questions"` // of those that ended right
	CommonQuestions Spread `json:"common_questions"`
	CommonMinutes   Spread `json:"common_minutes"`
}

// fixedOrder is the order in which a list of checks is worked down: power
// first, then display and inhibits, the supply line, the 5 V line, the throttle,
// brakes, motor, charging, lights.
var fixedOrder = []string{
	"meter-check", "look-power-path", "look-display", "look-lights", "look-inhibits", "look-plugs", "look-axle-cable", "look-charger-lamp", "look-charge-port",
	"pack-volts", "pack-volts-loaded", "pack-plug-drop", "isolator-drop", "feed-volts", "feed-volts-loaded", "negative-drop", "fuse-continuity",
	"key-volts-in", "key-volts-out", "display-supply-volts", "control-5v", "control-5v-unplugged", "throttle-5v",
	"throttle-5v-pack-minus", "throttle-rest", "throttle-full", "throttle-sweep", "signal-unplugged", "throttle-alone-rest", "throttle-alone-full",
	"signal-at-control", "brake-ohms-released", "brake-ohms-squeezed", "brake-unplugged-try", "stand-ohms", "hall-5v", "hall-toggle",
	"phase-same", "phase-to-case", "bridge-diode", "drag-unplugged", "motor-temp-ohms", "listen-motor", "move-wires-try", "joints-warm-try", "free-speed-try", "wheel-free", "drag-feel", "charger-volts",
	"charge-port-volts", "converter-in-volts", "converter-out-volts", "lights-fuse-continuity", "lights-volts", "lights-volts-pack-minus",
	"pedal-toggle", "speed-toggle", "known-good-throttle-try", "known-good-display-try", "look-chain", "look-tyre", "look-magnets",
	"charge-fuse-continuity", "bulb-try", "mains-try", "cool-try", "sag-try", "settings-look", "drain-wait",
}

// chooser gives the next step of a hunt.
type chooser func(h *hunt) rules.Choice

var ways = []struct {
	name string
	next chooser
}{
	{"the bot's choice", func(h *hunt) rules.Choice { return h.belief.Next(h.situation) }},
	{"information gain", func(h *hunt) rules.Choice { return h.byGain() }},
	{"fixed order", func(h *hunt) rules.Choice { return h.byOrder() }},
}

// Measure lets every way hunt on the bikes of the single faults among the
// cases, so many at a time, and solves the small families.
func (r *Rehearsal) Measure(ctx context.Context, cases []Case, workers int, done func(n int)) (*Yardsticks, error) {
	var single []Case
	for _, c := range cases {
		if c.Sort == Single && c.Name() != meterMisused {
			single = append(single, c)
		}
	}
	all, err := each(ctx, single, workers, done, r.hunts)
	if err != nil {
		return nil, err
	}
	y := &Yardsticks{}
	kept := slices.DeleteFunc(all, func(h []huntEnd) bool { return h == nil })
	y.Bikes = len(kept)
	common := func(h []huntEnd) bool {
		return !slices.ContainsFunc(h, func(e huntEnd) bool { return e.outcome != Right })
	}
	for i, w := range ways {
		way := Way{Name: w.name}
		right, wrong := 0, 0
		var q, cq, cm []float64
		for _, h := range kept {
			switch h[i].outcome {
			case Right:
				right++
				q = append(q, float64(h[i].questions))
				if i == 0 {
					y.Bits += h[i].bits
					y.BitsLeft += h[i].left
				}
			case Wrong:
				wrong++
			}
			if common(h) {
				cq, cm = append(cq, float64(h[i].questions)), append(cm, h[i].minutes)
			}
		}
		if i == 0 && right > 0 {
			y.Bits /= float64(right)
			y.BitsLeft /= float64(right)
		}
		y.Common = len(cq)
		way.Right, way.Wrong = shareOf(right, len(kept)), shareOf(wrong, len(kept))
		way.Questions, way.CommonQuestions, way.CommonMinutes = spreadOf(q), spreadOf(cq), spreadOf(cm)
		y.Ways = append(y.Ways, way)
	}
	y.Bound = max(0, (y.Bits-y.BitsLeft)/math.Log2(float64(r.mostOutcomes())))
	y.Families, err = r.families(ctx, cases)
	return y, err
}

// mostOutcomes is the size of the largest answer: no question tells more bits
// than its logarithm.
func (r *Rehearsal) mostOutcomes() int {
	most := 2
	for _, c := range r.kb.Checks {
		most = max(most, len(c.Outcomes()))
	}
	return most
}

// huntEnd is what one way came to on one bike.
type huntEnd struct {
	outcome    Outcome
	questions  int
	minutes    float64
	bits, left float64
}

// hunts lets every way hunt on the bike of a case; nil for a fault that does
// not show.
func (r *Rehearsal) hunts(c Case) ([]huntEnd, error) {
	var out []huntEnd
	for _, w := range ways {
		h, err := r.newHunt(c)
		if err != nil || h == nil {
			return nil, err
		}
		end, err := h.run(w.next)
		if err != nil {
			return nil, err
		}
		out = append(out, end)
	}
	return out, nil
}
