package discord

import "sync"

// recent remembers the last so many names.
type recent struct {
	mu   sync.Mutex
	most int
	has  map[string]bool
	list []string
}

func newRecent(most int) *recent { return &recent{most: most, has: map[string]bool{}} }

func (r *recent) add(name string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.has[name] {
		return
	}
	r.has[name] = true
	r.list = append(r.list, name)
	if len(r.list) > r.most {
		delete(r.has, r.list[0])
		r.list = r.list[1:]
	}
}

func (r *recent) contains(name string) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.has[name]
}
