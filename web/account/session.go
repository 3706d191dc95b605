package account

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"strings"
	"time"
)

// ErrSignedOut is returned for a token of no session, or of one that has ended.
var ErrSignedOut = errors.New("not signed in")

// Lasts is how long a session lasts.
const Lasts = 14 * 24 * time.Hour

// Session is somebody signed in on one device.
type Session struct {
	Account string    `json:"account"`
	Made    time.Time `json:"made"`
	Ends    time.Time `json:"ends"`
	// Form must come back with every form, so that no other site can send one.
	Form string `json:"form"`
}

const sessions = "session/"

// Token is 256 bits nobody can guess, fit for links and cookies.
func Token() string {
	b := make([]byte, 32)
	rand.Read(b) // never fails
	return base64.RawURLEncoding.EncodeToString(b)
}

// Digest is what is kept of a token.
func Digest(token string) string {
	sum := sha256.Sum256([]byte(token))
	return hex.EncodeToString(sum[:])
}

// Open begins a session and returns the token that the device keeps. Sessions
// that have ended are cleared away on the occasion.
func (b *Book) Open(ctx context.Context, name string) (token string, s Session, err error) {
	token, now := Token(), b.now()
	s = Session{Account: name, Made: now, Ends: now.Add(Lasts), Form: Token()}
	err = b.settings.Change(ctx, sessions+Digest(token), func(string) (string, error) { return encode(s) })
	if err != nil {
		return "", s, err
	}
	return token, s, b.clear(ctx, func(x Session) bool { return !now.Before(x.Ends) })
}

// Signed finds who a token belongs to, or returns [ErrSignedOut].
func (b *Book) Signed(token string) (Account, Session, error) {
	if token == "" {
		return Account{}, Session{}, ErrSignedOut
	}
	v, err := b.settings.Setting(sessions + Digest(token))
	if err != nil {
		return Account{}, Session{}, err
	}
	s, err := decode[Session](v)
	switch {
	case errors.Is(err, ErrNone), err == nil && !b.now().Before(s.Ends):
		return Account{}, Session{}, ErrSignedOut
	case err != nil:
		return Account{}, Session{}, err
	}
	a, err := b.Account(s.Account)
	if errors.Is(err, ErrNone) { // taken away meanwhile
		err = ErrSignedOut
	}
	return a, s, err
}

// Close ends a session.
func (b *Book) Close(ctx context.Context, token string) error {
	return b.settings.Unset(ctx, sessions+Digest(token))
}

// CloseAll ends all sessions of an account.
func (b *Book) CloseAll(ctx context.Context, name string) error {
	return b.clear(ctx, func(s Session) bool { return s.Account == name })
}

// Sessions lists the sessions of an account that go on.
func (b *Book) Sessions(name string) ([]Session, error) {
	var list []Session
	err := b.each(func(_ string, s Session) {
		if s.Account == name && b.now().Before(s.Ends) {
			list = append(list, s)
		}
	})
	return list, err
}

func (b *Book) clear(ctx context.Context, ends func(Session) bool) error {
	var gone []string
	err := b.each(func(key string, s Session) {
		if ends(s) {
			gone = append(gone, key)
		}
	})
	if err != nil || len(gone) == 0 {
		return err
	}
	return b.settings.Unset(ctx, gone...)
}

func (b *Book) each(fn func(key string, s Session)) error {
	all, err := b.settings.Settings(sessions)
	if err != nil {
		return err
	}
	for key, v := range all {
		s, err := decode[Session](v)
		if err != nil && strings.HasPrefix(key, sessions) {
			return err
		}
		fn(key, s)
	}
	return nil
}
