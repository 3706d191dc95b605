package search

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestMends holds wordings of what was once understood wrongly, line by line:
// nothing missing, nothing too much. They were written before it was mended.
func TestMends(t *testing.T) {
	k, x := embedded(t)
	for _, l := range readLabelled(t, "testdata/mends.txt") {
		said := x.Match(l.text)
		got := map[string]bool{}
		for _, s := range said.Symptoms {
			got[s.ID] = s.Present
			want, asked := l.want[s.ID]
			if !(asked && want == s.Present) && !l.isOpen(k, s.ID, s.Present) {
				t.Errorf("%q: too much: %v %s", l.text, s.Present, s.ID)
			}
		}
		for id, want := range l.want {
			if have, ok := got[id]; !ok || have != want {
				t.Errorf("%q: missing %s %v", l.text, id, want)
			}
		}
		assert.Equal(t, l.kit, said.Kit, "%q", l.text)
		if !l.openOff {
			assert.Equal(t, l.off, said.Offtopic, "%q: off topic", l.text)
		}
	}
}

// TestFiguresByClause: a figure belongs to what its own clause names.
func TestFiguresByClause(t *testing.T) {
	_, x := embedded(t)
	type fig map[string]float64
	for text, want := range map[string]fig{
		"0.85 closed, 4.1 wide open":                                                        {"throttle-rest": 0.85, "throttle-full": 4.1},
		"5.03 at throttle plug, 0.85 closed, 4.1 wide open":                                 {"throttle-5v": 5.03, "throttle-rest": 0.85, "throttle-full": 4.1},
		"sorrel no drive display normal. 5.03 at throttle plug, 0.85 closed, 4.1 wide open": {"throttle-5v": 5.03, "throttle-rest": 0.85, "throttle-full": 4.1},
		"4.1 wide open, 0.85 closed, 5.03 at throttle plug":                                 {"throttle-5v": 5.03, "throttle-rest": 0.85, "throttle-full": 4.1},
		"the signal wire shows 0.02 V closed, 5v is 4.98":                                   {"throttle-rest": 0.02, "": 4.98},
		"5v is 4.98, the signal wire shows 0.02 V closed":                                   {"throttle-rest": 0.02, "": 4.98},
		"signal 0.84 at rest and 4.05 V fully open":                                         {"throttle-rest": 0.84, "throttle-full": 4.05},
		"closed it reads 0.9, wide open 4.0":                                                {"throttle-rest": 0.9, "throttle-full": 4.0},
		"idle 0.84, open 4.2":                                                               {"throttle-rest": 0.84, "throttle-full": 4.2},
		"throttle supply 5.01 V, signal at rest 0.83 V, full 4.1 V":                         {"throttle-5v": 5.01, "throttle-rest": 0.83, "throttle-full": 4.1},
		"the 5v line is 5.02 and the signal at rest 0.85":                                   {"": 5.02, "throttle-rest": 0.85},
		"green wire 0.86 V closed, red wire 5.0 V at the throttle plug":                     {"throttle-rest": 0.86, "throttle-5v": 5.0},
		"battery is 52.3 V, 5v at the throttle plug is 4.97 V":                              {"pack-volts": 52.3, "throttle-5v": 4.97},
		"my pack reads 61.2 V, signal 0.83 V closed":                                        {"pack-volts": 61.2, "throttle-rest": 0.83},
		"released 0.85 V, twisted all the way 1.2 V":                                        {"throttle-rest": 0.85, "throttle-full": 1.2},
		"the throttle's 5v is 4.98":                                                         {"throttle-5v": 4.98},
		"5v is 4.98 at the throttle":                                                        {"throttle-5v": 4.98},
		"5v is 4.98":                                                                        {"": 4.98},
		"motor is dead, 5v is 4.98":                                                         {"": 4.98},
		"kit unknown, 52v, no drive":                                                        {},
		"48 volt ebike, no name kit, throttle dead":                                         {},
		"generic kit, 36 V, dead":                                                           {},
		"it's a 60 volt kit and the motor is dead":                                          {},
		"generic kit, the battery reads 53.1 V":                                             {"pack-volts": 53.1},
	} {
		got := fig{}
		for _, r := range x.Match(text).Readings {
			got[r.Check] = r.Value
		}
		assert.Equal(t, want, got, "%q", text)
	}
}

// TestComplaints holds complaints that a pattern of what is well may fit: what
// is complained of must not be taken to be well. Sentences and marks were
// written from the patterns before any was narrowed.
func TestComplaints(t *testing.T) {
	k, x := embedded(t)
	for _, l := range readLabelled(t, "testdata/complaints.txt") {
		got := map[string]bool{}
		for _, s := range x.Match(l.text).Symptoms {
			got[s.ID] = s.Present
			if want, asked := l.want[s.ID]; !s.Present && !(asked && !want) && !l.isOpen(k, s.ID, false) && (l.open["+"+s.ID] || asked) {
				t.Errorf("%q: taken to be well: %s by %q", l.text, s.ID, s.Phrase)
			}
		}
		for id, want := range l.want {
			if have, ok := got[id]; !ok || have != want {
				t.Errorf("%q: missing %s %v, got %v", l.text, id, want, got)
			}
		}
	}
}

// A go-on is no runaway, an exponent no code, a burnt plug no fire; sparks that
// fly inside, and full speed at the turn of the key, are dangers.
func TestDangerIsMeant(t *testing.T) {
	_, x := embedded(t)
	for text, danger := range map[string]string{
		"lets go on": "", "1e400": "", "one plug is burnt": "", "fault is still there": "", "sparks flew between my wife and me": "",
		"the plug is burning": "smoke", "sparks flew inside the controller": "sparks-inside",
		"now it goes full speed as soon as i turn the key": "runs-by-itself", "I let go and it goes on": "runs-by-itself",
	} {
		said := x.Match(text)
		if danger == "" {
			assert.Empty(t, said.Danger, "%q", text)
			for _, s := range said.Symptoms {
				assert.NotEqual(t, "fault-code-shown", s.ID, "%q", text)
			}
		} else {
			assert.Equal(t, []string{danger}, said.Danger, "%q", text)
		}
	}
}
