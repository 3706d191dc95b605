package conversation

import (
	"sync"
	"sync/atomic"
)

// mostKept bounds what is kept worked out. A knowledge base has a few thousand
// questions and answers; texts of outside callers must not pile up beyond that.
const mostKept = 8192

// memo keeps what was worked out for the words of questions and offered answers:
// the same ones come back with every reply, and working them out costs more than
// the reply itself. What it returns is shared and must not be changed.
type memo[T any] struct {
	byText sync.Map
	kept   atomic.Int32
}

func (m *memo[T]) of(text string, work func(string) T) T {
	if x, ok := m.byText.Load(text); ok {
		return x.(T)
	}
	x := work(text)
	if m.kept.Add(1) <= mostKept {
		m.byText.Store(text, x)
	}
	return x
}
