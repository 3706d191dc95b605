package tests

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/conversation"
)

var update = flag.Bool("update", false, "write the bot's lines of transcripts-demo anew")

// transcript is a demo conversation; transcripts-demo/FORMAT.md says how it is written.
type transcript struct {
	head     []string // as written, up to the first owner's line
	kit      string
	ends     string
	cautions []string
	owner    []string
	text     string
}

func readTranscript(t *testing.T, path string) transcript {
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	out := transcript{text: string(data)}
	for line := range strings.Lines(out.text) {
		line = strings.TrimRight(line, "\n")
		if says, ok := strings.CutPrefix(line, "> "); ok {
			out.owner = append(out.owner, says)
			continue
		}
		if len(out.owner) > 0 {
			continue
		}
		out.head = append(out.head, line)
		key, value, _ := strings.Cut(line, ":")
		value = strings.TrimSpace(value)
		switch key {
		case "kit":
			out.kit = value
		case "ends":
			out.ends = value
		case "cautions":
			for c := range strings.SplitSeq(value, ",") {
				out.cautions = append(out.cautions, strings.TrimSpace(c))
			}
		}
	}
	return out
}

func TestTranscripts(t *testing.T) {
	paths, err := filepath.Glob("../transcripts-demo/*.txt")
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(paths), 14)
	e := newEngine(t)
	for _, path := range paths {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".txt"), func(t *testing.T) {
			want := readTranscript(t, path)
			talk := newTalk(t, e, want.kit)
			var b strings.Builder
			b.WriteString(strings.TrimRight(strings.Join(want.head, "\n"), "\n") + "\n")
			for _, says := range want.owner {
				turn := talk.say(says)
				b.WriteString("\n> " + says + "\n")
				for _, line := range turn.Say {
					b.WriteString("  " + line + "\n")
				}
			}
			if *update {
				require.NoError(t, os.WriteFile(path, []byte(b.String()), 0o644))
			} else {
				assert.Equal(t, want.text, b.String())
			}
			assert.Equal(t, want.ends, ending(talk.st))
			for _, c := range want.cautions {
				assert.Contains(t, warned(talk.st), c, "caution not given")
			}
			replayed := conversation.Replay(talk.events)
			assert.Equal(t, talk.st, replayed, "replaying the events must give the same state")
		})
	}
}

// ending says in a word or two how a talk stands.
func ending(st *conversation.State) string {
	last := ""
	if n := len(st.Attempts); n > 0 {
		last = st.Attempts[n-1].Remedy
	}
	switch st.Phase {
	case conversation.Naming:
		return "named " + last
	case conversation.Done:
		if st.Reason == conversation.ReasonCured {
			return "cured " + last
		}
	}
	return string(st.Phase) + " " + st.Reason
}

func warned(st *conversation.State) []string {
	var ids []string
	for _, w := range st.Warned {
		ids = append(ids, w.Caution)
	}
	return ids
}
