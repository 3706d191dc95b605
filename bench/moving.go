package bench

import (
	"slices"
	"strings"
)

// moving is what hands move, to see whether a contact lets go.
type moving int

const (
	nothing      moving = iota
	throttleLead        // the throttle's own lead
	loom                // the thin wires behind its plug, at the steering head above all
	keyItself           // the key, in its switch
	packInDock          // the pack, and its plug with it
	mainWires           // the two thick wires to the controller
	motorCable          // the motor's wires, thin and thick, from the controller to the axle
	bars                // the handlebar: all that bends at the steering head
	everything          // the bike shakes, as it does on the road
)

// movedInTurn are the parts that are moved one after another, in this order, by who looks for a loose contact.
var movedInTurn = []struct {
	what   moving
	option string
}{
	{throttleLead, "throttle-lead"}, {loom, "loom"}, {keyItself, "key"}, {packInDock, "pack"},
	{mainWires, "main-wires"}, {motorCable, "motor-cable"},
}

// moves says whether a conductor is among what is moved.
func (m moving) moves(name string) bool {
	switch m {
	case nothing:
		return false
	case everything:
		return true
	case bars:
		return throttleLead.moves(name) || loom.moves(name)
	}
	return placeOf(name) == m
}

// placeOf says with what a conductor moves.
func placeOf(name string) moving {
	begins := func(with ...string) bool {
		return slices.ContainsFunc(with, func(w string) bool { return strings.HasPrefix(name, w) })
	}
	switch {
	case begins("lead-"):
		return throttleLead
	case begins("harness-", "display-", "key-wire", "control-"):
		return loom
	case begins("key-switch"):
		return keyItself
	case begins("pack-plug"):
		return packInDock
	case begins("feed-wire", "minus-wire"):
		return mainWires
	case begins("hall-", "motor-wire-", "joint-"):
		return motorCable
	}
	return everything
}

// opens says whether a loose conductor lets go in a scene.
func (w *works) opens(s scene, name string) bool {
	return s.moved != nothing && s.moved.moves(name) && slices.Contains(w.rattles, name)
}

// moveWires holds the throttle a little open, moves one thing after another and
// says at which the motor falters.
func (b *Bike) moveWires() (string, error) {
	before, err := b.turns(loaded)
	if err != nil || before == still || len(b.works.rattles) == 0 {
		return "steady", err
	}
	for _, m := range movedInTurn {
		s := loaded
		s.moved = m.what
		how, err := b.turns(s)
		if err != nil {
			return "", err
		}
		if how != before {
			return m.option, nil
		}
	}
	return "steady", nil
}
