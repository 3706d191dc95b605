package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile"
	"triagebot/conversation"
)

// did is what a run of the program left behind.
type did struct {
	code     int
	out, err string
}

func do(t *testing.T, in string, args ...string) did {
	t.Helper()
	var out, errs bytes.Buffer
	code := run(context.Background(), args, streams{strings.NewReader(in), &out, &errs})
	return did{code, out.String(), errs.String()}
}

// objects reads JSON lines.
func objects(t *testing.T, text string) []map[string]any {
	t.Helper()
	var list []map[string]any
	for line := range strings.Lines(text) {
		var o map[string]any
		require.NoError(t, json.Unmarshal([]byte(line), &o), "%s", line)
		assert.EqualValues(t, 1, o["v"])
		list = append(list, o)
	}
	return list
}

func TestMatchLines(t *testing.T) {
	r := do(t, "screen lights up but nothing when I twist\n{\"id\":7,\"text\":\"smoke from under the seat\",\"more\":1}\n", "match")
	require.Equal(t, exitFine, r.code, r.err)
	list := objects(t, r.out)
	require.Len(t, list, 2)
	assert.Nil(t, list[0]["id"])
	assert.Contains(t, symptoms(list[0]), "no-drive present")
	assert.EqualValues(t, 7, list[1]["id"])
	assert.Equal(t, []any{"smoke"}, list[1]["danger"])
	for _, key := range []string{"text", "kit", "danger", "symptoms", "readings", "offtopic"} {
		assert.Contains(t, list[0], key)
	}
}

func symptoms(o map[string]any) []string {
	var list []string
	for _, s := range o["symptoms"].([]any) {
		m := s.(map[string]any)
		list = append(list, m["id"].(string)+" "+m["state"].(string))
	}
	return list
}

func TestReplyLines(t *testing.T) {
	r := do(t, "4v2\nno meter here\n{\"id\":\"a\",\"check\":\"fuse-continuity\",\"text\":\"OL\"}\n"+
		"{\"id\":\"b\",\"text\":\"the second one\",\"ask\":\"look\",\"options\":[\"red\",\"green\"]}\n", "reply", "--check", "throttle-rest")
	require.Equal(t, exitFine, r.code, r.err)
	list := objects(t, r.out)
	require.Len(t, list, 4)
	assert.Equal(t, "reading", list[0]["intent"])
	assert.InDelta(t, 4.2, list[0]["value"], 1e-9)
	assert.Equal(t, "V", list[0]["unit"])
	assert.Equal(t, []any{4.2}, list[0]["values"])
	assert.Equal(t, "cannot", list[1]["intent"])
	assert.Nil(t, list[1]["value"])
	assert.Equal(t, "OL", list[2]["value"])
	assert.Equal(t, "choice", list[3]["intent"])
	assert.Equal(t, "green", list[3]["choice"])
}

func TestJudge(t *testing.T) {
	r := do(t, "", "judge", "--check", "throttle-5v", "--value", "5.31", "--unit", "V", "--kit", "sorrel-60")
	require.Equal(t, exitFine, r.code, r.err)
	o := objects(t, r.out)[0]
	assert.Equal(t, "too-close", o["judgement"], "5.31 V against a limit of 5.30 V")
	sum := 0.0
	for _, w := range o["windows"].([]any) {
		sum += w.(map[string]any)["probability"].(float64)
	}
	assert.InDelta(t, 1, sum, 1e-9)

	r = do(t, "", "judge", "--check", "throttle-rest", "--value", "5700", "--unit", "mV", "--given", "throttle-5v=5.0")
	o = objects(t, r.out)[0]
	assert.Equal(t, "odd", o["judgement"])
	assert.NotEmpty(t, o["odd"])

	for _, bad := range [][]string{
		{"judge", "--check", "throttle-5v", "--value", "5", "--unit", "ohm"},
		{"judge", "--check", "throttle-5v", "--value", "1e400", "--unit", "V"},
		{"judge", "--check", "throttle-5v", "--value", "NaN", "--unit", "V"},
		{"judge", "--check", "throttle-5w", "--value", "5", "--unit", "V"},
		{"judge", "--check", "look-display", "--value", "5", "--unit", "V"},
		{"judge", "--value", "5"},
	} {
		r := do(t, "", bad...)
		assert.NotEqual(t, exitFine, r.code, "%v", bad)
		assert.NotEmpty(t, r.err, "%v", bad)
		assert.Empty(t, r.out, "%v", bad)
	}
}

// Each message names what was wrong and what to do, and nothing is judged.
func TestMistakesOfTheCommandLine(t *testing.T) {
	missing := filepath.Join(t.TempDir(), "nowhere")
	empty := t.TempDir()
	const how = "write it as the meter shows it"
	judge := func(more ...string) []string { return append([]string{"judge", "--check", "throttle-rest"}, more...) }
	for _, c := range []struct {
		args []string
		code int
		says []string
	}{
		{[]string{"check", missing}, exitFound, []string{"there is no folder", missing, "give the path"}},
		{[]string{"match", "--kb", missing}, exitFound, []string{missing, "give the path"}},
		{[]string{"match", "--kb", "../../kb/testdata/bad/limit-slips"}, exitFound, []string{"see all with: triagebot check ../../kb/testdata/bad/limit-slips"}},
		{[]string{"judge", "--check", "thrttle-rest", "--value", "1"}, exitUsage, []string{`did you mean "throttle-rest"?`}},
		{[]string{"judge", "--check", "banana", "--value", "1"}, exitUsage, []string{"give the id of one"}},
		{[]string{"reply", "--check", "thrttle-rest"}, exitUsage, []string{`did you mean "throttle-rest"?`}},
		{judge("--value", "1", "--kit", "sorel-60"), exitUsage, []string{`did you mean "sorrel-60"?`}},
		{judge("--value", "1", "--given", "throttle-5v=0x5"), exitUsage, []string{"0x5", how}},
		{judge("--value", "5", "--unit", "ohm"), exitUsage, []string{"read in V, not in Ω"}},
		{judge("--value", ""), exitUsage, []string{"empty", how}},
		{judge("--value", "0x10"), exitUsage, []string{"0x10", how}},
		{judge("--value", "0b11"), exitUsage, []string{"0b11", how}},
		{judge("--value", "0x1p4"), exitUsage, []string{"0x1p4", how}},
		{judge("--value", "1_000"), exitUsage, []string{"1_000", how}},
		{judge("--value", "1e400"), exitUsage, []string{"1e400", how}},
		{judge("--value", "NaN"), exitUsage, []string{"NaN", how}},
		{judge("--value", "-Inf"), exitUsage, []string{"-Inf", how}},
		{judge("--value", "1 and 2"), exitUsage, []string{"1 and 2", how}},
	} {
		r := do(t, "", c.args...)
		assert.Equal(t, c.code, r.code, "%v", c.args)
		assert.Empty(t, r.out, "%v", c.args)
		for _, says := range c.says {
			assert.Contains(t, r.err, says, "%v", c.args)
		}
	}
	r := do(t, "", "check", empty)
	assert.Equal(t, exitFound, r.code)
	assert.True(t, strings.HasPrefix(r.out, empty+": error: there is no .yaml file"), r.out)
}

func TestJudgeReadsWhatOwnersWrite(t *testing.T) {
	for value, want := range map[string]any{
		"0,8": 0.8, "-0.8": -0.8, ".5": 0.5, "5.": 5.0, "4v2": 4.2, "4.2V": 4.2, "850mV": 0.85, " 3 ": 3.0, "~3": 3.0, "O.8": 0.8, "1e3": 1000.0, "OL": "OL",
	} {
		r := do(t, "", "judge", "--check", "throttle-rest", "--value", value)
		require.Equal(t, exitFine, r.code, "%q: %s", value, r.err)
		got := objects(t, r.out)[0]["value"]
		if x, ok := want.(float64); ok {
			assert.InDelta(t, x, got, 1e-9, value)
		} else {
			assert.Equal(t, want, got, value)
		}
	}
}

func TestPathsCanBePastedBack(t *testing.T) {
	assert.Equal(t, "rules/bike-2", quoted("rules/bike-2"))
	assert.Equal(t, `'my rules; it'\''s'`, quoted("my rules; it's"))
}

func TestChatLines(t *testing.T) {
	in := "lights up fine but twisting does nothing\n{\"text\":\"why\"}\ncan I talk to a person\n"
	r := do(t, in, "chat", "--jsonl", "--kit", "sorrel-60", "--seed", "3")
	require.Equal(t, exitFine, r.code, r.err)
	list := objects(t, r.out)
	require.Len(t, list, 3)
	for i, o := range list {
		assert.EqualValues(t, i+1, o["turn"])
		for _, key := range []string{"say", "state", "ask", "understood", "suspects", "cautions", "case"} {
			assert.Contains(t, o, key)
		}
	}
	assert.Equal(t, "asking", list[0]["state"])
	assert.Equal(t, "handed-over", list[2]["state"])
	assert.Nil(t, list[2]["ask"])
	validCase(t, list[2]["case"])
}

func validCase(t *testing.T, c any) {
	t.Helper()
	require.NotNil(t, c)
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(casefile.Schema()))
	require.NoError(t, err)
	compiler := jsonschema.NewCompiler()
	require.NoError(t, compiler.AddResource("case.schema.json", doc))
	schema, err := compiler.Compile("case.schema.json")
	require.NoError(t, err)
	assert.NoError(t, schema.Validate(c))
}

// Whatever comes in, one object a line comes out, and the talk goes on.
func TestBadLines(t *testing.T) {
	lines := []string{
		"", "   ", "\x00\x01\x02", "\xff\xfe broken", "{", "{}", "{\"text\":5}", "[1,2]", "null",
		"1e400 V", "NaN", "99999999999999999999999999 V", "-", "????", strings.Repeat("a", 1<<20), strings.Repeat("throttle ", 1<<17),
	}
	r := do(t, strings.Join(lines, "\n")+"\n", "chat", "--jsonl", "--kit", "sorrel-60")
	require.Equal(t, exitFine, r.code, r.err)
	assert.Len(t, objects(t, r.out), len(lines))
	for _, command := range [][]string{{"match"}, {"reply", "--check", "throttle-rest"}} {
		r := do(t, strings.Join(lines, "\n")+"\n", command...)
		require.Equal(t, exitFine, r.code, r.err)
		assert.Len(t, objects(t, r.out), len(lines), "%v", command)
	}
}

func TestBadKB(t *testing.T) {
	empty, binary := t.TempDir(), t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(binary, "a.yaml"), []byte("\x00\x01\xff\xfe"), 0o600))
	for _, dir := range []string{empty, binary, filepath.Join(empty, "missing"), filepath.Join(binary, "a.yaml")} {
		for _, args := range [][]string{{"match", "--kb", dir}, {"chat", "--jsonl", "--kb", dir}, {"check", dir}} {
			r := do(t, "hello\n", args...)
			assert.Equal(t, exitFound, r.code, "%v", args)
			assert.NotEmpty(t, r.err+r.out, "%v", args)
			assert.NotContains(t, r.err+r.out, "panic", "%v", args)
		}
	}
}

func TestUsage(t *testing.T) {
	for _, args := range [][]string{{"chats"}, {"chat", "--colour"}, {"match", "stray"}, {"chat", "--kit", "sorel-60", "--jsonl"}} {
		r := do(t, "", args...)
		assert.Equal(t, exitUsage, r.code, "%v", args)
		assert.NotEmpty(t, r.err)
	}
	r := do(t, "")
	assert.Equal(t, exitFine, r.code)
	assert.Contains(t, r.out, "chat")
}

func TestCheckCommand(t *testing.T) {
	r := do(t, "", "check")
	assert.Equal(t, exitFine, r.code, r.out)
	r = do(t, "", "check", "../../kb/testdata/good/greenhouse")
	assert.Equal(t, exitFine, r.code, r.out)
	bad := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(bad, "a.yaml"), []byte("symptom:\n  - id: x\n"), 0o600))
	r = do(t, "", "check", bad)
	assert.Equal(t, exitFound, r.code)
	assert.Contains(t, r.out, "a.yaml:1:1: error: ")
	r = do(t, "", "check", "--json", bad)
	first, _, _ := strings.Cut(r.out, "\n")
	var d map[string]any
	require.NoError(t, json.Unmarshal([]byte(first), &d))
	assert.Equal(t, "a.yaml", d["file"])
}

// A folder of another trade works as well: nothing in the program knows a bike.
func TestAnotherTrade(t *testing.T) {
	says := []string{"the far end stays dry, poor flow", "it is the propagation bench", "12 V", "enough water", "it is clogged", "works, thanks"}
	r := do(t, strings.Join(says, "\n"), "chat", "--jsonl", "--kb", "../../kb/testdata/good/greenhouse")
	require.Equal(t, exitFine, r.code, r.err)
	var turns []conversation.Turn
	for line := range strings.Lines(r.out) {
		var turn conversation.Turn
		require.NoError(t, json.Unmarshal([]byte(line), &turn))
		turns = append(turns, turn)
	}
	require.Len(t, turns, len(says))
	assert.Equal(t, "look-tank", turns[2].Ask.Check)
	named := turns[4]
	assert.Equal(t, "named", named.State)
	assert.Equal(t, []string{"filter-blocked"}, named.Suspects[0].Causes)
	assert.Nil(t, turns[5].Ask)
	assert.NotContains(t, r.out, "bike")
}

// What takes longer than half a second is said to, once.
func TestProgressNote(t *testing.T) {
	var w bytes.Buffer
	noted := make(chan struct{})
	got := patiently(writes(func(p []byte) (int, error) {
		n, err := w.Write(p)
		close(noted)
		return n, err
	}), func() int { <-noted; return 7 })
	require.Equal(t, 7, got)
	require.Equal(t, "one moment ...\n", w.String())
	require.Equal(t, 8, patiently(nil, func() int { return 8 }), "nothing is written in time")
}

type writes func(p []byte) (int, error)

func (w writes) Write(p []byte) (int, error) { return w(p) }

func TestPersonChatKeepsAndResumes(t *testing.T) {
	t.Setenv("XDG_STATE_HOME", t.TempDir())
	r := do(t, "my sorrel lights up fine but twisting does nothing\n", "chat")
	require.Equal(t, exitFine, r.code, r.err)
	assert.Contains(t, r.out, "Kept. Go on with: triagebot chat --resume ")
	assert.NotContains(t, r.out, "\x1b[", "no colours where there is no terminal")
	question := r.out[strings.LastIndex(r.out, "?")-20 : strings.LastIndex(r.out, "?")]

	r = do(t, "I want a person\n", "chat", "--resume", "last")
	require.Equal(t, exitFine, r.code, r.err)
	assert.Contains(t, r.out, question, "the pending question is shown again")
	assert.Contains(t, r.out, "Case written: ")

	r = do(t, "", "chat", "--resume", "no-such-talk")
	assert.Equal(t, exitFound, r.code)
	assert.Contains(t, r.err, "no-such-talk")
}

// A talk whose last line was cut short by a crash is taken up before that line.
func TestTornTalk(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("XDG_STATE_HOME", dir)
	r := do(t, "my sorrel lights up fine but twisting does nothing\n", "chat")
	require.Equal(t, exitFine, r.code, r.err)
	paths, err := filepath.Glob(filepath.Join(dir, "triagebot", "*.talk"))
	require.NoError(t, err)
	require.Len(t, paths, 1)
	data, err := os.ReadFile(paths[0])
	require.NoError(t, err)
	for _, cut := range []int{1, 9} { // the line end alone, and part of the event
		require.NoError(t, os.WriteFile(paths[0], data[:len(data)-cut], 0o600))
		r = do(t, "a person please\n", "chat", "--resume", "last")
		assert.Equal(t, exitFine, r.code, r.err)
		r = do(t, "thanks\n", "chat", "--resume", "last")
		assert.Equal(t, exitFine, r.code, "what was added stands on lines of its own: %s", r.err)
	}
}
