package discord

import (
	"strconv"
	"strings"
)

// Scheme begins every address and name of this package in the store.
const Scheme = "discord:"

// Kinds of places.
const (
	inThread  = "t" // a private thread of the owner's
	inDirect  = "d" // direct messages
	inChannel = "c" // where the owner asked, for all to see
	forPeople = "v" // the volunteers' channel
)

// place is where a conversation is, or volunteers are.
type place struct {
	kind    string
	channel string
	owner   string // in a channel, whose conversation it is
	n       int    // of direct messages with somebody, the n-th conversation
}

// address is how a place is called in the store.
func (p place) address() string {
	s := Scheme + p.kind + "/" + p.channel
	if p.owner != "" {
		s += "/" + p.owner
	}
	if p.n > 1 {
		s += "/" + strconv.Itoa(p.n)
	}
	return s
}

// placeOf reads an address; false when it is none of this package.
func placeOf(address string) (place, bool) {
	rest, ok := strings.CutPrefix(address, Scheme)
	parts := strings.Split(rest, "/")
	if !ok || len(parts) < 2 || !isID(parts[1]) {
		return place{}, false
	}
	p := place{kind: parts[0], channel: parts[1]}
	if len(parts) > 2 {
		if p.kind == inDirect {
			p.n, _ = strconv.Atoi(parts[2])
		} else {
			p.owner = parts[2]
		}
	}
	return p, true
}

// Announce is the address of a channel for turns.Config and desk.Config; "" for
// none.
func Announce(channel string) string {
	if channel == "" {
		return ""
	}
	return place{kind: forPeople, channel: channel}.address()
}

// Mine says whether an address belongs to this package.
func Mine(address string) bool {
	_, ok := placeOf(address)
	return ok
}

// handle is what somebody is called in the store.
func handle(user string) string { return Scheme + user }

// userOf is the platform's id behind a handle; "" when it is none.
func userOf(handle string) string {
	if id, ok := strings.CutPrefix(handle, Scheme); ok && isID(id) {
		return id
	}
	return ""
}

// known is the id by which the store knows a message.
func known(id string) string { return Scheme + id }

// pressed is the id by which the store knows an interaction.
func pressed(id string) string { return Scheme + "i" + id }

// number reads an id; ids grow with time.
func number(id string) uint64 {
	n, _ := strconv.ParseUint(id, 10, 64)
	return n
}
