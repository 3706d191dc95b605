package probe

import "triagebot/kb"

// The functions of this file are those of [Words] in English.

// Text is [Words.Text] in English.
func Text(kit *kb.Kit, c *kb.Check) []string { return In("").Text(kit, c) }

// Spots is [Words.Spots] in English.
func Spots(kit *kb.Kit, c *kb.Check) ([]Spot, error) { return In("").Spots(kit, c) }

// Seen is [Words.Seen] in English.
func Seen(plug *kb.Plug, side string) (*kb.Plug, bool) { return In("").Seen(plug, side) }

// Name is [Words.Name] in English.
func Name(colour string) string { return In("").Name(colour) }

// PinName is [Words.PinName] in English.
func PinName(plug *kb.Plug, id string) string { return In("").PinName(plug, id) }

// Wire is [Words.Wire] in English.
func Wire(pin kb.Pin) string { return In("").Wire(pin) }

// DrawnAs is [Words.DrawnAs] in English.
func DrawnAs(plug *kb.Plug) string { return In("").DrawnAs(plug) }

// Here is [Words.Here] in English.
func Here(c *kb.Check) string { return In("").Here(c) }

// Caveat is [Words.Caveat] in English.
func Caveat(k *kb.KB, kit *kb.Kit, c *kb.Check) string { return In("").Caveat(k, kit, c) }
