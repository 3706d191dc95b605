package turns

import (
	"container/list"
	"sync"

	"triagebot/conversation"
)

// keptTalk is a conversation in memory. Its state is never changed, only
// replaced.
type keptTalk struct {
	state  *conversation.State
	turns  uint64
	owner  string
	caseID uint64
}

// kept is the conversations that spoke last; the others are read anew.
type kept struct {
	mu    sync.Mutex
	most  int
	byID  map[string]*list.Element
	order *list.List // latest first
}

type keptEntry struct {
	id   string
	talk keptTalk
}

func newKept(most int) *kept {
	return &kept{most: most, byID: map[string]*list.Element{}, order: list.New()}
}

func (k *kept) get(id string) (keptTalk, bool) {
	k.mu.Lock()
	defer k.mu.Unlock()
	e := k.byID[id]
	if e == nil {
		return keptTalk{}, false
	}
	k.order.MoveToFront(e)
	return e.Value.(keptEntry).talk, true
}

func (k *kept) put(id string, t keptTalk) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if e := k.byID[id]; e != nil {
		e.Value = keptEntry{id, t}
		k.order.MoveToFront(e)
		return
	}
	k.byID[id] = k.order.PushFront(keptEntry{id, t})
	if k.order.Len() > k.most {
		last := k.order.Back()
		delete(k.byID, last.Value.(keptEntry).id)
		k.order.Remove(last)
	}
}

func (k *kept) drop(id string) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if e := k.byID[id]; e != nil {
		delete(k.byID, id)
		k.order.Remove(e)
	}
}

func (k *kept) clear() {
	k.mu.Lock()
	defer k.mu.Unlock()
	clear(k.byID)
	k.order.Init()
}
