package config_test

import (
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/config"
)

const goodToken = "a-token-that-nobody-guesses"

// write puts a config and a tight token file into a folder of their own.
func write(t *testing.T, text string) (path, dir string) {
	t.Helper()
	dir = t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "good.token"), []byte(goodToken+"\n"), 0o600))
	path = filepath.Join(dir, "c.yaml")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	return path, dir
}

func env(name string) string {
	if name == "TOKEN_OF_BEN" {
		return "another-token-that-nobody-guesses"
	}
	return ""
}

const good = `store: triagebot.db
people:
  - name: local:anna
    roles: [volunteer, keeper]
    token: {file: good.token}
  - {name: "local:ben", roles: [vendor], token: {env: TOKEN_OF_BEN}}
limits: {owner_every: 5s}
times: {remind: -1s, retention_days: 30}
`

func TestGood(t *testing.T) {
	path, dir := write(t, good)
	c, found := config.Load(path, env)
	require.Empty(t, found)
	assert.Equal(t, filepath.Join(dir, "triagebot.db"), c.Store, "from the folder of the config")
	assert.Equal(t, "127.0.0.1:8470", c.API.Listen, "loopback unless said otherwise")
	assert.Equal(t, goodToken, c.People[0].Token.Value())
	assert.Equal(t, "another-token-that-nobody-guesses", c.People[1].Token.Value())
	assert.Equal(t, 5*time.Second, c.Limits.Desk().OwnerEvery)
	assert.Equal(t, -time.Second, c.Times.Desk().Remind)
	assert.Nil(t, c.Bridge)
}

// A token shows in nothing that prints a config.
func TestSecretsDoNotShow(t *testing.T) {
	path, _ := write(t, good)
	c, found := config.Load(path, env)
	require.Empty(t, found)
	var log strings.Builder
	l := slog.New(slog.NewTextHandler(&log, nil))
	l.Info("x", "token", c.People[0].Token)
	slog.New(slog.NewJSONHandler(&log, nil)).Info("x", "person", c.People[0])
	for _, text := range []string{fmt.Sprint(c.People), fmt.Sprintf("%+v %#v %s %q", c.People, c.People, c.People, c.People), log.String()} {
		assert.NotContains(t, text, goodToken)
	}
}

// Each mistake alone, with the place and the words that mend it. %s is the
// folder of the config.
func TestMistakes(t *testing.T) {
	person := "people:\n  - name: local:anna\n    roles: [volunteer]\n    token: "
	for _, x := range []struct{ name, text, want string }{
		{"empty", "", `it is empty; start from deploy/triagebot.yaml`},
		{"no YAML", "store: a\n  b: c\n", `:2:1: this is no YAML: mapping values are not allowed in this context; look at the indentation and the quotes here and in the line before`},
		{"two documents", "store: a\n---\nstore: b\n", `:2:1: there is a second document; a config is one`},
		{"a list", "- store\n", `:1:1: the config must be keys with values, one a line, not a list`},
		{"unknown key", "store: a\npeeple: []\n", `:2:1: there is no key "peeple"; did you mean "people"?`},
		{"unknown key inside", "store: a\nlimits:\n  ownr_burst: 3\n", `:3:3: there is no key "ownr_burst" in limits; did you mean "owner_burst"?`},
		{"far from any", "store: a\nlog:\n  zebra: 3\n", `:3:3: there is no key "zebra" in log; there are: level, form`},
		{"twice", "store: a\nlog:\n  level: info\n  level: warn\n", `:4:3: "level" is there twice; keep one`},
		{"missing", "kb: .\n", `:1:1: "store" is missing: the file that everything is kept in, such as /var/lib/triagebot/triagebot.db`},
		{"no folder", "store: none/a.db\n", `:1:8: the folder "%s/none" for the store is not there; make it, readable for the bot alone: mkdir -m 700 %s/none`},
		{"no kb", "store: a\nkb: none\n", `:2:5: there is no folder "%s/none"; leave kb out to use the knowledge base inside the program`},
		{"number for text", "store: 12\n", `:1:8: store must be text; put it in quotes: "12"`},
		{"nothing for text", "store:\n", `:1:7: store must be one word or text, not nothing`},
		{"empty text", "store: \"\"\n", `:1:8: store is empty; leave the key out or give it a value`},
		{"text for number", "store: a\nlimits: {owner_burst: many}\n", `:2:23: limits.owner_burst must be a whole number, not "many"`},
		{"half a number", "store: a\nlimits: {owner_burst: 1.5}\n", `:2:23: limits.owner_burst must be a whole number, not "1.5"`},
		{"number too small", "store: a\nlimits: {owner_burst: 0}\n", `:2:23: limits.owner_burst must be more than 0; leave it out to get the default`},
		{"time without unit", "store: a\ntimes: {remind: 6}\n", `:2:17: times.remind must be a time with its unit, such as 30s, 15m or 24h, not "6"`},
		{"list for time", "store: a\ntimes: {remind: [6h]}\n", `:2:17: times.remind must be a time with its unit, such as 30s, 15m or 24h, not a list`},
		{"yes for true", "store: a\napi: {anywhere: yes please}\n", `:2:17: api.anywhere must be true or false, not "yes please"`},
		{"text for list", "store: a\npeople: anna\n", `:2:9: people must be a list, such as [a, b], not "anna"`},
		{"text for keys", "store: a\nlimits: many\n", `:2:9: limits must be keys with values, one a line, not "many"`},
		{"level", "store: a\nlog: {level: loud}\n", `:2:14: "loud" is none of debug, info, warn, error`},
		{"address", "store: a\napi: {listen: \"8470\"}\n", `:2:15: "8470" is no address to listen at; write host and port, such as 127.0.0.1:8470`},
		{"open to all", "store: a\napi: {listen: \"0.0.0.0:8470\"}\n", `:2:15: "0.0.0.0:8470" can be reached from other machines, and tokens go over it in the clear; write 127.0.0.1, or say anywhere: true beside it`},
		{"bridge", "store: a\nbridge: {deliver: here, token: {file: good.token}}\n", `:2:19: "here" is no URL; write one such as http://127.0.0.1:8471/say`},
		{"role", "store: a\npeople:\n  - {name: \"local:anna\", roles: [voluntear], token: {file: good.token}}\n", `:3:34: "voluntear" is none of volunteer, vendor, keeper; did you mean "volunteer"?`},
		{"no role", "store: a\npeople:\n  - {name: \"local:anna\", roles: [], token: {file: good.token}}\n", `:3:33: "local:anna" has no role; give volunteer, vendor or keeper`},
		{"name of a chat", "store: a\npeople:\n  - {name: anna, roles: [keeper], token: {file: good.token}}\n", `:3:12: "anna" must be local: and a name, so that nobody is taken for somebody of a chat; write local:anna`},
		{"token in the config", "store: a\n" + person + goodToken + "\n", `:5:12: a token must not stand in the config, which is copied and shown about; put it into a file that only the bot can read and write token: {file: PATH}, or {env: NAME} (and make a new token: this one is spent)`},
		{"no token", "store: a\n" + person + "{}\n", `:5:12: a token needs one of {env: NAME} and {file: PATH}`},
		{"both", "store: a\n" + person + "{env: A, file: b}\n", `:5:12: a token needs one of {env: NAME} and {file: PATH}`},
		{"no variable", "store: a\n" + person + "{env: NOT_SET}\n", `:5:18: the environment has no NOT_SET; set it, or name a file: {file: PATH}`},
		{"no token file", "store: a\n" + person + "{file: none}\n", `:5:19: the token's file does not read (stat %s/none: no such file or directory); make one with: head -c 24 /dev/urandom | base64 > %s/none && chmod 600 %s/none`},
	} {
		t.Run(x.name, func(t *testing.T) {
			path, dir := write(t, x.text)
			c, found := config.Load(path, env)
			assert.Nil(t, c)
			require.Len(t, found, 1, "%v", found)
			want := strings.ReplaceAll(x.want, "%s", dir)
			assert.Equal(t, want, strings.TrimPrefix(strings.TrimPrefix(found[0].String(), path), ": "))
			assert.NotContains(t, found[0].String(), goodToken, "a token that was written into the config is not repeated")
		})
	}
}

func TestTokenFiles(t *testing.T) {
	for name, x := range map[string]struct {
		mode os.FileMode
		text string
		want string
	}{
		"readable for others":  {0o644, goodToken, "others can read or write the token's file (mode 0644); mend it with: chmod 600 "},
		"writable for a group": {0o620, goodToken, "(mode 0620)"},
		"empty":                {0o600, " \n", "is empty; make one with"},
		"short":                {0o600, "short", "this token has fewer than 20 characters or a space in it"},
		"two words":            {0o600, "two words of enough length", "or a space in it"},
	} {
		t.Run(name, func(t *testing.T) {
			path, dir := write(t, "store: a\npeople:\n  - {name: \"local:x\", roles: [keeper], token: {file: x.token}}\n")
			file := filepath.Join(dir, "x.token")
			require.NoError(t, os.WriteFile(file, []byte(x.text), 0o600))
			require.NoError(t, os.Chmod(file, x.mode))
			_, found := config.Load(path, env)
			require.Len(t, found, 1, "%v", found)
			assert.Contains(t, found[0].String(), x.want)
			assert.Equal(t, 3, found[0].Line)
			assert.NotContains(t, found[0].String(), goodToken)
		})
	}
}

func TestTwoWithOneTokenAndOneWithTwo(t *testing.T) {
	path, _ := write(t, "store: a\npeople:\n  - {name: \"local:a\", roles: [keeper], token: {file: good.token}}\n"+
		"  - {name: \"local:b\", roles: [keeper], token: {file: good.token}}\n  - {name: \"local:a\", roles: [vendor], token: {env: TOKEN_OF_BEN}}\n")
	_, found := config.Load(path, env)
	require.Len(t, found, 2)
	assert.Contains(t, found[0].String(), `:4:47: "local:b" has the same token as local:a`)
	assert.Contains(t, found[1].String(), `:5:12: "local:a" is there twice`)
}

// All mistakes are told at once, from top to bottom.
func TestAllAtOnce(t *testing.T) {
	path, _ := write(t, "kb: none\nlog: {level: loud}\nlimits: {owner_burst: x}\nzebra: 1\n")
	_, found := config.Load(path, env)
	require.Len(t, found, 5)
	for i := range found[1:] {
		assert.LessOrEqual(t, found[i].Line, found[i+1].Line)
	}
}

func TestMissingFile(t *testing.T) {
	_, found := config.Load(filepath.Join(t.TempDir(), "none.yaml"), env)
	require.Len(t, found, 1)
	assert.Contains(t, found[0].String(), "start from deploy/triagebot.yaml")
}

// The sample explains every key there is, and loads.
func TestSample(t *testing.T) {
	data, err := os.ReadFile("../deploy/triagebot.yaml")
	require.NoError(t, err)
	_, dir := write(t, "")
	text := strings.ReplaceAll(string(data), "/var/lib/triagebot", dir)
	load := func(text string) *config.Config {
		path := filepath.Join(dir, "triagebot.yaml")
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		for i, name := range []string{"anna", "bridge", "discord"} {
			require.NoError(t, os.WriteFile(filepath.Join(dir, name+".token"), fmt.Appendf(nil, "%d-%s", i, goodToken), 0o600))
		}
		c, found := config.Load(path, func(string) string { return "ben-" + goodToken })
		require.Empty(t, found)
		return c
	}
	c := load(text)
	assert.Len(t, c.People, 2)
	assert.Equal(t, 365, c.Times.RetentionDays)
	// With what is commented out as well.
	text, rest, found := strings.Cut(text, "# The bot on Discord;")
	require.True(t, found)
	chat, rest, found := strings.Cut(rest, "\n\n")
	require.True(t, found)
	var all []string
	for line := range strings.Lines(text + rest) {
		bare := strings.TrimPrefix(strings.TrimPrefix(line, "  # "), "# ")
		indent := strings.Repeat(" ", len(line)-len(strings.TrimLeft(line, " ")))
		if bare != line && (strings.HasPrefix(bare, "bridge:") || strings.HasPrefix(bare, "  deliver:") || strings.HasPrefix(bare, "  token:") ||
			strings.HasPrefix(bare, "  volunteers:") || strings.HasPrefix(bare, "anywhere:")) {
			line = indent + bare
		}
		all = append(all, line)
	}
	c = load(strings.Join(all, ""))
	require.NotNil(t, c.Bridge)
	assert.Equal(t, "the-desk", c.Bridge.Volunteers)
	assert.True(t, c.API.Anywhere)
	// The chat instead of the bridge.
	_, chat, found = strings.Cut(chat, "# discord:")
	require.True(t, found)
	c = load(text + rest + "\ndiscord:" + strings.ReplaceAll(chat, "\n#", "\n"))
	require.NotNil(t, c.Discord)
	assert.Equal(t, config.Discord{
		Token: c.Discord.Token, Volunteers: "1200000000000000001", Roles: map[string]string{"1200000000000000002": "volunteer"},
		Channels: []string{"1200000000000000003"}, PhotoMB: 8, Photos: 20,
		Bases: config.Bases{REST: "https://proxy.example", Gateway: "wss://proxy.example", Files: "https://proxy.example"},
	}, *c.Discord)
	assert.Equal(t, "2-"+goodToken, c.Discord.Token.Value())
	for _, key := range []string{"store", "kb", "api", "people", "bridge", "discord", "limits", "times", "log"} {
		assert.Contains(t, string(data), key+":", "the sample does not speak of %q", key)
	}
}
