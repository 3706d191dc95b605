package discord

import (
	"encoding/binary"
	"encoding/json"
	"errors"
	"net"
	"strings"
	"sync"
	"time"
)

// link is the connection under a gateway session. It reads along, frame by
// frame, and keeps from discordgo what it does not survive or answers wrongly:
//
//   - op 7 (reconnect): inside Open it deadlocks. The link ends instead, as if it
//     had broken, which leaves the session one that can be resumed.
//   - op 9 (invalid session): it identifies at once. The link ends and says so.
//   - op 1 (heartbeat wanted): it may find its websocket gone and crash. The link
//     answers itself.
//   - a server event with nothing in it: it crashes. The link leaves it out.
//   - a close with a code: it forgets the code. The link keeps it.
//   - silence: it waits for ever for the first word, and minutes for later ones.
//     The link ends when nothing comes.
//   - goodbye: it says 1000 even where the session is to be resumed. A link that
//     has ended lets nothing out.
type link struct {
	net.Conn
	buf  []byte
	rest []byte // read from the connection and not yet looked at
	out  []byte // looked at and to be given on
	head bool   // the answer to the handshake has passed
	jump int    // bytes of a frame too long to look into

	mu    sync.Mutex
	ended ending
	over  bool
	gone  chan struct{} // closed once it is over
	heard uint64        // reads that brought something
}

// ending is why a link ended.
type ending struct {
	code    int  // with which the platform closed
	again   bool // the platform wants a new connection
	invalid bool // the session is void and cannot be resumed
}

// errEnded is what discordgo reads when a link has ended.
var errEnded = errors.New("the connection to the gateway has ended")

func newLink(c net.Conn) *link { return &link{Conn: c, gone: make(chan struct{})} }

// watch ends the link once nothing came for the time between two ticks.
func (l *link) watch(tick func() <-chan time.Time) {
	last := uint64(0)
	for first := true; ; first = false {
		select {
		case <-tick():
		case <-l.gone:
			return
		}
		l.mu.Lock()
		heard := l.heard
		l.mu.Unlock()
		if heard == last && !first {
			l.end(ending{})
		}
		last = heard
	}
}

// end ends the link; nothing goes out any more.
func (l *link) end(e ending) {
	l.mu.Lock()
	if !l.over {
		if e == (ending{}) {
			e = l.ended // the code of a close that was read
		}
		l.ended, l.over = e, true
		close(l.gone)
	}
	l.mu.Unlock()
	_ = l.Conn.Close()
}

// Close implements net.Conn.
func (l *link) Close() error {
	l.end(ending{})
	return nil
}

// ending says whether the link has ended and why.
func (l *link) ending() (ending, bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.ended, l.over
}

// Write implements net.Conn.
func (l *link) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock() // a heartbeat of our own must not fall into the middle of a frame
	if l.over {
		return 0, errEnded
	}
	return l.Conn.Write(p)
}

// Read implements net.Conn.
func (l *link) Read(p []byte) (int, error) {
	for len(l.out) == 0 {
		if _, over := l.ending(); over {
			return 0, errEnded
		}
		if err := l.more(); err != nil {
			return 0, err
		}
	}
	n := copy(p, l.out)
	l.out = l.out[n:]
	return n, nil
}

// more reads from the connection and looks at what is there.
func (l *link) more() error {
	if l.buf == nil {
		l.buf = make([]byte, 16<<10)
	}
	n, err := l.Conn.Read(l.buf)
	if n > 0 {
		l.mu.Lock()
		l.heard++
		l.mu.Unlock()
	}
	l.rest = append(l.rest, l.buf[:n]...)
	for l.look() {
	}
	if len(l.out) > 0 {
		return nil
	}
	if err != nil {
		l.end(ending{}) // so that no goodbye goes out
	}
	return err
}

// look takes the next whole piece out of what was read; false when it is not
// all there.
func (l *link) look() bool {
	if l.jump > 0 && len(l.rest) > 0 {
		n := min(l.jump, len(l.rest))
		l.pass(n)
		l.jump -= n
		return true
	}
	if !l.head {
		return l.handshake()
	}
	size, header, whole := l.frame()
	if header == 0 {
		return false
	}
	if size > longestLook {
		l.jump = header + size
		return true
	}
	if !whole {
		return false
	}
	switch body := l.rest[header : header+size]; l.rest[0] & 0x0f {
	case opcodeClose:
		e := ending{}
		if len(body) >= 2 {
			e.code = int(binary.BigEndian.Uint16(body))
		}
		l.mu.Lock()
		if !l.over {
			l.ended = e // the session closes after having read it
		}
		l.mu.Unlock()
	case opcodeText:
		if l.rest[0]&0x80 != 0 && !l.let(body) {
			l.rest = l.rest[header+size:]
			return true
		}
	}
	l.pass(header + size)
	return true
}

const (
	opcodeText  = 1
	opcodeClose = 8
	// longestLook is more than any packet that is not an event.
	longestLook = 16 << 20
)

func (l *link) pass(n int) {
	l.out = append(l.out, l.rest[:n]...)
	l.rest = l.rest[n:]
}

// handshake passes on the answer to the upgrade.
func (l *link) handshake() bool {
	for i := 3; i < len(l.rest); i++ {
		if string(l.rest[i-3:i+1]) == "\r\n\r\n" {
			l.pass(i + 1)
			l.head = true
			return true
		}
	}
	return false
}

// frame reads the head of a frame of the server, which is not masked.
func (l *link) frame() (size, header int, whole bool) {
	if len(l.rest) < 2 {
		return 0, 0, false
	}
	size, header = int(l.rest[1]&0x7f), 2
	switch size {
	case 126:
		header = 4
	case 127:
		header = 10
	}
	if len(l.rest) < header {
		return 0, 0, false
	}
	switch header {
	case 4:
		size = int(binary.BigEndian.Uint16(l.rest[2:]))
	case 10:
		size = int(min(binary.BigEndian.Uint64(l.rest[2:]), 1<<31))
	}
	return size, header, len(l.rest) >= header+size
}

// let says whether a packet may go on to discordgo.
func (l *link) let(body []byte) bool {
	var p struct {
		Op   int             `json:"op"`
		Kind string          `json:"t"`
		Data json.RawMessage `json:"d"`
	}
	if len(body) > longestPacket || json.Unmarshal(body, &p) != nil {
		return true
	}
	switch p.Op {
	case 0: // a server without anything in it, read without looking
		var d struct {
			ID string `json:"id"`
		}
		bad := json.Unmarshal(p.Data, &d) != nil || d.ID == ""
		return !bad || !strings.HasPrefix(p.Kind, "GUILD_")
	case 1:
		_, _ = l.Write(maskedText([]byte(`{"op":1,"d":null}`)))
		return false
	case 7:
		l.end(ending{again: true})
		return false
	case 9:
		resumable := false
		_ = json.Unmarshal(p.Data, &resumable)
		l.end(ending{again: true, invalid: !resumable})
		return false
	}
	return true
}

// longestPacket: the packets kept from discordgo are short ones.
const longestPacket = 256

// maskedText is a frame of a client; a mask of zeros is one.
func maskedText(body []byte) []byte {
	return append([]byte{0x80 | opcodeText, 0x80 | byte(len(body)), 0, 0, 0, 0}, body...)
}
