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

// kept is the conversations that spoke last, as many as fit; the others are
// read anew.
type kept struct {
	mu    sync.Mutex
	most  int // bytes, by weight
	bytes int
	byID  map[string]*list.Element
	order *list.List // latest first
}

type keptEntry struct {
	id     string
	talk   keptTalk
	weight int
}

func newKept(most int) *kept {
	return &kept{most: most, byID: map[string]*list.Element{}, order: list.New()}
}

// What a state takes in memory beside its texts, measured: the bare state with
// its maps, a line of the transcript, an answer or an entry of a map.
const (
	bareWeight  = 1100
	lineWeight  = 64
	entryWeight = 160
)

// weight is about how many bytes a conversation takes in memory; most of it is
// what was said. TestKeptIsBounded holds it against the heap.
func weight(id string, st *conversation.State) int {
	n := bareWeight + 2*len(id)
	for _, l := range st.Transcript {
		n += lineWeight + len(l.Text)
	}
	entries := len(st.Answers) + len(st.Replaced) + len(st.Attempts) + len(st.Warned) + len(st.Complaint) +
		len(st.Figures) + len(st.Symptoms) + len(st.OddAsked) + len(st.Cannot) + len(st.Lacking) + len(st.AtHand) + len(st.Opened)
	return n + entryWeight*entries
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
	w := weight(id, t.state)
	k.mu.Lock()
	defer k.mu.Unlock()
	k.remove(id)
	k.byID[id] = k.order.PushFront(keptEntry{id, t, w})
	k.bytes += w
	for k.bytes > k.most && k.order.Len() > 1 {
		k.remove(k.order.Back().Value.(keptEntry).id)
	}
}

func (k *kept) remove(id string) {
	if e := k.byID[id]; e != nil {
		k.bytes -= e.Value.(keptEntry).weight
		delete(k.byID, id)
		k.order.Remove(e)
	}
}

func (k *kept) drop(id string) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.remove(id)
}

func (k *kept) clear() {
	k.mu.Lock()
	defer k.mu.Unlock()
	clear(k.byID)
	k.order.Init()
	k.bytes = 0
}
