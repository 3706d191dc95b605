package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestAccountCommands(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new", "triagebot.db")
	const secret = "estuary lamp 9"
	r := do(t, secret+"\n", "account", "add", "anna", "--role", "volunteer,keeper", "--store", path)
	require.Equal(t, exitFine, r.code, r.err)
	assert.Equal(t, "anna may sign in as volunteer, keeper\n", r.out)
	r = do(t, secret, "account", "add", "anna", "--role", "vendor", "--store", path)
	assert.Equal(t, exitFound, r.code)
	assert.Contains(t, r.err, "there is such an account already")
	r = do(t, "", "account", "add", "Ben", "--discord", "42", "--role", "volunteer", "--store", path)
	require.Equal(t, exitFine, r.code, r.err)

	for _, x := range []struct {
		in   string
		args []string
		code int
		says string
	}{
		{"short", []string{"account", "add", "cy", "--role", "volunteer"}, exitFound, "a password needs 10 to 200 characters"},
		{"", []string{"account", "add", "cy", "--role", "volunteer"}, exitFound, "a password needs 10 to 200 characters"},
		{secret, []string{"account", "add", "cy", "--role", "boss"}, exitFound, `there is no role "boss"`},
		{secret, []string{"account", "add", "c y", "--role", "volunteer"}, exitFound, "letters, digits"},
		{secret, []string{"account", "add", "cy"}, exitUsage, "role"},
		{secret, []string{"account", "add"}, exitUsage, "needs a name"},
		{"", []string{"account", "change", "anna"}, exitUsage, "say what to change"},
		{"", []string{"account", "change", "cy", "--role", "vendor"}, exitFound, "there is no such account"},
		{"", []string{"account", "remove", "cy"}, exitFound, "there is no such account"},
	} {
		r := do(t, x.in, append(x.args, "--store", path)...)
		assert.Equal(t, x.code, r.code, "%v", x.args)
		assert.Contains(t, r.err, x.says)
	}

	r = do(t, "another lamp 10\n", "account", "change", "anna", "--password", "--role", "vendor", "--store", path)
	require.Equal(t, exitFine, r.code, r.err)
	r = do(t, "", "account", "list", "--store", path)
	require.Equal(t, exitFine, r.code, r.err)
	assert.Regexp(t, `(?m)^discord:42 +Ben +volunteer\nlocal:anna +anna +vendor\n$`, r.out)
	r = do(t, "", "account", "remove", "discord:42", "--store", path)
	require.Equal(t, exitFine, r.code, r.err)
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.NotContains(t, string(data), secret)

	r = do(t, "", "account", "list", "--store", filepath.Join(t.TempDir(), "none.db"))
	assert.Equal(t, exitFound, r.code)
	assert.Contains(t, r.err, "there is no store")
}
