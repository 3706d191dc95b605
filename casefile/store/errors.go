package store

import (
	"errors"
	"fmt"
	"time"
)

// Opening.
var (
	// ErrDamaged is returned when the file is not what was written into it.
	ErrDamaged = errors.New("the store is damaged; put a backup in its place with: triagebot restore")
	// ErrMissing is returned when there is no file and none may be made.
	ErrMissing = errors.New("there is no store")
)

// Changing.
var (
	// ErrClosed is returned after Close.
	ErrClosed = errors.New("the store is closed")
	// ErrBroken is returned for every change after the disk failed in a way
	// that leaves open what was written; opening the store anew checks it.
	ErrBroken = errors.New("the store takes nothing more since the disk failed; stop and start again")
	// ErrFull is returned when the disk has no room; later changes may succeed.
	ErrFull = errors.New("there is no room on the disk")
	// ErrSeen is returned when a message was taken already.
	ErrSeen = errors.New("the message was taken already")
	// ErrStale is returned when the conversation went on since it was read.
	ErrStale = errors.New("the conversation went on in the meantime")
	// ErrNoCase is returned when there is no case of that number.
	ErrNoCase = errors.New("there is no such case")
	// ErrNoTalk is returned when nobody started that conversation.
	ErrNoTalk = errors.New("there is no such conversation")
)

// HeldError says which process has the store.
type HeldError struct {
	Path  string
	PID   int
	Host  string
	Since time.Time
}

func (e *HeldError) Error() string {
	if e.PID == 0 {
		return fmt.Sprintf("store %q is held by another process; stop that one first", e.Path)
	}
	return fmt.Sprintf("store %q is held by process %d on %s since %s; stop that one first",
		e.Path, e.PID, e.Host, e.Since.UTC().Format("2006-01-02 15:04:05 MST"))
}

// VersionError says that the file was written by a newer program.
type VersionError struct {
	Path         string
	Found, Known int
}

func (e *VersionError) Error() string {
	return fmt.Sprintf("store %q has layout %d and this program knows up to %d; use the newer program", e.Path, e.Found, e.Known)
}

func damaged(format string, a ...any) error {
	return fmt.Errorf("%s: %w", fmt.Sprintf(format, a...), ErrDamaged)
}
