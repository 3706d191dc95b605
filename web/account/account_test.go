package account_test

import (
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
	"triagebot/desk"
	"triagebot/web/account"
)

type clock struct{ t time.Time }

func (c *clock) now() time.Time { return c.t }

func book(t *testing.T) (*account.Book, *store.Store, *clock) {
	t.Helper()
	c := &clock{time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)}
	s, err := store.Open(filepath.Join(t.TempDir(), "s.db"), store.Options{Now: c.now})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return account.New(s, c.now), s, c
}

const secret = "estuary lamp 9"

func TestSignIn(t *testing.T) {
	b, s, _ := book(t)
	ctx := t.Context()
	require.NoError(t, b.Add(ctx, account.Account{Name: "local:anna", Roles: []desk.Role{desk.Volunteer}}, secret))
	require.ErrorIs(t, b.Add(ctx, account.Account{Name: "local:anna", Roles: []desk.Role{desk.Keeper}}, secret), account.ErrExists)

	a, err := b.SignIn("anna", secret)
	require.NoError(t, err)
	assert.Equal(t, "anna", a.Display())
	assert.True(t, a.Has(desk.Volunteer))
	assert.False(t, a.Has(desk.Keeper))
	for _, wrong := range [][2]string{
		{"anna", secret + " "}, {"anna", ""}, {"ben", secret}, {"local:anna", secret}, {"", secret},
		{"an\x00na", secret}, {"anna/../anna", secret}, {strings.Repeat("a", 5000), secret}, {"anna", strings.Repeat("x", 1<<20)},
	} {
		_, err := b.SignIn(wrong[0], wrong[1])
		assert.ErrorIs(t, err, account.ErrUnknown)
	}

	all, err := s.Settings("")
	require.NoError(t, err)
	for _, v := range all {
		assert.NotContains(t, v, secret)
	}
	assert.Contains(t, all["account/local:anna"], "$argon2id$v=19$m=19456,t=2,p=1$")
}

func TestAccountsThatWillNotDo(t *testing.T) {
	b, _, _ := book(t)
	volunteer := []desk.Role{desk.Volunteer}
	for _, a := range []account.Account{
		{Name: "anna", Roles: volunteer}, {Name: "local:", Roles: volunteer}, {Name: "local:a b", Roles: volunteer},
		{Name: "other:anna", Roles: volunteer}, {Name: "local:anna"}, {Name: "local:anna", Roles: []desk.Role{"boss"}},
		{Name: "local:\u202eanna", Roles: volunteer}, {Name: "local:<b>", Roles: volunteer},
	} {
		assert.Error(t, b.Add(t.Context(), a, secret), a.Name)
	}
	assert.ErrorIs(t, b.Add(t.Context(), account.Account{Name: "local:anna", Roles: volunteer}, "short"), account.ErrPassword)
	assert.ErrorIs(t, b.Update(t.Context(), "local:anna", volunteer, secret), account.ErrNone)
	assert.ErrorIs(t, b.Remove(t.Context(), "local:anna"), account.ErrNone)
	list, err := b.All()
	require.NoError(t, err)
	assert.Empty(t, list)
}

func TestAccountOfElsewhereHasNoPassword(t *testing.T) {
	b, _, _ := book(t)
	require.NoError(t, b.Add(t.Context(), account.Account{Name: "discord:42", Shown: "Anna", Roles: []desk.Role{desk.Vendor}}, ""))
	a, err := b.Account("discord:42")
	require.NoError(t, err)
	assert.Equal(t, "Anna", a.Display())
	assert.Empty(t, a.Hash)
	_, err = b.SignIn("discord:42", "")
	assert.ErrorIs(t, err, account.ErrUnknown)
}

func TestSessions(t *testing.T) {
	b, s, c := book(t)
	ctx := t.Context()
	for _, name := range []string{"local:anna", "local:ben"} {
		require.NoError(t, b.Add(ctx, account.Account{Name: name, Roles: []desk.Role{desk.Volunteer}}, secret))
	}
	phone, _, err := b.Open(ctx, "local:anna")
	require.NoError(t, err)
	desk, _, err := b.Open(ctx, "local:anna")
	require.NoError(t, err)
	ben, _, err := b.Open(ctx, "local:ben")
	require.NoError(t, err)

	a, session, err := b.Signed(phone)
	require.NoError(t, err)
	assert.Equal(t, "local:anna", a.Name)
	assert.NotEmpty(t, session.Form)
	all, err := s.Settings("session/")
	require.NoError(t, err)
	for key := range all {
		assert.NotContains(t, key, phone, "who reads the store cannot use a session")
	}

	require.NoError(t, b.Close(ctx, phone))
	_, _, err = b.Signed(phone)
	assert.ErrorIs(t, err, account.ErrSignedOut)
	_, _, err = b.Signed(desk)
	require.NoError(t, err)

	require.NoError(t, b.CloseAll(ctx, "local:anna"))
	_, _, err = b.Signed(desk)
	assert.ErrorIs(t, err, account.ErrSignedOut, "signed out everywhere")
	_, _, err = b.Signed(ben)
	require.NoError(t, err, "others stay")

	c.t = c.t.Add(account.Lasts)
	_, _, err = b.Signed(ben)
	assert.ErrorIs(t, err, account.ErrSignedOut, "a session ends")
	_, _, err = b.Open(ctx, "local:anna")
	require.NoError(t, err)
	all, err = s.Settings("session/")
	require.NoError(t, err)
	assert.Len(t, all, 1, "those that ended are cleared away")
	for _, forged := range []string{"", "x", "session/", "../account/local:anna"} {
		_, _, err := b.Signed(forged)
		assert.ErrorIs(t, err, account.ErrSignedOut)
	}
}

func TestNewPasswordAndRoles(t *testing.T) {
	b, _, _ := book(t)
	ctx := t.Context()
	require.NoError(t, b.Add(ctx, account.Account{Name: "local:anna", Roles: []desk.Role{desk.Volunteer}}, secret))
	token, _, err := b.Open(ctx, "local:anna")
	require.NoError(t, err)
	require.NoError(t, b.Update(ctx, "local:anna", []desk.Role{desk.Keeper}, "another lamp 10"))
	_, _, err = b.Signed(token)
	assert.ErrorIs(t, err, account.ErrSignedOut, "what was gained by the old password is over")
	_, err = b.SignIn("anna", secret)
	assert.ErrorIs(t, err, account.ErrUnknown)
	a, err := b.SignIn("anna", "another lamp 10")
	require.NoError(t, err)
	assert.Equal(t, []desk.Role{desk.Keeper}, a.Roles)

	token, _, err = b.Open(ctx, "local:anna")
	require.NoError(t, err)
	require.NoError(t, b.Remove(ctx, "local:anna"))
	_, _, err = b.Signed(token)
	assert.ErrorIs(t, err, account.ErrSignedOut)
}
