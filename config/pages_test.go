package config_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/config"
)

func TestPages(t *testing.T) {
	path, _ := write(t, `store: t.db
pages:
  listen: 0.0.0.0:8080
  address: https://talk.example.org
  proxied: true
  discord: {client: "12", secret: {file: good.token}, server: "7", roles: {"900": volunteer}}
`)
	c, found := config.Load(path, env)
	require.Empty(t, found)
	assert.Equal(t, "https://talk.example.org", c.Pages.Address)
	assert.Equal(t, goodToken, c.Pages.Discord.Secret.Value())
	assert.Equal(t, "volunteer", c.Pages.Discord.Roles["900"])
}

func TestBadPages(t *testing.T) {
	for text, says := range map[string]string{
		`pages: {address: "https://talk.example.org"}`:                                                                                                      `"listen" is missing in pages`,
		`pages: {listen: "8080"}`:                                                                                                                           `"8080" is no address to listen at`,
		`pages: {listen: "0.0.0.0:8080"}`:                                                                                                                   `so say what browsers call it`,
		`pages: {listen: "127.0.0.1:1", address: "talk.example.org"}`:                                                                                       `is no address of pages`,
		`pages: {listen: "127.0.0.1:1", address: "https://talk.example.org/x"}`:                                                                             `with nothing after the name`,
		`pages: {listen: "127.0.0.1:1", discord: {client: "1", secret: {file: good.token}}}`:                                                                `sends people back to`,
		`pages: {listen: "127.0.0.1:1", address: "https://t.example", discord: {client: "1", secret: "abc"}}`:                                               `must not stand in the config`,
		`pages: {listen: "127.0.0.1:1", address: "https://t.example", discord: {client: "1", secret: {file: good.token}, server: "7"}}`:                     `server and roles go together`,
		`pages: {listen: "127.0.0.1:1", address: "https://t.example", discord: {client: "1", secret: {file: good.token}, server: "7", roles: {"1": boss}}}`: `"boss" is none of`,
	} {
		dir := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(dir, "good.token"), []byte(goodToken), 0o600))
		path := filepath.Join(dir, "c.yaml")
		require.NoError(t, os.WriteFile(path, []byte("store: t.db\n"+text+"\n"), 0o600))
		_, found := config.Load(path, env)
		if assert.Len(t, found, 1, text) {
			assert.Contains(t, found[0].String(), says)
			assert.Contains(t, found[0].String(), "c.yaml:2:", text)
		}
	}
}
