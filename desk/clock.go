package desk

import (
	"sync"
	"time"
)

// Steady is a clock that never goes backwards: when the one given is set back,
// it goes on from where it was, and joins the given one once that is ahead again.
func Steady(now func() time.Time) func() time.Time {
	var (
		mu sync.Mutex
		s  steady
	)
	return func() time.Time {
		mu.Lock()
		defer mu.Unlock()
		return s.at(now().Round(0)) // the wall clock: what is kept must compare with it after a restart
	}
}

type steady struct {
	last  time.Time // given out
	ahead time.Duration
}

func (s *steady) at(t time.Time) time.Time {
	switch {
	case !t.Before(s.last):
		s.ahead = 0
	case t.Add(s.ahead).Before(s.last):
		s.ahead = s.last.Sub(t)
	}
	s.last = t.Add(s.ahead)
	return s.last
}
