package desk

import (
	"sync"
	"time"
)

// Steady is a clock that never goes backwards: when the one given is set back,
// it goes on from where it was, and joins the given one once that is ahead again.
func Steady(now func() time.Time) func() time.Time {
	var (
		mu    sync.Mutex
		last  time.Time // given out
		ahead time.Duration
	)
	return func() time.Time {
		mu.Lock()
		defer mu.Unlock()
		t := now().Round(0) // the wall clock: what is kept must compare with it after a restart
		switch {
		case !t.Before(last):
			ahead = 0
		case t.Add(ahead).Before(last):
			ahead = last.Sub(t)
		}
		last = t.Add(ahead)
		return last
	}
}
