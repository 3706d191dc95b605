// Package bench builds bikes with faults and lets them be measured, looked at
// and tried, so that the rules can be rehearsed against something that does
// not know them.
//
//	bike, err := bench.New("sorrel-60", []string{"main-negative-loose"}, 7)
//	reading, err := bike.Measure("negative-drop") // 3.663 V
//	option, err := bike.Look("look-display")      // "normal"
//	bike.Fix("main-negative-loose")
//	bike.Works()                                   // true
//
// A bike is an electrical network: cells, switches, plugs, wires, regulator,
// sensors, motor. It is solved by nodal analysis; readings, what an owner
// sees and what an owner complains of all follow from the solved voltages
// and from a few mechanical facts. A fault changes elements and nothing else.
// No limit, window or likelihood of a knowledge base is used here: the bench
// is a witness of its own, and its figures come from published tables
// (copper, cells, thermistor) or from the trade's usual parts.
//
// A Bike is deterministic: the same kit, causes and seed give the same bike
// and the same readings in the same order. It is not safe for concurrent use.
package bench
