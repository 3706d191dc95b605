// Package probe says where the two probes of a check go on a kit, and how the
// plug lies as seen from there.
//
//	lines := probe.Text(kit, check) // the plug in characters, the pins marked
//
// The talk shows these lines to an owner, and package picture draws the same
// spots and the same faces, so that no two drawings of a plug disagree.
package probe
