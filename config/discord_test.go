package config_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/config"
)

// Each mistake in the part for Discord alone, with its place.
func TestMistakesForDiscord(t *testing.T) {
	for _, x := range []struct{ text, want string }{
		{"{}", `:2:10: "token" is missing in discord: where the bot's token is: {file: PATH} or {env: NAME}`},
		{`{token: {file: good.token}, volunteers: "#crew"}`, `"#crew" is no id`},
		{`{token: {file: good.token}, volunteers: "12"}`, `nobody may take them`},
		{`{token: {file: good.token}, volunteers: 12}`, `discord.volunteers must be text; put it in quotes: "12"`},
		{`{token: {file: good.token}, roles: {"12": volunter}}`, `did you mean "volunteer"?`},
		{`{token: {file: good.token}, roles: {crew: volunteer}}`, `"crew" is no id`},
		{`{token: {file: good.token}, channels: ["1", help]}`, `"help" is no id`},
		{`{token: {file: good.token}, bases: {rest: proxy}}`, `"proxy" is no address`},
		{`{token: {file: good.token}, photo_mb: 900}`, `photo_mb must be 1 to 25`},
		{`{token: {file: good.token}, photos: 0}`, `photos must be more than 0`},
		{`{token: a-token-in-the-clear-for-all}`, `must not stand in the config`},
	} {
		path, _ := write(t, "store: triagebot.db\ndiscord: "+x.text+"\n")
		_, found := config.Load(path, env)
		require.Len(t, found, 1, "%s: %v", x.text, found)
		assert.Contains(t, found[0].String(), x.want)
		assert.Positive(t, found[0].Line)
	}
}
