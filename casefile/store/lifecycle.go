package store

import (
	"errors"
	"fmt"
	"time"
)

// State is where a case stands.
type State string

const (
	Waiting State = "waiting" // nobody has it
	Taken   State = "taken"
	Closed  State = "closed"
)

// Deed is what somebody does to a case.
type Deed string

const (
	DeedOpen    Deed = "opened"
	DeedRenew   Deed = "renewed" // the talk was handed over again
	DeedTake    Deed = "taken"
	DeedNote    Deed = "noted"
	DeedHandOn  Deed = "handed-on" // To: to whom; "" for whoever takes it
	DeedClose   Deed = "closed"    // Cause and Remedy, or NotFound
	DeedReopen  Deed = "reopened"
	DeedErasure Deed = "words-erased"
	DeedAsk     Deed = "asked"    // the owner, by the bot; Text: the check
	DeedSay     Deed = "said"     // to the owner; Text: the words
	DeedRemind  Deed = "reminded" // volunteers, of a case nobody has taken
)

// Act is one line of a case's audit: who did what, and when.
type Act struct {
	Time     time.Time `json:"time"`
	Who      string    `json:"who"`
	Deed     Deed      `json:"deed"`
	To       string    `json:"to,omitempty"`
	Text     string    `json:"text,omitempty"`
	Cause    string    `json:"cause,omitempty"`
	Remedy   string    `json:"remedy,omitempty"`
	NotFound bool      `json:"not_found,omitempty"`
	Keeper   bool      `json:"keeper,omitempty"`   // a keeper may hand on what another has
	Replaced bool      `json:"replaced,omitempty"` // the part is a new one, not mended in place
	Bike     *Bike     `json:"bike,omitempty"`     // when a case is closed
}

// Bike is what is known of the bike of a case; each may be missing.
type Bike struct {
	Kit      string  `json:"kit,omitempty"`      // a talk that a danger ended may not have come to it
	Mark     string  `json:"mark,omitempty"`     // a number of the club's own, never a name
	Distance float64 `json:"distance,omitempty"` // km run
	Built    string  `json:"built,omitempty"`    // month, like 2026-03
}

// Case is the life of a case; its Document is kept beside it.
type Case struct {
	ID           uint64    `json:"id"`
	Conversation string    `json:"conversation"`
	Owner        string    `json:"owner"`
	Kit          string    `json:"kit,omitempty"`
	Reason       string    `json:"reason,omitempty"`
	State        State     `json:"state"`
	Taker        string    `json:"taker,omitempty"`
	Opened       time.Time `json:"opened"`
	Changed      time.Time `json:"changed"`
	Cause        string    `json:"cause,omitempty"` // confirmed, once closed
	Remedy       string    `json:"remedy,omitempty"`
	NotFound     bool      `json:"not_found,omitempty"`
	Replaced     bool      `json:"replaced,omitempty"`
	Bike         *Bike     `json:"bike,omitempty"`
	Audit        []Act     `json:"audit"`
}

// TakenError says who has the case.
type TakenError struct {
	Case uint64
	By   string
}

func (e *TakenError) Error() string { return fmt.Sprintf("case %d is taken by %s", e.Case, e.By) }

// Refusals of an act.
var (
	// ErrNotYours is returned when the act needs the case to be taken by who acts.
	ErrNotYours = errors.New("take the case first")
	// ErrCaseClosed is returned when the case must be reopened first.
	ErrCaseClosed = errors.New("the case is closed; reopen it first")
	// ErrNotClosed is returned when a case that is not closed is reopened.
	ErrNotClosed = errors.New("the case is not closed")
	// ErrNotWaiting is returned when volunteers are reminded of a case that somebody has.
	ErrNotWaiting = errors.New("the case waits for nobody")
	// ErrHalfFound is returned when a case is closed without saying what it was.
	ErrHalfFound = errors.New("give both cause and remedy, or say that it was not found")
)

// After is the case after an act, or why it may not happen. The case given is
// not changed.
func (c Case) After(a Act) (Case, error) {
	if a.Who == "" {
		return c, fmt.Errorf("case %d: an act needs somebody who acts", c.ID)
	}
	if err := c.may(a); err != nil {
		return c, err
	}
	switch a.Deed {
	case DeedOpen, DeedReopen:
		c.State, c.Taker, c.Cause, c.Remedy, c.NotFound, c.Replaced = Waiting, "", "", "", false, false
	case DeedTake:
		c.State, c.Taker = Taken, a.Who
	case DeedHandOn:
		c.State, c.Taker = Taken, a.To
		if a.To == "" {
			c.State = Waiting
		}
	case DeedClose:
		c.State, c.Cause, c.Remedy, c.NotFound, c.Replaced = Closed, a.Cause, a.Remedy, a.NotFound, a.Replaced
		if a.Bike != nil {
			c.Bike = a.Bike
		}
	case DeedRenew:
		if c.State == Closed {
			c.State, c.Taker, c.Cause, c.Remedy, c.NotFound, c.Replaced = Waiting, "", "", "", false, false
		}
	}
	if a.Time.Before(c.Changed) { // the clock may have been set back
		a.Time = c.Changed
	}
	c.Changed = a.Time
	c.Audit = append(c.Audit[:len(c.Audit):len(c.Audit)], a)
	return c, nil
}

func (c Case) may(a Act) error {
	switch a.Deed {
	case DeedOpen:
		if c.State != "" {
			return fmt.Errorf("case %d is open already", c.ID)
		}
	case DeedTake:
		switch {
		case c.State == Closed:
			return ErrCaseClosed
		case c.State == Taken:
			return &TakenError{c.ID, c.Taker}
		}
	case DeedHandOn, DeedClose, DeedAsk, DeedSay:
		if c.State == Closed {
			return ErrCaseClosed
		}
		if c.State != Taken {
			return ErrNotYours
		}
		if c.Taker != a.Who && !(a.Keeper && a.Deed == DeedHandOn) {
			return &TakenError{c.ID, c.Taker}
		}
		if a.Deed == DeedClose && (a.NotFound == (a.Cause != "") || (a.Cause == "") != (a.Remedy == "")) {
			return ErrHalfFound
		}
	case DeedReopen:
		if c.State != Closed {
			return ErrNotClosed
		}
	case DeedNote:
		if a.Text == "" {
			return fmt.Errorf("case %d: a note needs words", c.ID)
		}
	case DeedRemind:
		if c.State != Waiting {
			return ErrNotWaiting
		}
	case DeedRenew, DeedErasure:
	default:
		return fmt.Errorf("case %d: nobody can do %q to a case", c.ID, a.Deed)
	}
	return nil
}
