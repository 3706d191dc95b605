package account

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"triagebot/desk"
)

// Where an account comes from; a name begins with it.
const (
	Local   = "local:"
	Discord = "discord:"
)

// Refusals.
var (
	// ErrUnknown is returned for a name or password that is not known; which of
	// the two is not told.
	ErrUnknown = errors.New("that name and password do not go together")
	// ErrExists is returned when an account of that name is there already.
	ErrExists = errors.New("there is such an account already")
	// ErrNone is returned when there is no such account.
	ErrNone = errors.New("there is no such account")
)

// Account is somebody who may sign in.
type Account struct {
	Name  string      `json:"name"`
	Shown string      `json:"shown,omitempty"` // how others see them; "" is the name without where it comes from
	Roles []desk.Role `json:"roles"`
	Hash  string      `json:"hash,omitempty"` // none where somebody else looks at the password
	// Member says that the roles are those a chat server gives, and are asked for
	// at every sign-in.
	Member bool      `json:"member,omitempty"`
	Made   time.Time `json:"made"`
}

// Display is how people see the account.
func (a Account) Display() string {
	if a.Shown != "" {
		return a.Shown
	}
	_, bare, found := strings.Cut(a.Name, ":")
	if !found {
		return a.Name
	}
	return bare
}

// Acts is the account as somebody who acts at the desk.
func (a Account) Acts() desk.Person { return desk.Person{Name: a.Name, Roles: a.Roles} }

// Has says whether the account has a role.
func (a Account) Has(r desk.Role) bool { return slices.Contains(a.Roles, r) }

// Settings is the part of the store that is needed.
type Settings interface {
	Setting(name string) (string, error)
	Settings(prefix string) (map[string]string, error)
	Change(ctx context.Context, name string, change func(old string) (string, error)) error
	Unset(ctx context.Context, names ...string) error
}

// Book keeps accounts and sessions.
type Book struct {
	settings Settings
	now      func() time.Time
}

// New makes a book over the settings of a store.
func New(s Settings, now func() time.Time) *Book { return &Book{s, now} }

const accounts = "account/"

// bare is what a name may be after where it comes from.
var bare = regexp.MustCompile(`^[\p{L}\p{N}](?:[\p{L}\p{N}._-]{0,39})$`)

func (a Account) check() error {
	from, name, _ := strings.Cut(a.Name, ":")
	if from += ":"; from != Local && from != Discord || !bare.MatchString(name) {
		return fmt.Errorf("account %q: a name has up to 40 letters, digits, dots, dashes or underscores", a.Name)
	}
	if len(a.Roles) == 0 {
		return fmt.Errorf("account %q: give a role", a.Name)
	}
	for _, r := range a.Roles {
		if !slices.Contains(desk.Roles(), r) {
			return fmt.Errorf("account %q: there is no role %q; there are volunteer, vendor and keeper", a.Name, r)
		}
	}
	return nil
}

// Add makes an account. The password is that of a local account, and "" of one
// that signs in elsewhere.
func (b *Book) Add(ctx context.Context, a Account, password string) error {
	if err := a.check(); err != nil {
		return err
	}
	if strings.HasPrefix(a.Name, Local) {
		h, err := hash(password)
		if err != nil {
			return err
		}
		a.Hash = h
	}
	a.Made = b.now()
	return b.settings.Change(ctx, accounts+a.Name, func(old string) (string, error) {
		if old != "" {
			return "", fmt.Errorf("account %q: %w", a.Name, ErrExists)
		}
		return encode(a)
	})
}

// Keep makes an account that signs in elsewhere, or brings it up to date.
func (b *Book) Keep(ctx context.Context, a Account) error {
	if err := a.check(); err != nil {
		return err
	}
	if strings.HasPrefix(a.Name, Local) {
		return fmt.Errorf("account %q: a local account is added with a password", a.Name)
	}
	return b.settings.Change(ctx, accounts+a.Name, func(old string) (string, error) {
		a.Made = b.now()
		if known, err := decode[Account](old); err == nil {
			a.Made = known.Made
		}
		return encode(a)
	})
}

// Update changes roles and, where one is given, the password of an account, and
// signs it out everywhere.
func (b *Book) Update(ctx context.Context, name string, roles []desk.Role, password string) error {
	fresh := ""
	if password != "" {
		h, err := hash(password)
		if err != nil {
			return err
		}
		fresh = h
	}
	err := b.settings.Change(ctx, accounts+name, func(old string) (string, error) {
		a, err := decode[Account](old)
		if err != nil {
			return "", err
		}
		if len(roles) > 0 {
			a.Roles = roles
		}
		if fresh != "" {
			a.Hash = fresh
		}
		if err := a.check(); err != nil {
			return "", err
		}
		return encode(a)
	})
	if err != nil {
		return fmt.Errorf("account %q: %w", name, err)
	}
	return b.CloseAll(ctx, name)
}

// Remove takes an account away, and its sessions with it.
func (b *Book) Remove(ctx context.Context, name string) error {
	if _, err := b.Account(name); err != nil {
		return err
	}
	if err := b.settings.Unset(ctx, accounts+name); err != nil {
		return err
	}
	return b.CloseAll(ctx, name)
}

// Account finds an account by its whole name, or returns [ErrNone].
func (b *Book) Account(name string) (Account, error) {
	v, err := b.settings.Setting(accounts + name)
	if err != nil {
		return Account{}, err
	}
	a, err := decode[Account](v)
	if err != nil {
		return a, fmt.Errorf("account %q: %w", name, err)
	}
	return a, nil
}

// All lists the accounts by name.
func (b *Book) All() ([]Account, error) {
	found, err := b.settings.Settings(accounts)
	if err != nil {
		return nil, err
	}
	list := make([]Account, 0, len(found))
	for _, v := range found {
		a, err := decode[Account](v)
		if err != nil {
			return nil, err
		}
		list = append(list, a)
	}
	slices.SortFunc(list, func(x, y Account) int { return strings.Compare(x.Name, y.Name) })
	return list, nil
}

// SignIn finds the local account that a name and password belong to, or returns
// [ErrUnknown]. It takes as long for names that do not exist.
func (b *Book) SignIn(name, password string) (Account, error) {
	if !bare.MatchString(name) {
		matches(nobody, password)
		return Account{}, ErrUnknown
	}
	a, err := b.Account(Local + name)
	switch {
	case errors.Is(err, ErrNone):
		matches(nobody, password)
		return Account{}, ErrUnknown
	case err != nil:
		return Account{}, err
	case !matches(a.Hash, password):
		return Account{}, ErrUnknown
	}
	return a, nil
}

func encode(v any) (string, error) {
	data, err := json.Marshal(v)
	return string(data), err
}

func decode[T any](value string) (T, error) {
	var v T
	if value == "" {
		return v, ErrNone
	}
	err := json.Unmarshal([]byte(value), &v)
	return v, err
}
