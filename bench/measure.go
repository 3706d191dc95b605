package bench

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Checks are the ids of the checks that can be done on this bike: those with
// the meter, and those of Look and Try.
func (b *Bike) Checks() []string {
	var out []string
	for id := range measures {
		if b.offers(id) {
			out = append(out, id)
		}
	}
	for id := range looks {
		if b.offers(id) {
			out = append(out, id)
		}
	}
	for id := range tries {
		if b.offers(id) {
			out = append(out, id)
		}
	}
	slices.Sort(out)
	return out
}

// needs are the parts without which a check cannot be done.
var needs = map[string]string{
	"key-volts-in": "key-switch", "key-volts-out": "key-switch", "stand-ohms": "stand-switch",
	"motor-temp-ohms": "motor-temp-sensor", "pedal-toggle": "pedal-sensor", "speed-toggle": "speed-sensor",
	"look-chain": "chain", "look-magnets": "speed-sensor", "look-axle-cable": "hub-motor", "settings-look": "settings-screen",
}

func (b *Bike) offers(check string) bool {
	part := needs[check]
	return part == "" || b.build.has(part)
}

// Measure does a check with the meter. Every reading differs a little from
// the last one, as far as such a meter does. It is an error to ask for a
// check that is no measurement or that this kit has no place for.
func (b *Bike) Measure(check string) (Reading, error) {
	m, ok := measures[check]
	if !ok {
		return Reading{}, unknownCheck("measuring", check, measures)
	}
	if !b.offers(check) {
		return Reading{}, fmt.Errorf("measuring %q: a %s has no %s", check, b.build.id, needs[check])
	}
	truth, err := m.take(b)
	if err != nil {
		return Reading{}, fmt.Errorf("measuring %q: %w", check, err)
	}
	d := b.roll("reading " + check + " " + strconv.Itoa(b.asked[check]))
	b.asked[check]++
	if b.works.regulatorSwings > 0 && slices.Contains(onFive, check) {
		truth += b.works.regulatorSwings / 2 * d.between(-1, 1) * min(1, truth/5)
	}
	factor := b.works.meter.factor
	if math.IsInf(truth, 1) || (factor == 0 && m.scale.active) {
		return Reading{Unit: m.scale.unit, Overload: true}, nil
	}
	own := b.roll("meter " + m.scale.unit)
	gain, offset := own.between(-1, 1), own.between(-1, 1)
	if m.zeroed {
		offset = 0
	}
	return m.scale.shown(truth*factor, gain, offset, d.between(-1, 1)), nil
}

// onFive are the checks that read the 5 V supply or what follows it.
var onFive = []string{"control-5v", "throttle-5v", "throttle-5v-pack-minus", "throttle-rest", "throttle-full", "signal-at-control", "hall-5v"}

// unknownCheck names the checks that there are.
func unknownCheck[T any](doing, check string, there map[string]T) error {
	ids := make([]string, 0, len(there))
	for id := range there {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	return fmt.Errorf("%s %q: no such check here, use one of %s", doing, check, strings.Join(ids, ", "))
}
