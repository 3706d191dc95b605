package learning

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"triagebot/kb"
	"triagebot/mining"
)

// Settings is where versions are kept; a store is one.
type Settings interface {
	Setting(name string) (string, error)
	Settings(prefix string) (map[string]string, error)
	Set(ctx context.Context, name, value string) error
	Change(ctx context.Context, name string, change func(old string) (string, error)) error
}

const (
	underVersions = "priors/version/"
	inHistory     = "priors/history"
	inNumber      = "priors/number"
)

// Version is one set of learned priors.
type Version struct {
	Number    int            `json:"number"`
	Made      time.Time      `json:"made"`
	By        string         `json:"by"`
	Overlay   mining.Overlay `json:"overlay"`
	Shifts    []mining.Shift `json:"shifts"`
	Rehearsed *Rehearsed     `json:"rehearsed,omitempty"`
}

// Rehearsed is what simulated owners met with before and after.
type Rehearsed struct {
	When                  time.Time `json:"when"`
	Seeds                 int       `json:"seeds"`
	Talks                 int       `json:"talks"`
	Better, Worse, Others int       // talks that ended otherwise than before
	Questions             int       // more questions, over the talks that ended right both times
	RightBefore           float64   `json:"right_before"`
	RightAfter            float64   `json:"right_after"`
	WrongBefore           float64   `json:"wrong_before"`
	WrongAfter            float64   `json:"wrong_after"`
}

// Switch is one line of the history: from then on a version was in force, or,
// with Number 0, the priors as written.
type Switch struct {
	When   time.Time `json:"when"`
	By     string    `json:"by"`
	Number int       `json:"number"`
}

// Book is the versions kept in a store.
type Book struct {
	Settings Settings
	Now      func() time.Time
	Demo     bool // the store holds invented cases
}

// ErrNone is returned for a version that is not there.
var ErrNone = errors.New("there is no such version of priors")

// Propose learns from all cases of an aggregate over the rules as written, and
// keeps the result as a new version. It is not in force.
func (b *Book) Propose(ctx context.Context, by string, a *mining.Aggregate, written *kb.KB, strength float64) (Version, error) {
	if by == "" {
		return Version{}, errors.New("proposing priors: somebody must propose them")
	}
	replaces := ""
	if now, on, err := b.InForce(); err != nil {
		return Version{}, err
	} else if on {
		replaces = now.Overlay.Version()
	}
	v := Version{Made: b.Now().UTC(), By: by}
	var err error
	if v.Overlay, v.Shifts, err = mining.Learn(a, written, strength, replaces); err != nil {
		return v, err
	}
	if v.Overlay.Cases == 0 {
		return v, errors.New("proposing priors: no closed case has a confirmed cause yet, so there is nothing to learn from")
	}
	v.Overlay.Demo = v.Overlay.Demo || b.Demo
	err = b.Settings.Change(ctx, inNumber, func(old string) (string, error) {
		v.Number = 0
		if old != "" {
			if err := json.Unmarshal([]byte(old), &v.Number); err != nil {
				return "", fmt.Errorf("numbering a version of priors: %w", err)
			}
		}
		v.Number++
		return fmt.Sprint(v.Number), nil
	})
	if err != nil {
		return v, err
	}
	return v, b.keep(ctx, v)
}

func (b *Book) keep(ctx context.Context, v Version) error {
	data, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("keeping a version of priors: %w", err)
	}
	return b.Settings.Set(ctx, versionName(v.Number), string(data))
}

func versionName(n int) string { return fmt.Sprintf("%s%06d", underVersions, n) }

// Versions lists all, the latest first.
func (b *Book) Versions() ([]Version, error) {
	all, err := b.Settings.Settings(underVersions)
	if err != nil {
		return nil, err
	}
	var list []Version
	for _, name := range slices.Backward(slices.Sorted(maps.Keys(all))) {
		v, err := read(all[name])
		if err != nil {
			return nil, err
		}
		list = append(list, v)
	}
	return list, nil
}

// Version is one of them; ErrNone when it is not there.
func (b *Book) Version(n int) (Version, error) {
	data, err := b.Settings.Setting(versionName(n))
	if err != nil {
		return Version{}, err
	}
	if data == "" {
		return Version{}, fmt.Errorf("version %d: %w", n, ErrNone)
	}
	return read(data)
}

func read(data string) (v Version, err error) {
	if err = json.Unmarshal([]byte(data), &v); err != nil {
		err = fmt.Errorf("reading a version of priors: %w", err)
	}
	return v, err
}

// Rehearsed keeps what a rehearsal said of a version.
func (b *Book) Rehearsed(ctx context.Context, n int, r Rehearsed) error {
	return b.Settings.Change(ctx, versionName(n), func(old string) (string, error) {
		if old == "" {
			return "", fmt.Errorf("version %d: %w", n, ErrNone)
		}
		v, err := read(old)
		if err != nil {
			return "", err
		}
		r.When = b.Now().UTC()
		v.Rehearsed = &r
		data, err := json.Marshal(v)
		return string(data), err
	})
}

// SwitchOn puts a version in force. It must have been learned over the rules as
// they are, and not from invented cases unless all are.
func (b *Book) SwitchOn(ctx context.Context, by string, n int, written *kb.KB) error {
	v, err := b.Version(n)
	if err != nil {
		return err
	}
	if err := b.fit(v, written); err != nil {
		return err
	}
	return b.turn(ctx, by, n)
}

func (b *Book) fit(v Version, written *kb.KB) error {
	if v.Overlay.Demo && !b.Demo {
		return fmt.Errorf("version %d was learned from invented cases, and these are real ones", v.Number)
	}
	if err := v.Overlay.Fits(written); err != nil {
		return fmt.Errorf("version %d: %w", v.Number, err)
	}
	return nil
}

// SwitchOff puts the priors as written in force.
func (b *Book) SwitchOff(ctx context.Context, by string) error { return b.turn(ctx, by, 0) }

func (b *Book) turn(ctx context.Context, by string, n int) error {
	if by == "" {
		return errors.New("switching priors: somebody must do it")
	}
	return b.Settings.Change(ctx, inHistory, func(old string) (string, error) {
		list, err := history(old)
		if err != nil {
			return "", err
		}
		if now(list) == n {
			return old, nil
		}
		data, err := json.Marshal(append(list, Switch{b.Now().UTC(), by, n}))
		return string(data), err
	})
}

func history(data string) (list []Switch, err error) {
	if data == "" {
		return nil, nil
	}
	if err = json.Unmarshal([]byte(data), &list); err != nil {
		err = fmt.Errorf("reading the history of priors: %w", err)
	}
	return list, err
}

func now(list []Switch) int {
	if len(list) == 0 {
		return 0
	}
	return list[len(list)-1].Number
}

// History lists every switch, the latest first.
func (b *Book) History() ([]Switch, error) {
	data, err := b.Settings.Setting(inHistory)
	if err != nil {
		return nil, err
	}
	list, err := history(data)
	slices.Reverse(list)
	return list, err
}

// InForce is the version that is in force; false when it is the priors as
// written.
func (b *Book) InForce() (Version, bool, error) {
	list, err := b.History()
	if err != nil || len(list) == 0 || list[0].Number == 0 {
		return Version{}, false, err
	}
	v, err := b.Version(list[0].Number)
	return v, err == nil, err
}

// Apply puts the version in force into rules that were just loaded and are not in
// use yet. It returns its number; 0 when the priors are as written.
func (b *Book) Apply(k *kb.KB) (int, error) {
	v, on, err := b.InForce()
	if err != nil || !on {
		return 0, err
	}
	if v.Overlay.Demo && !b.Demo {
		return 0, fmt.Errorf("version %d of the priors was learned from invented cases, and these are real ones; take it out with: triagebot learn switch-off", v.Number)
	}
	if _, err := v.Overlay.Apply(k); err != nil {
		return 0, fmt.Errorf("version %d of the priors: %w, or take it out with: triagebot learn switch-off", v.Number, err)
	}
	return v.Number, nil
}
