package web

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/conversation"
	"triagebot/hearing"
	"triagebot/kb"
)

// Over all demo conversations: nothing that the bot says is lost on the page, but
// for the numbers of answers, which are buttons there, drawings in characters,
// and how to answer. No caution stands among the instructions.
func TestNothingSaidIsLost(t *testing.T) {
	k, _ := kb.Load(kb.Embedded())
	e, closer, err := hearing.Engine(k)
	require.NoError(t, err)
	defer closer.Close()
	s := &Server{c: Config{KB: k, Engine: e}}
	files, err := filepath.Glob("../transcripts-demo/*.txt")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	asked := 0
	for _, file := range files {
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		var events []conversation.Event
		st := conversation.NewState()
		for line := range strings.SplitSeq(string(data), "\n") {
			msg, is := strings.CutPrefix(line, "> ")
			if !is {
				continue
			}
			fresh, turn, err := e.Step(st, msg, time.Unix(0, 0))
			require.NoError(t, err)
			for _, ev := range fresh {
				st.Apply(ev)
			}
			events = append(events, fresh...)
			page := s.fold(events)
			if turn.Ask != nil {
				asked++
				require.NotNil(t, page.Now, "%s: %s", file, msg)
				assert.NotEmpty(t, page.Now.Asks, "%s: %s", file, msg)
				assert.Equal(t, turn.Ask.Options, page.Now.Options)
			} else {
				assert.Nil(t, page.Now, "%s: %s", file, msg)
			}
			holds(t, s, file+": "+msg, page, turn)
		}
	}
	assert.Greater(t, asked, 50)
}

func holds(t *testing.T, s *Server, where string, page talk, turn conversation.Turn) {
	t.Helper()
	tongue := s.in(page.State)
	var shown []string
	last := page.Steps[len(page.Steps)-1]
	for _, l := range last.Heard {
		shown = append(shown, l.Text)
	}
	if q := page.Now; q != nil {
		shown = append(shown, q.Cautions...)
		shown = append(shown, q.Before...)
		shown = append(shown, q.Steps...)
		shown = append(shown, q.After...)
		shown = append(shown, q.Asks)
		for _, l := range slices.Concat(q.Before, q.Steps, q.After) {
			_, is := tongue.caution(l)
			assert.False(t, is, "%s: %q is a caution", where, l)
		}
	}
	for _, l := range turn.Say {
		switch {
		case slices.Contains(shown, l), drawn(l), button(turn.Ask, l), instructs(l):
			continue
		case page.Now != nil && page.Now.Remedy != nil && strings.Contains(l, page.Now.Remedy.Name):
			continue // the heading
		}
		text, is := tongue.caution(l)
		if _, numbered, ok := strings.Cut(l, ". "); !is && ok {
			text = numbered
		}
		assert.Contains(t, shown, text, where)
	}
}

// drawn are lines of a drawing in characters, and empty ones.
func drawn(l string) bool {
	return strings.TrimSpace(l) == "" || strings.ContainsFunc(l, func(r rune) bool { return r >= 0x2500 && r <= 0x25ff })
}

func button(ask *conversation.TurnAsk, l string) bool {
	return ask != nil && slices.ContainsFunc(ask.Options, func(o conversation.TurnOption) bool { return strings.HasSuffix(l, ". "+o.Label) })
}

// instructs are the sentences that say how to answer in a chat.
func instructs(l string) bool {
	return slices.ContainsFunc([]string{"Answer with a number", `Say "how"`, "Contesta con un número", "Di «cómo»", "Antworte mit einer Zahl", "Sag „wie“"}, func(s string) bool { return strings.HasPrefix(l, s) })
}
