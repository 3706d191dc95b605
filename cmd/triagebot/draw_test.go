package main

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"flag"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write the pictures of the README anew")

func TestDrawOneCheck(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "new", "folder")
	r := do(t, "", "draw", "--kit", "sorrel-60", "--check", "throttle-rest", "--as", "svg,png,text", "--to", dir)
	require.Equal(t, exitFine, r.code, r.err)
	base := filepath.Join(dir, "sorrel-60-throttle-rest")
	assert.Equal(t, base+".svg\n"+base+".png\n"+base+".txt\n", r.out)

	drawn, err := os.ReadFile(base + ".svg")
	require.NoError(t, err)
	require.NoError(t, xml.Unmarshal(drawn, new(struct{})))
	image, err := os.ReadFile(base + ".png")
	require.NoError(t, err)
	size, err := png.DecodeConfig(bytes.NewReader(image))
	require.NoError(t, err)
	assert.Equal(t, 720, size.Width)
	text, err := os.ReadFile(base + ".txt")
	require.NoError(t, err)
	assert.Contains(t, string(text), "RED → signal pin of the throttle plug, green wire")

	r = do(t, "", "draw", "--kit", "sorrel-60", "--check", "throttle-rest", "--to", "-")
	assert.Equal(t, string(drawn), r.out, "the output carries the same bytes")
	r = do(t, "", "draw", "--kit", "sorrel-60", "--check", "throttle-rest", "--as", "png", "--to", "-")
	assert.Equal(t, string(image), r.out)
	r = do(t, "", "draw", "--kit", "sorrel-60", "--check", "throttle-rest", "--as", "text")
	assert.Equal(t, strings.Fields(string(text)), strings.Fields(r.out), "text goes to the terminal")
}

func TestDrawAKitAndItsLine(t *testing.T) {
	r := do(t, "", "draw", "--kit", "yarrow-72", "--line", "--as", "text")
	require.Equal(t, exitFine, r.code, r.err)
	assert.Contains(t, r.out, "Key switch")
	assert.NotContains(t, r.out, "RED")

	dir := t.TempDir()
	r = do(t, "", "draw", "--kit", "yarrow-72", "--to", dir)
	require.Equal(t, exitFine, r.code, r.err)
	files, err := filepath.Glob(filepath.Join(dir, "*"))
	require.NoError(t, err)
	assert.Len(t, files, strings.Count(r.out, "\n"))
	for _, name := range []string{"line", "throttle-rest", "motor-temp-ohms", "pack-volts"} {
		assert.FileExists(t, filepath.Join(dir, "yarrow-72-"+name+".svg"))
	}

	r = do(t, "", "draw", "--kit", "yarrow-72", "--as", "text")
	require.Equal(t, exitFine, r.code, r.err)
	assert.Equal(t, len(files), strings.Count(r.out, " (Yarrow 72 trail bike)\n"), "every picture is there in text too")
}

// The case that chat leaves behind is drawn as it lies there.
func TestDrawTheCaseOfATalk(t *testing.T) {
	state := t.TempDir()
	t.Setenv("XDG_STATE_HOME", state)
	r := do(t, "my sorrel lights up fine but twisting does nothing\nI want a person\n", "chat")
	require.Equal(t, exitFine, r.code, r.err)
	files, err := filepath.Glob(filepath.Join(state, "triagebot", "*.json"))
	require.NoError(t, err)
	require.Len(t, files, 1)
	to := t.TempDir()
	r = do(t, "", "draw", "--case", files[0], "--as", "svg,text", "--to", to)
	require.Equal(t, exitFine, r.code, r.err)
	assert.Empty(t, r.err, "judged by these very rules")
	name := filepath.Join(to, strings.TrimSuffix(filepath.Base(files[0]), ".json"))
	assert.Equal(t, name+".svg\n"+name+".txt\n", r.out, "named after the case")
	text, err := os.ReadFile(name + ".txt")
	require.NoError(t, err)
	assert.Contains(t, string(text), "Suspect 1")

	data, err := os.ReadFile(files[0])
	require.NoError(t, err)
	r = do(t, string(data), "draw", "--case", "-", "--as", "text")
	require.Equal(t, exitFine, r.code, r.err)
	assert.Equal(t, strings.Fields(string(text)), strings.Fields(r.out))

	other := strings.Replace(string(data), `"version": "`, `"version": "x`, 1)
	r = do(t, other, "draw", "--case", "-", "--as", "text")
	assert.Equal(t, exitFine, r.code)
	assert.Contains(t, r.err, "judged by version x")
}

func TestDrawRefuses(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "file")
	require.NoError(t, os.WriteFile(file, []byte("# not a case"), 0o600))
	for name, in := range map[string]struct {
		args []string
		code int
		says string
	}{
		"nothing":          {nil, exitUsage, "say what to draw"},
		"a near kit":       {[]string{"--kit", "sorel-60"}, exitUsage, `did you mean "sorrel-60"?`},
		"no such kit":      {[]string{"--kit", "tandem"}, exitUsage, "there are: "},
		"a near check":     {[]string{"--kit", "sorrel-60", "--check", "throtle-rest"}, exitUsage, "did you mean throttle-rest?"},
		"a like check":     {[]string{"--kit", "sorrel-60", "--check", "signal-rest"}, exitUsage, "throttle-rest"},
		"no such check":    {[]string{"--kit", "sorrel-60", "--check", "kettle"}, exitUsage, "has pictures of: "},
		"a look":           {[]string{"--kit", "sorrel-60", "--check", "look-display"}, exitUsage, "it is a look"},
		"another kit's":    {[]string{"--kit", "teasel-48", "--check", "stand-ohms"}, exitUsage, "stand-switch"},
		"check and line":   {[]string{"--kit", "sorrel-60", "--check", "pack-volts", "--line"}, exitUsage, "choose one"},
		"case and kit":     {[]string{"--kit", "sorrel-60", "--case", "x.json"}, exitUsage, "--case stands alone"},
		"no such form":     {[]string{"--kit", "sorrel-60", "--line", "--as", "gif"}, exitUsage, `"gif"`},
		"many to output":   {[]string{"--kit", "sorrel-60", "--to", "-"}, exitUsage, "--to -"},
		"a stray word":     {[]string{"sorrel-60"}, exitUsage, "too many"},
		"no such case":     {[]string{"--case", filepath.Join(dir, "gone.json")}, exitFound, "gone.json"},
		"no case":          {[]string{"--case", file}, exitFound, "not one JSON object"},
		"a file as folder": {[]string{"--kit", "sorrel-60", "--line", "--to", file}, exitFound, "folder"},
	} {
		r := do(t, "", append([]string{"draw"}, in.args...)...)
		assert.Equal(t, in.code, r.code, name)
		assert.Contains(t, r.err, in.says, name)
		assert.Empty(t, r.out, name)
	}
}

// The pictures of the README are what the command beside them draws now.
func TestReadmePictures(t *testing.T) {
	root := filepath.Join("..", "..")
	readme, err := os.ReadFile(filepath.Join(root, "README.md"))
	require.NoError(t, err)
	if *update {
		writeReadmeCase(t, filepath.Join(root, "docs", "missing-ground.json"))
	}
	shown := map[string]bool{}
	for _, m := range regexp.MustCompile(`\]\((docs/[^)]+\.svg)\)`).FindAllStringSubmatch(string(readme), -1) {
		shown[m[1]] = true
	}
	commands := regexp.MustCompile(`(?m)^    go run ./cmd/triagebot (draw .*--to docs)$`).FindAllStringSubmatch(string(readme), -1)
	require.Len(t, commands, len(shown))
	t.Chdir(root)
	to := t.TempDir()
	if *update {
		to = "docs"
	}
	for _, c := range commands {
		args := strings.Fields(c[1])
		args[len(args)-1] = to
		r := do(t, "", args...)
		require.Equal(t, exitFine, r.code, "%s: %s", c[1], r.err)
		name := filepath.Base(strings.TrimSpace(r.out))
		assert.True(t, shown["docs/"+name], "%s is not shown in the README", name)
		want, err := os.ReadFile(filepath.Join("docs", name))
		require.NoError(t, err)
		got, err := os.ReadFile(filepath.Join(to, name))
		require.NoError(t, err)
		assert.True(t, bytes.Equal(want, got), "docs/%s is not what %q draws now; look at the new one and run this test with -update", name, c[1])
	}
}

// writeReadmeCase holds the talk of the README's case: an owner whose throttle
// has 5 V, but no ground.
func writeReadmeCase(t *testing.T, file string) {
	t.Helper()
	r := do(t, strings.Join([]string{
		"my sorrel's display lights up fine but twisting does nothing",
		"all clear", "all clicked home and dry", "silent", "all right",
		"1.56 V on a fresh cell", "0.03 V", "5.01 V", "5.02 V",
		"throttle 5 V against pack minus is 5.04 V", "a person please",
	}, "\n"), "chat", "--jsonl")
	require.Equal(t, exitFine, r.code, r.err)
	var turn struct{ Case json.RawMessage }
	lines := strings.Split(strings.TrimSpace(r.out), "\n")
	require.NoError(t, json.Unmarshal([]byte(lines[len(lines)-1]), &turn))
	var out bytes.Buffer
	require.NoError(t, json.Indent(&out, turn.Case, "", " "))
	require.NoError(t, os.WriteFile(file, append(out.Bytes(), '\n'), 0o644))
}
