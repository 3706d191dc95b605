package main

import (
	"bufio"
	"context"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// startedAt runs a command until the test ends it, and reads the address it prints.
func startedAt(t *testing.T, args ...string) (address string, stop func() int) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	out, printed := io.Pipe()
	code := make(chan int, 1)
	go func() {
		code <- run(ctx, args, streams{strings.NewReader(""), printed, io.Discard})
		_ = printed.Close()
	}()
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if _, a, ok := strings.Cut(lines.Text(), "http://"); ok && !strings.HasPrefix(lines.Text(), "listening") {
			address = "http://" + a
			break
		}
	}
	go func() { _, _ = io.Copy(io.Discard, out) }()
	require.NotEmpty(t, address, "no address was printed")
	return address, func() int { cancel(); return <-code }
}

func page(t *testing.T, r *http.Response, err error) string {
	t.Helper()
	require.NoError(t, err)
	defer r.Body.Close()
	data, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	require.Equal(t, http.StatusOK, r.StatusCode, string(data))
	return string(data)
}

// With nothing set up: a talk in a browser, which a named file keeps.
func TestChatInABrowser(t *testing.T) {
	file := filepath.Join(t.TempDir(), "kept", "talks.db")
	at, stop := startedAt(t, "chat", "--web", "--store", file)
	r, err := http.PostForm(at+"/", url.Values{"say": {"my sorrel's display lights up fine but twisting does nothing"}})
	text := page(t, r, err)
	assert.Contains(t, text, "Understood: the throttle does nothing")
	link := r.Request.URL.Path
	assert.Equal(t, exitFine, stop(), "Ctrl-C is no failure")

	at, stop = startedAt(t, "chat", "--web", "--store", file)
	r, err = http.Get(at + link)
	assert.Contains(t, page(t, r, err), "twisting does nothing", "the link leads back")
	stop()

	t.Setenv("TMPDIR", t.TempDir())
	at, stop = startedAt(t, "chat", "--web")
	r, err = http.Get(at + "/")
	assert.Contains(t, page(t, r, err), "Find the fault")
	stop()
	left, err := os.ReadDir(os.Getenv("TMPDIR"))
	require.NoError(t, err)
	assert.Empty(t, left, "nothing stays behind")
}

func TestPagesUnderServe(t *testing.T) {
	dir := t.TempDir()
	conf := filepath.Join(dir, "c.yaml")
	require.NoError(t, os.WriteFile(conf, []byte("store: t.db\napi: {listen: \"127.0.0.1:0\"}\npages: {listen: \"127.0.0.1:0\"}\nlog: {level: error}\n"), 0o600))
	at, stop := startedAt(t, "serve", "--config", conf)
	r, err := http.PostForm(at+"/", url.Values{"say": {"my sorrel's display lights up fine but twisting does nothing"}})
	assert.Contains(t, page(t, r, err), "Understood: the throttle does nothing")
	news, err := http.Get(at + r.Request.URL.Path + "/news")
	require.NoError(t, err)
	defer news.Body.Close()
	assert.Equal(t, "text/event-stream", news.Header.Get("Content-Type"))
	assert.Equal(t, exitFine, stop(), "pages that follow do not hold it up")
}

func TestChatInABrowserTakesNoTalkOfAnotherKind(t *testing.T) {
	for _, args := range [][]string{{"--kit", "sorrel-60"}, {"--jsonl"}, {"--resume", "last"}} {
		r := do(t, "", append([]string{"chat", "--web"}, args...)...)
		assert.Equal(t, exitUsage, r.code, "%v", args)
	}
}
