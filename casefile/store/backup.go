package store

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

// Backup writes the store as it is now to w while it goes on working, and says
// what is in it. The copy is made on the disk first and checked there: a slow w
// must not hold a transaction open, because the file would grow all the while.
func (s *Store) Backup(ctx context.Context, w io.Writer) (Contents, error) {
	c, err := s.backup(ctx, w)
	if err != nil {
		return c, fmt.Errorf("backing up the store: %w", err)
	}
	return c, nil
}

func (s *Store) backup(ctx context.Context, w io.Writer) (Contents, error) {
	f, err := os.CreateTemp(filepath.Dir(s.path), filepath.Base(s.path)+".backup-*")
	if err != nil {
		return Contents{}, err
	}
	defer os.Remove(f.Name())
	defer f.Close()
	err = s.view(func(r reading) error {
		_, err := r.tx.WriteTo(f)
		return err
	})
	if err != nil {
		return Contents{}, full(err)
	}
	c, err := check(f.Name())
	if err != nil {
		return c, err
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return c, err
	}
	_, err = io.Copy(w, &stopping{ctx, f})
	return c, err
}

// stopping ends a copy when its context ends.
type stopping struct {
	ctx context.Context
	in  io.Reader
}

func (s *stopping) Read(b []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.in.Read(b)
}

// Restore puts a backup in the place of the store at path, which no process may
// have open. A store that is there is refused unless replace is given. The
// backup is checked before and after it is copied.
func Restore(path, from string, replace bool, now func() time.Time) (Contents, error) {
	l, err := lock(path, now)
	if err != nil {
		return Contents{}, err
	}
	defer l.release()
	if _, err := os.Stat(path); err == nil && !replace {
		return Contents{}, fmt.Errorf("restoring to %q: there is a store already; say that it is to be replaced", path)
	} else if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return Contents{}, fmt.Errorf("restoring to %q: %w", path, err)
	}
	if _, err := check(from); err != nil {
		return Contents{}, err
	}
	aside := path + ".new"
	c, err := restore(aside, from, now())
	if err == nil {
		err = putInPlace(aside, path)
	}
	if err != nil {
		_ = os.Remove(aside)
		return c, fmt.Errorf("restoring to %q: %w", path, err)
	}
	return c, nil
}

func restore(aside, from string, now time.Time) (Contents, error) {
	if err := copyFile(aside, from); err != nil {
		return Contents{}, full(err)
	}
	db, err := openBolt(aside)
	if err != nil {
		return Contents{}, err
	}
	// Messages made after the backup had numbers that will be given again: a new
	// epoch keeps the platform from taking the new ones for the old.
	err = changeHead(db, func(h *head) { h.Epoch = epoch(now) })
	if closed := db.Close(); err == nil {
		err = closed
	}
	if err != nil {
		return Contents{}, err
	}
	return check(aside)
}

func copyFile(to, from string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	if err == nil {
		err = out.Sync()
	}
	if closed := out.Close(); err == nil {
		err = closed
	}
	return err
}
