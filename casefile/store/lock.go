package store

import (
	"encoding/json"
	"fmt"
	"os"
	"time"
)

// holder is the note beside the store that says who has it.
type holder struct {
	PID   int       `json:"pid"`
	Host  string    `json:"host"`
	Since time.Time `json:"since"`
}

// held is the lock file while it is ours. bbolt has a lock of its own, but it
// can be had only by opening the file, which must not happen unchecked.
type held struct{ file *os.File }

func lockName(path string) string { return path + ".lock" }

// lock takes the store for this process. The lock goes with the process; the
// note may stay behind and then means nothing. Without a clock no note is left.
func lock(path string, now func() time.Time) (*held, error) {
	name := lockName(path)
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("making the lock file of the store: %w", err)
	}
	free, err := tryLock(f)
	if err != nil {
		_ = f.Close()
		return nil, fmt.Errorf("locking %q: %w", name, err)
	}
	if !free {
		defer f.Close()
		by := HeldError{Path: path}
		var note holder
		if json.NewDecoder(f).Decode(&note) == nil {
			by.PID, by.Host, by.Since = note.PID, note.Host, note.Since
		}
		return nil, &by
	}
	if err := leaveNote(f, now); err != nil {
		_ = f.Close()
		return nil, fmt.Errorf("writing %q: %w", name, err)
	}
	return &held{f}, nil
}

func leaveNote(f *os.File, now func() time.Time) error {
	if err := f.Truncate(0); err != nil || now == nil {
		return err
	}
	host, err := os.Hostname()
	if err != nil {
		host = "an unnamed host"
	}
	note, err := json.Marshal(holder{os.Getpid(), host, now().UTC().Truncate(time.Second)})
	if err != nil {
		return err
	}
	_, err = f.WriteAt(append(note, '\n'), 0)
	return err
}

func (h *held) release() {
	_ = h.file.Truncate(0)
	_ = h.file.Close()
}
