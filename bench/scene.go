package bench

// scene is what hands do to the bike while one looks or measures.
type scene struct {
	isolatorOff, keyOff bool // on purpose, for the check
	off                 plugs
	lights, horn        bool
	opening             float64 // of the throttle, 0 to 1
	released            bool    // the throttle was opened and let go
	brake               bool
	standUp             bool   // somebody holds the stand up
	moved               moving // what is moved while one watches
	angle               int    // of the motor, in sixths of an electrical turn
	magnet              bool   // a magnet stands before the pedal and the wheel sensor
	load                load
	charging            bool
	usb                 bool    // a 5 V supply on the throttle's own wires
	spin                float64 // V that a winding makes when the wheel is turned by hand
}

// load is what is asked of the motor.
type load int

const (
	idle   load = iota
	gentle      // wheel up, a little throttle
	hill        // the controller's full current
)

// plugs are unplugged plugs, as a set.
type plugs uint16

const (
	packPlug plugs = 1 << iota
	controlPlug
	throttlePlug
	brakePlugs
	standPlug
	hallPlug
	pedalPlug
	speedPlug
	displayPlug
	motorPlugs
	chargerPlug
)

func (p plugs) has(q plugs) bool { return q != 0 && p&q != 0 }
