package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"time"

	"triagebot/conversation"
)

// session is one talk on disk: a file of events, one JSON object a line, each
// turn appended before it is shown, so that a talk ends nowhere by being killed.
type session struct {
	path   string
	file   *os.File
	state  *conversation.State
	engine *conversation.Engine
}

// sessionHead is the first line of a session file.
type sessionHead struct {
	V  int    `json:"v"`
	KB string `json:"kb"`
}

// talksDir is where talks are kept between runs.
func talksDir() (string, error) {
	if dir := os.Getenv("XDG_STATE_HOME"); dir != "" {
		return filepath.Join(dir, "triagebot"), nil
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "", fmt.Errorf("finding a folder for the talk: %w; set XDG_STATE_HOME", err)
	}
	return filepath.Join(home, ".local", "state", "triagebot"), nil
}

// newSession starts a talk. Its name is the time it began; a second one in the
// same second gets a number.
func newSession(e *conversation.Engine, now time.Time) (*session, error) {
	dir, err := talksDir()
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("making the folder for talks: %w", err)
	}
	for n := 1; ; n++ {
		name := now.Format("2006-01-02-150405")
		if n > 1 {
			name = fmt.Sprintf("%s-%d", name, n)
		}
		path := filepath.Join(dir, name+".talk")
		f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL|os.O_APPEND, 0o600)
		if errors.Is(err, os.ErrExist) && n < 100 {
			continue
		}
		if err != nil {
			return nil, fmt.Errorf("starting the talk's file: %w", err)
		}
		s := &session{path: path, file: f, state: conversation.NewState(), engine: e}
		return s, s.write(sessionHead{1, e.KB().Version})
	}
}

// resume opens a kept talk by name or path; "last" is the newest.
func resume(e *conversation.Engine, name string) (*session, error) {
	path, err := talkPath(name)
	if err != nil {
		return nil, err
	}
	events, err := readTalk(path)
	if err != nil {
		return nil, err
	}
	f, err := os.OpenFile(path, os.O_RDWR|os.O_APPEND, 0o600)
	if err != nil {
		return nil, fmt.Errorf("opening the talk to go on: %w", err)
	}
	if err := cutTornLine(f); err != nil {
		return nil, fmt.Errorf("mending the end of the talk %s: %w", path, err)
	}
	return &session{path: path, file: f, state: conversation.Replay(events), engine: e}, nil
}

func talkPath(name string) (string, error) {
	if name != "last" && strings.ContainsRune(name, os.PathSeparator) {
		return name, nil
	}
	dir, err := talksDir()
	if err != nil {
		return "", err
	}
	if name != "last" {
		return filepath.Join(dir, strings.TrimSuffix(name, ".talk")+".talk"), nil
	}
	all, err := filepath.Glob(filepath.Join(dir, "*.talk"))
	if err != nil || len(all) == 0 {
		return "", fmt.Errorf("there is no talk to resume in %s", dir)
	}
	sort.Strings(all)
	return all[len(all)-1], nil
}

// readTalk reads a session file. A last line cut short, as by a full disk, is
// left out; anything else that does not read is an error.
func readTalk(path string) ([]conversation.Event, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("opening the talk: %w", err)
	}
	defer f.Close()
	in := bufio.NewScanner(f)
	in.Buffer(nil, 16<<20)
	var events []conversation.Event
	var bad error
	for n := 1; in.Scan(); n++ {
		if bad != nil {
			return nil, bad
		}
		if n == 1 {
			var head sessionHead
			if err := json.Unmarshal(in.Bytes(), &head); err != nil || head.V != 1 {
				return nil, fmt.Errorf("%s is not a talk of this program", path)
			}
			continue
		}
		var e conversation.Event
		if err := json.Unmarshal(in.Bytes(), &e); err != nil {
			bad = fmt.Errorf("%s:%d: reading the talk: %w", path, n, err)
			continue
		}
		events = append(events, e)
	}
	if err := in.Err(); err != nil {
		return nil, fmt.Errorf("reading the talk %s: %w", path, err)
	}
	return events, nil
}

// cutTornLine makes the file end with a line end, so that what is added is not
// joined to half a line: the rest of an event is taken away, a whole one ended.
func cutTornLine(f *os.File) error {
	size, err := f.Seek(0, io.SeekEnd)
	if err != nil {
		return err
	}
	whole := size
	for end := make([]byte, 1); whole > 0; whole-- {
		if _, err := f.ReadAt(end, whole-1); err != nil {
			return err
		}
		if end[0] == '\n' {
			break
		}
	}
	rest := make([]byte, size-whole)
	if _, err := f.ReadAt(rest, whole); err != nil {
		return err
	}
	switch {
	case len(rest) == 0:
		return nil
	case json.Valid(rest):
		_, err := f.WriteString("\n")
		return err
	}
	return f.Truncate(whole)
}

// keep writes events, then takes them in.
func (s *session) keep(events []conversation.Event) error {
	var b strings.Builder
	for _, e := range events {
		line, err := json.Marshal(e)
		if err != nil {
			return fmt.Errorf("keeping the talk: %w", err)
		}
		b.Write(line)
		b.WriteByte('\n')
	}
	for _, e := range events {
		s.state.Apply(e)
	}
	if s.file == nil {
		return nil
	}
	if _, err := s.file.WriteString(b.String()); err != nil {
		return fmt.Errorf("keeping the talk in %s: %w", s.path, err)
	}
	return nil
}

func (s *session) write(v any) error {
	line, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("keeping the talk: %w", err)
	}
	if _, err := s.file.Write(append(line, '\n')); err != nil {
		return fmt.Errorf("keeping the talk in %s: %w", s.path, err)
	}
	return nil
}

// name is what --resume takes.
func (s *session) name() string {
	return strings.TrimSuffix(filepath.Base(s.path), ".talk")
}

func (s *session) close() error {
	if s.file == nil {
		return nil
	}
	return s.file.Close()
}
