package desk

// Known is how many owners and servers the gate keeps.
func (d *Desk) Known() int {
	d.gate.mu.Lock()
	defer d.gate.mu.Unlock()
	return len(d.gate.known)
}
