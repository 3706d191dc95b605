package language_test

import "strings"

// The ids are copied from the trade's list, not read from the knowledge base,
// so that a renamed id shows up here as a difference.
var (
	symptoms = ids(`
dead display-blank display-normal display-flickers shuts-off-after-seconds cuts-out-riding
cuts-out-under-load resets-on-throttle breaker-trips spark-on-connect short-range wont-charge
charger-green-at-once no-drive drives-late throttle-jumpy runs-by-itself weak-power
low-top-speed motor-stutters runs-backwards motor-noise wheel-drags motor-hot controller-hot
motor-spins-no-drive no-regen pedal-assist-dead brake-light-stuck reverse-or-park-shown
fault-code-shown speed-reading-wrong lights-dead horn-dead after-rain after-crash after-install
after-storage after-part-change cold-weather smoke burning-smell pack-swollen pack-hot hissing
shock-felt sparks-inside`)

	dangers = ids(`smoke burning-smell pack-swollen pack-hot hissing shock-felt sparks-inside runs-by-itself`)

	checks = ids(`
meter-check look-power-path look-display look-inhibits look-plugs look-axle-cable
look-charger-lamp pack-volts pack-volts-loaded isolator-drop feed-volts feed-volts-loaded
negative-drop fuse-continuity key-volts-in key-volts-out display-supply-volts control-5v
control-5v-unplugged throttle-5v throttle-5v-pack-minus throttle-rest throttle-full
throttle-sweep throttle-alone-rest throttle-alone-full signal-at-control brake-ohms-released
brake-ohms-squeezed brake-unplugged-try stand-ohms hall-5v hall-toggle phase-same phase-to-case
bridge-diode drag-unplugged motor-temp-ohms listen-motor wheel-free charger-volts
charge-port-volts converter-in-volts converter-out-volts lights-fuse-continuity lights-volts
pedal-toggle speed-toggle known-good-throttle-try known-good-display-try look-chain look-tyre
look-magnets charge-fuse-continuity bulb-try mains-try cool-try settings-look drain-wait`)

	kits = ids(`teasel-48 sorrel-60 yarrow-72`)

	units = ids(`V A Ω °C Hz %`)

	intents = ids(`reading choice done yes no cannot unsure why how back repeat person stop danger newinfo other`)

	asks = ids(`measure look try yesno`)
)

func ids(list string) map[string]bool {
	set := map[string]bool{}
	for _, id := range strings.Fields(list) {
		set[id] = true
	}
	return set
}
