package discord

import "net"

// Inside the package, for tests.
var (
	Split = split
	Size  = size
)

// Routes counts what is remembered of routes and of buckets.
func Routes(a *Adapter) int {
	a.rest.gate.mu.Lock()
	defer a.rest.gate.mu.Unlock()
	return len(a.rest.gate.routes)
}

// NewLink puts a link over a connection.
func NewLink(c net.Conn) net.Conn { return newLink(c) }

// Ending is why a link ended.
func Ending(c net.Conn) (code int, again, invalid bool) {
	e, _ := c.(*link).ending()
	return e.code, e.again, e.invalid
}

// Idle returns once nothing waits to be worked on.
func Idle(a *Adapter) {
	for a.lanes.waiting() > 0 {
		<-a.lanes.empty
	}
}
