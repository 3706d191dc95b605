package web

import (
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// limits bound how often somebody may try.
type limits struct {
	signInFrom, signInTo *limit // by address, and by the name that is tried
	talks, words         *limit // talks begun and messages sent, by address
}

func newLimits(now func() time.Time) limits {
	return limits{
		signInFrom: newLimit(now, rate.Every(20*time.Second), 10),
		signInTo:   newLimit(now, rate.Every(30*time.Second), 8),
		talks:      newLimit(now, rate.Every(3*time.Minute), 12),
		words:      newLimit(now, rate.Every(time.Second), 40),
	}
}

// mostLimited bounds who is remembered. Who has been quiet long enough to be
// allowed everything again needs no memory; they go first.
const mostLimited = 20_000

type limit struct {
	now   func() time.Time
	every rate.Limit
	burst int

	mu sync.Mutex
	by map[string]*rate.Limiter
}

func newLimit(now func() time.Time, every rate.Limit, burst int) *limit {
	return &limit{now: now, every: every, burst: burst, by: map[string]*rate.Limiter{}}
}

// allow counts a try, and says whether it may be.
func (l *limit) allow(who string) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	now := l.now()
	one := l.by[who]
	if one == nil {
		if len(l.by) >= mostLimited {
			l.sweep(now)
		}
		if len(l.by) >= mostLimited {
			return false // a flood from everywhere: nobody new until some have rested
		}
		one = rate.NewLimiter(l.every, l.burst)
		l.by[who] = one
	}
	return one.AllowN(now, 1)
}

func (l *limit) sweep(now time.Time) {
	for who, one := range l.by {
		if one.TokensAt(now) >= float64(l.burst) {
			delete(l.by, who)
		}
	}
}
