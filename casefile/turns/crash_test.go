package turns_test

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
	"triagebot/casefile/turns"
)

// spoken is a line that the child writes: an acknowledgement, or a message
// that it hands to the chat.
type spoken struct {
	Ack   string `json:"ack,omitempty"`
	To    string `json:"to,omitempty"`
	Nonce string `json:"nonce,omitempty"`
	Re    string `json:"re,omitempty"`
	Line  string `json:"line,omitempty"`
	Error string `json:"error,omitempty"`
	Ended bool   `json:"ended,omitempty"`
}

// pipeChat is the child's way to the chat: once the line is in the pipe, the
// chat has it.
type pipeChat struct {
	mu  sync.Mutex
	out *os.File
}

func (p *pipeChat) say(s spoken) {
	line, _ := json.Marshal(s) // strings and a bool
	p.mu.Lock()
	defer p.mu.Unlock()
	_, _ = p.out.Write(append(line, '\n'))
}

func (p *pipeChat) Send(_ context.Context, o store.Outgoing) error {
	p.say(spoken{To: o.To, Nonce: o.Nonce, Re: o.ReplyTo, Line: o.Lines[0]})
	return nil
}

// runChild is the process that is killed. It takes messages, one a line; an
// empty line means: send what is left and end.
func runChild(path string) int {
	out := &pipeChat{out: os.Stdout}
	fail := func(err error) int {
		out.say(spoken{Error: err.Error()})
		return 1
	}
	s, err := store.Open(path, store.Options{Now: time.Now})
	if err != nil {
		return fail(err)
	}
	r, err := turns.New(config(s, out))
	if err != nil {
		return fail(err)
	}
	in := bufio.NewScanner(os.Stdin)
	var working sync.WaitGroup
	for in.Scan() && len(in.Bytes()) > 0 {
		var m turns.Incoming
		if err := json.Unmarshal(in.Bytes(), &m); err != nil {
			return fail(err)
		}
		working.Add(1)
		err := r.Enter(context.Background(), m, func(err error) {
			defer working.Done()
			if err != nil {
				out.say(spoken{Error: err.Error()})
				return
			}
			out.say(spoken{Ack: m.ID})
		})
		if err != nil {
			return fail(err)
		}
	}
	working.Wait() // an answer lies in the outbox only once its turn is kept
	for {
		list, err := s.Outbox(0, 1)
		if err != nil {
			return fail(err)
		}
		if len(list) == 0 {
			break
		}
		time.Sleep(time.Millisecond)
	}
	if err := r.Close(context.Background()); err != nil {
		return fail(err)
	}
	if err := s.Close(); err != nil {
		return fail(err)
	}
	out.say(spoken{Ended: true})
	return 0
}

const crashTalks = 12

// crash is what the owners and the chat know, outside the process that is killed.
type crash struct {
	t     *testing.T
	path  string
	draw  *rand.Rand
	acked [crashTalks]int // messages acknowledged, always the first ones
	got   map[string][]spoken
	nonce map[string]string // nonce -> the message that it answers
	twice int               // copies that the chat dropped by their nonce
}

func talkName(i int) string { return fmt.Sprintf("talk-%d", i) }

// life starts the process, feeds it, and kills it after so many of its lines;
// with lines < 0 it feeds each talk up to so many messages and lets it end.
func (c *crash) life(lines, upTo int) {
	exe, err := os.Executable()
	require.NoError(c.t, err)
	p := exec.Command(exe)
	p.Env = append(os.Environ(), "TRIAGEBOT_TURNS_CHILD="+c.path)
	p.Stderr = os.Stderr
	in, err := p.StdinPipe()
	require.NoError(c.t, err)
	out, err := p.StdoutPipe()
	require.NoError(c.t, err)
	require.NoError(c.t, p.Start())
	fed := make(chan struct{})
	from := c.acked
	go func() {
		defer close(fed)
		c.feed(in, from, lines < 0, upTo)
	}()
	read := bufio.NewScanner(out)
	ended := false
	for n := 0; read.Scan(); n++ {
		if n == lines {
			require.NoError(c.t, p.Process.Kill())
			lines = -1 // what is in the pipe was said before the kill
		}
		ended = c.heard(read.Bytes()) || ended
	}
	_ = in.Close()
	<-fed
	err = p.Wait()
	if upTo > 0 {
		require.NoError(c.t, err)
		require.True(c.t, ended)
	}
}

// feed gives the messages that are not acknowledged, with some given again:
// what the chat replays overlaps with what was taken.
func (c *crash) feed(in io.WriteCloser, next [crashTalks]int, end bool, upTo int) {
	for i := range next {
		next[i] = max(0, next[i]-c.draw.IntN(3))
	}
	give := func(i int) bool {
		m := incoming(talkName(i), next[i])
		next[i]++
		line, _ := json.Marshal(m)
		_, err := in.Write(append(line, '\n'))
		return err == nil
	}
	for !end {
		if !give(c.draw.IntN(crashTalks)) {
			return
		}
	}
	for i := range next {
		for next[i] < upTo {
			if !give(i) {
				return
			}
		}
	}
	_, _ = in.Write([]byte("\n"))
}

func (c *crash) heard(line []byte) (ended bool) {
	var s spoken
	require.NoError(c.t, json.Unmarshal(line, &s), "%s", line)
	require.Empty(c.t, s.Error)
	switch {
	case s.Ended:
		return true
	case s.Ack != "":
		var i, n int
		_, err := fmt.Sscanf(s.Ack, "talk-%d-m%d", &i, &n)
		require.NoError(c.t, err)
		require.LessOrEqual(c.t, n, c.acked[i], "acknowledged out of order")
		c.acked[i] = max(c.acked[i], n+1)
	case c.nonce[s.Nonce] != "":
		require.Equal(c.t, c.nonce[s.Nonce], s.Re, "a nonce stands for another answer")
		c.twice++
	default:
		c.nonce[s.Nonce] = s.Re
		c.got[s.To] = append(c.got[s.To], s)
	}
	return false
}

// The process is killed again and again under load. Afterwards every message
// that was acknowledged has one answer, in order, by a state that lost nothing.
func TestKilled(t *testing.T) {
	kills := 100
	if testing.Short() {
		kills = 12
	}
	c := &crash{
		t: t, path: filepath.Join(t.TempDir(), "triagebot.db"), draw: rand.New(rand.NewPCG(5, 4)),
		got: map[string][]spoken{}, nonce: map[string]string{},
	}
	for range kills {
		c.life(c.draw.IntN(300), 0)
	}
	acked, most := 0, 0
	for _, n := range c.acked {
		acked, most = acked+n, max(most, n)
	}
	before := c.acked
	c.life(-1, most+1)

	lost, doubled, disordered := 0, 0, 0
	for i := range crashTalks {
		times := map[string]int{}
		for k, s := range c.got[talkName(i)] {
			times[s.Re]++
			if s.Line != echoed(k) {
				disordered++
			}
		}
		for n := range before[i] {
			switch k := times[incoming(talkName(i), n).ID]; {
			case k == 0:
				lost++
			case k > 1:
				doubled++
			}
		}
		for n := range most + 1 {
			assert.Equal(t, 1, times[incoming(talkName(i), n).ID], "answers to message %d of talk %d, of which %d were acknowledged", n, i, before[i])
		}
	}
	t.Logf("%d kills, %d messages acknowledged before the last: lost %d, doubled %d, out of order %d; dropped by nonce %d",
		kills, acked, lost, doubled, disordered, c.twice)
	assert.Zero(t, lost)
	assert.Zero(t, doubled)
	assert.Zero(t, disordered)
	assert.Greater(t, acked, kills*10, "too little load to mean anything")
	_, err := store.Verify(c.path)
	require.NoError(t, err)
}
