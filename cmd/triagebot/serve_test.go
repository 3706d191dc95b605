package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/api"
	"triagebot/casefile/store"
)

// childConfig makes the test binary the program itself, so that it can be
// killed and stopped as one.
const childConfig = "TRIAGEBOT_SERVE_CHILD"

func TestMain(m *testing.M) {
	if path := os.Getenv(childConfig); path != "" {
		os.Args = []string{"triagebot", "serve", "--config", path}
		main()
	}
	os.Exit(m.Run())
}

const (
	tokenAnna   = "token-of-anna-which-nobody-guesses"
	tokenBen    = "token-of-ben-which-nobody-guesses"
	tokenBridge = "token-of-the-bridge-nobody-guesses"
)

// place is a folder with a config, and the chat that the bot is bridged to.
type place struct {
	t      testing.TB
	config string
	store  string
	chat   *httptest.Server

	mu    sync.Mutex
	got   map[string][]api.Delivery
	nonce map[string]bool
	twice int
	heard func() // on every delivery, copies among them
}

func newPlace(t testing.TB, more string) *place {
	t.Helper()
	dir := t.TempDir()
	p := &place{t: t, config: filepath.Join(dir, "c.yaml"), store: filepath.Join(dir, "triagebot.db"), got: map[string][]api.Delivery{}, nonce: map[string]bool{}}
	p.chat = httptest.NewServer(http.HandlerFunc(p.take))
	t.Cleanup(p.chat.Close)
	kb, err := filepath.Abs("../../kb/testdata/good/greenhouse")
	require.NoError(t, err)
	for name, token := range map[string]string{"anna": tokenAnna, "ben": tokenBen, "bridge": tokenBridge} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name+".token"), []byte(token+"\n"), 0o600))
	}
	text := fmt.Sprintf(`store: triagebot.db
kb: %s
api: {listen: "127.0.0.1:0"}
people:
  - {name: "local:anna", roles: [volunteer, keeper], token: {file: anna.token}}
  - {name: "local:ben", roles: [volunteer], token: {file: ben.token}}
bridge: {deliver: "%s", token: {file: bridge.token}, volunteers: the-desk}
limits: {owner_burst: 1000000, server_burst: 1000000}
%s`, kb, p.chat.URL, more)
	require.NoError(t, os.WriteFile(p.config, []byte(text), 0o600))
	return p
}

// take is the chat: what has its nonce already is dropped.
func (p *place) take(w http.ResponseWriter, r *http.Request) {
	var d api.Delivery
	err := json.NewDecoder(r.Body).Decode(&d)
	p.mu.Lock()
	defer p.mu.Unlock()
	assert.NoError(p.t, err)
	if p.nonce[d.Nonce] {
		p.twice++
	} else {
		p.nonce[d.Nonce] = true
		p.got[d.To] = append(p.got[d.To], d)
	}
	if p.heard != nil {
		p.heard()
	}
}

func (p *place) sent(to string) []api.Delivery {
	p.mu.Lock()
	defer p.mu.Unlock()
	return append([]api.Delivery(nil), p.got[to]...)
}

// life is the program while it runs, as a process of its own.
type life struct {
	*exec.Cmd
	url    string
	log    bytes.Buffer
	client *http.Client
}

// start runs the program and, unless it is killed before, returns once it listens.
func (p *place) start() *life {
	p.t.Helper()
	exe, err := os.Executable()
	require.NoError(p.t, err)
	l := &life{Cmd: exec.Command(exe), client: &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 64}}}
	l.Env = append(os.Environ(), childConfig+"="+p.config)
	l.Stderr = &l.log
	out, err := l.StdoutPipe()
	require.NoError(p.t, err)
	require.NoError(p.t, l.Start())
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		_ = l.Wait()
		require.NoError(p.t, err, "it does not start: %s", l.log.String())
	}
	l.url = strings.TrimSpace(strings.TrimPrefix(line, "listening on "))
	return l
}

func (l *life) as(token string) *api.Client {
	return &api.Client{URL: l.url, Token: token, HTTP: l.client}
}

func (l *life) get(t testing.TB, path string) (int, string) {
	t.Helper()
	a, err := l.client.Get(l.url + path)
	require.NoError(t, err)
	defer a.Body.Close()
	data, err := io.ReadAll(a.Body)
	require.NoError(t, err)
	return a.StatusCode, string(data)
}

// ends waits until the program ends by itself.
func (l *life) ends(t testing.TB) error {
	t.Helper()
	l.client.CloseIdleConnections()
	late := time.AfterFunc(time.Minute, func() { _ = l.Process.Kill() })
	err := l.Wait()
	require.True(t, late.Stop(), "it does not end: %s", l.log.String())
	return err
}

// stop tells it to stop, and waits.
func (l *life) stop(t testing.TB) {
	t.Helper()
	require.NoError(t, l.Process.Signal(syscall.SIGTERM))
	require.NoError(t, l.ends(t), "%s", l.log.String())
}

func (l *life) say(ctx context.Context, id, talk, text string) (api.Took, error) {
	return l.as(tokenBridge).Hand(ctx, api.Message{ID: id, Conversation: talk, Owner: "ada-of-the-marsh", Text: text})
}

func (l *life) cli(t *testing.T, token string, args ...string) did {
	t.Helper()
	t.Setenv(envToken, token)
	t.Setenv(envURL, l.url)
	return do(t, "", args...)
}

// The program with everything but a chat of its own: owners, volunteers from the
// command line, health, metrics, a stop in the middle and a start.
func TestServe(t *testing.T) {
	p := newPlace(t, "")
	l := p.start()
	defer func() { _ = l.Process.Kill() }()
	const words = "my zebra plants are all dry"
	for i, text := range []string{words, "I want a person"} {
		took, err := l.say(t.Context(), fmt.Sprintf("m%d", i), "t1", text)
		require.NoError(t, err)
		require.True(t, took.Taken)
	}
	r := l.cli(t, tokenAnna, "cases", "list")
	require.Equal(t, exitFine, r.code, r.err)
	assert.Contains(t, r.out, "1     waiting  -    -")
	r = l.cli(t, tokenAnna, "cases", "take", "1")
	assert.Equal(t, "case 1: taken; its owner is told\n", r.out, r.err)
	r = l.cli(t, tokenBen, "cases", "take", "1")
	assert.Equal(t, exitFound, r.code)
	assert.Equal(t, "triagebot: case 1 is taken by local:anna\n", r.err)
	r = l.cli(t, tokenAnna, "cases", "note", "1", "looks", "\x1b[31mdry")
	assert.Equal(t, exitFine, r.code, r.err)
	r = l.cli(t, tokenAnna, "cases", "list", "--mine", "--json")
	assert.Contains(t, r.out, `"taker":"local:anna"`)
	r = l.cli(t, tokenBen, "cases", "show", "1")
	assert.Contains(t, r.out, "case 1: taken, by local:anna")
	assert.Contains(t, r.out, words)
	assert.NotContains(t, r.out, "\x1b", "a note does not steer the terminal")

	status, body := l.get(t, "/healthz")
	assert.Equal(t, http.StatusOK, status, body)
	_, body = l.get(t, "/metrics")
	for _, line := range []string{`triagebot_cases{state="taken"} 1`, "triagebot_talks 1", "triagebot_turn_seconds_count 2", `triagebot_turns_total{phase="handed-over"} 1`,
		"triagebot_store_failed 0", "go_goroutines"} {
		assert.Contains(t, body, line)
	}
	for _, private := range []string{"zebra", "ada-of", "local:", "bridge:"} {
		assert.NotContains(t, body, private)
	}
	copied := filepath.Join(t.TempDir(), "copy.db")
	r = l.cli(t, tokenAnna, "backup", "--store", p.store, copied)
	assert.Contains(t, r.err, "go through it with --running")
	r = l.cli(t, tokenAnna, "backup", "--running", copied)
	require.Equal(t, exitFine, r.code, r.err)
	found, err := store.Verify(copied)
	require.NoError(t, err)
	assert.EqualValues(t, 1, found.Conversations)
	l.stop(t)
	assert.Contains(t, l.log.String(), "stopping")
	for _, private := range []string{"zebra", "ada-of", tokenAnna, tokenBridge} {
		assert.NotContains(t, l.log.String(), private)
	}
	r = l.cli(t, tokenAnna, "cases", "list")
	assert.Contains(t, r.err, "the bot is not running there; start it with: triagebot serve --config FILE")

	l = p.start()
	r = l.cli(t, tokenAnna, "cases", "hand-on", "1")
	assert.Equal(t, "case 1: goes on to whoever takes it\n", r.out, r.err)
	r = l.cli(t, tokenBen, "cases", "take", "1")
	require.Equal(t, exitFine, r.code, r.err)
	r = l.cli(t, tokenBen, "cases", "ask", "1", "look-lmp")
	assert.Contains(t, r.err, `did you mean "look-lamp"?`)
	r = l.cli(t, tokenBen, "cases", "ask", "1", "look-lamp")
	assert.Equal(t, "case 1: the owner is asked look-lamp\n", r.out, r.err)
	_, err = l.say(t.Context(), "m7", "t1", "lit")
	require.NoError(t, err)
	r = l.cli(t, tokenBen, "cases", "close", "1", "--cause", "fuse-blown")
	assert.Equal(t, exitUsage, r.code)
	r = l.cli(t, tokenBen, "cases", "close", "1", "--cause", "fuse-blown", "--remedy", "replace-fuse")
	assert.Equal(t, "case 1: closed; its owner is told\n", r.out, r.err)
	r = l.cli(t, tokenBen, "cases", "reopen", "1")
	assert.Equal(t, exitFine, r.code, r.err)
	r = l.cli(t, tokenBen, "forget", "--running", "bridge:ada-of-the-marsh")
	assert.Contains(t, r.err, "takes the role keeper")
	r = l.cli(t, tokenAnna, "forget", "--running", "bridge:ada-of-the-marsh")
	assert.Contains(t, r.out, "erased: 1 conversations, 1 cases", r.err)
	l.stop(t)
	data, err := os.ReadFile(p.store)
	require.NoError(t, err)
	assert.NotContains(t, string(data), "zebra")
}

func TestServeMisused(t *testing.T) {
	r := do(t, "", "serve")
	assert.Equal(t, exitUsage, r.code)
	path := filepath.Join(t.TempDir(), "c.yaml")
	require.NoError(t, os.WriteFile(path, []byte("stroe: a.db\n"), 0o600))
	r = do(t, "", "serve", "--config", path)
	assert.Equal(t, exitFound, r.code)
	assert.Contains(t, r.err, path+`:1:1: there is no key "stroe"; did you mean "store"?`)
	for _, args := range [][]string{{"cases", "take"}, {"cases", "take", "x"}, {"cases", "ask", "1"}, {"cases", "note", "1"}, {"cases", "close", "1"},
		{"cases", "close", "1", "--not-found", "--cause", "x"}, {"cases", "lst"}, {"cases", "list", "x"}} {
		assert.Equal(t, exitUsage, do(t, "", args...).code, args)
	}
	t.Setenv(envToken, "")
	r = do(t, "", "cases", "list")
	assert.Equal(t, exitUsage, r.code)
	assert.Contains(t, r.err, "no token is given")
}

// A store that another process holds, and a port that is taken, are told; what
// was opened before is closed.
func TestServeCannotStart(t *testing.T) {
	p := newPlace(t, "")
	s, err := store.Open(p.store, store.Options{Now: time.Now})
	require.NoError(t, err)
	r := do(t, "", "serve", "--config", p.config)
	assert.Equal(t, exitFound, r.code)
	assert.Contains(t, r.err, "is held by process")
	require.NoError(t, s.Close())

	data, err := os.ReadFile(p.config)
	require.NoError(t, err)
	taken := strings.TrimPrefix(p.chat.URL, "http://")
	require.NoError(t, os.WriteFile(p.config, bytes.Replace(data, []byte("127.0.0.1:0"), []byte(taken), 1), 0o600))
	r = do(t, "", "serve", "--config", p.config)
	assert.Equal(t, exitFound, r.code)
	assert.Contains(t, r.err, "listening for the local interface")
	_, err = store.Verify(p.store)
	require.NoError(t, err, "the store is free and sound")
}

// Told to stop under load, it ends in order: every message that was acknowledged
// is in the store, and the store is sound.
func TestServeStopsUnderLoad(t *testing.T) {
	p := newPlace(t, "")
	l := p.start()
	var (
		all   sync.WaitGroup
		mu    sync.Mutex
		acked = map[string]int{}
		first = make(chan struct{}, 1000)
	)
	for i := range 8 {
		all.Go(func() {
			talk := fmt.Sprintf("t%d", i)
			for n := 0; ; n++ {
				took, err := l.say(context.Background(), fmt.Sprintf("%s-%d", talk, n), talk, "dry")
				if err != nil || !took.Taken {
					return
				}
				mu.Lock()
				acked[talk] = n + 1
				mu.Unlock()
				select {
				case first <- struct{}{}:
				default:
				}
			}
		})
	}
	for range 100 {
		<-first
	}
	l.stop(t)
	all.Wait()
	s, err := store.Open(p.store, store.Options{Now: time.Now, MustExist: true})
	require.NoError(t, err)
	defer s.Close()
	for talk, n := range acked {
		kept, _, err := s.Conversation(api.Place + talk)
		require.NoError(t, err)
		assert.GreaterOrEqual(t, int(kept.Turns), n)
	}
}
