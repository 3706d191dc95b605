package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/mattn/go-runewidth"
	"github.com/peterh/liner"
	"golang.org/x/term"

	"triagebot/casefile"
	"triagebot/conversation"
)

// chatPerson is the talk with somebody at a terminal.
func chatPerson(ctx context.Context, s streams, engine *conversation.Engine, o chatOptions) error {
	talk, err := openTalk(engine, o)
	if err != nil {
		return err
	}
	defer talk.close()
	screen := newScreen(s.out)
	if o.resume != "" {
		screen.lines(lastLines(talk.state))
	} else {
		greeting := engine.Greet(time.Now().UTC())
		if err := talk.keep(greeting); err != nil {
			return err
		}
		screen.lines(greeting[0].Lines)
	}
	in := newPrompt(s)
	defer in.Close()
	in.remember(talk.state)
	for {
		text, err := in.ask(ctx)
		switch {
		case errors.Is(err, io.EOF):
			fmt.Fprintf(s.out, "\nKept. Go on with: triagebot chat --resume %s\n", talk.name())
			return nil
		case err != nil:
			return err
		}
		if strings.TrimSpace(text) == "" {
			continue
		}
		turn := answerPatiently(s.err, talk, text)
		screen.lines(turn.Say)
		if talk.state.Phase.Ended() {
			if err := writeCase(s, talk); err != nil {
				return err
			}
			if talk.state.Phase != conversation.Stopped {
				fmt.Fprintf(s.out, "Write on if something is left to say; Ctrl-D ends.\n")
			}
		}
	}
}

func openTalk(engine *conversation.Engine, o chatOptions) (*session, error) {
	if o.resume != "" {
		return resume(engine, o.resume)
	}
	talk, err := newSession(engine, time.Now())
	if err == nil && o.kit != "" {
		err = talk.keep([]conversation.Event{{Kind: conversation.KitKnown, Time: time.Now().UTC(), ID: o.kit}})
	}
	return talk, err
}

// lastLines shows where a resumed talk stands: the bot's last words.
func lastLines(st *conversation.State) []string {
	end := len(st.Transcript)
	start := end
	for start > 0 && !st.Transcript[start-1].Owner {
		start--
	}
	var lines []string
	for _, l := range st.Transcript[start:end] {
		lines = append(lines, l.Text)
	}
	return lines
}

// answerPatiently answers one message, and says so when it takes long.
func answerPatiently(w io.Writer, talk *session, text string) conversation.Turn {
	type answer struct {
		turn conversation.Turn
		err  error
	}
	a := patiently(w, func() answer {
		turn, err := talk.step(text)
		return answer{turn, err}
	})
	if a.err != nil {
		fmt.Fprintf(w, "triagebot: %v\n", a.err)
	}
	return a.turn
}

// patience is how long something may take before it is said that it does.
const patience = 500 * time.Millisecond

// patiently does something, and says so when it takes long.
func patiently[T any](w io.Writer, do func() T) T {
	done := make(chan T, 1)
	go func() { done <- do() }()
	slow := time.NewTimer(patience)
	defer slow.Stop()
	for {
		select {
		case result := <-done:
			return result
		case <-slow.C:
			fmt.Fprintln(w, "one moment ...")
		}
	}
}

// writeCase puts the case beside the talk, for whoever takes it over.
func writeCase(s streams, talk *session) error {
	c, err := casefile.Build(talk.engine, talk.state)
	if err != nil {
		fmt.Fprintf(s.err, "triagebot: %v\n", err)
	}
	if c == nil {
		return nil
	}
	base := strings.TrimSuffix(talk.path, ".talk")
	if err := os.WriteFile(base+".md", []byte(c.Markdown()), 0o600); err != nil {
		return fmt.Errorf("writing the case: %w", err)
	}
	data, err := json.MarshalIndent(c, "", "  ")
	if err != nil {
		return fmt.Errorf("writing the case: %w", err)
	}
	if err := os.WriteFile(base+".json", data, 0o600); err != nil {
		return fmt.Errorf("writing the case: %w", err)
	}
	fmt.Fprintf(s.out, "Case written: %s.md and .json\n", base)
	return nil
}

// screen writes the bot's lines, wrapped to the window as it is now.
type screen struct {
	w      io.Writer
	fd     int // -1 when this is no terminal
	colour bool
}

func newScreen(w io.Writer) *screen {
	s := &screen{w: w, fd: -1}
	if f, ok := w.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		s.fd = int(f.Fd())
		// no-color.org: present and not empty means no colour.
		s.colour = os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
	}
	return s
}

// Widths a line of text is held between: narrower it breaks words, wider the
// eye loses the next line.
const (
	narrowest = 20
	widest    = 88
)

func (s *screen) width() int {
	if s.fd < 0 {
		return 0
	}
	w, _, err := term.GetSize(s.fd)
	if err != nil {
		return widest
	}
	return min(max(w-1, narrowest), widest)
}

func (s *screen) lines(lines []string) {
	width := s.width()
	for _, line := range lines {
		bold := s.colour && strings.HasPrefix(line, "Caution:")
		for _, part := range wrap(line, width) {
			if bold {
				part = "\x1b[1m" + part + "\x1b[0m"
			}
			fmt.Fprintf(s.w, "  %s\n", part)
		}
	}
}

// wrap breaks a line at blanks; a drawing, which has box characters, is left alone.
func wrap(line string, width int) []string {
	if width <= 0 || runewidth.StringWidth(line)+2 <= width || strings.ContainsAny(line, "│─") {
		return []string{line}
	}
	var out []string
	part := ""
	for word := range strings.FieldsSeq(line) {
		switch {
		case part == "":
			part = word
		case runewidth.StringWidth(part)+1+runewidth.StringWidth(word)+2 > width:
			out = append(out, part)
			part = word
		default:
			part += " " + word
		}
	}
	return append(out, part)
}

// prompt reads what the owner types: with line editing and history on a
// terminal, line by line from anything else.
type prompt struct {
	edit  *liner.State
	plain chan line
}

type line struct {
	text string
	err  error
}

func newPrompt(s streams) *prompt {
	in, isFile := s.in.(*os.File)
	out, outFile := s.out.(*os.File)
	if isFile && outFile && term.IsTerminal(int(in.Fd())) && term.IsTerminal(int(out.Fd())) {
		edit := liner.NewLiner()
		edit.SetCtrlCAborts(true)
		return &prompt{edit: edit}
	}
	p := &prompt{plain: make(chan line)}
	go func() {
		// Ends with the input; the process ends with the prompt that owns it.
		defer close(p.plain)
		r := bufio.NewReaderSize(s.in, 64<<10)
		for {
			text, err := r.ReadString('\n')
			if text != "" {
				p.plain <- line{text: strings.TrimRight(text, "\r\n")}
			}
			if err != nil {
				p.plain <- line{err: err}
				return
			}
		}
	}()
	return p
}

// ask returns the next line, io.EOF when the owner leaves.
func (p *prompt) ask(ctx context.Context) (string, error) {
	if p.edit != nil {
		return p.askEditing(ctx)
	}
	select {
	case <-ctx.Done():
		return "", io.EOF
	case l, ok := <-p.plain:
		if !ok {
			return "", io.EOF
		}
		return l.text, l.err
	}
}

// askEditing reads a line with the editor, which knows no context: when the
// program is told to end, the read is left behind and the terminal given back.
func (p *prompt) askEditing(ctx context.Context) (string, error) {
	read := make(chan line, 1)
	go func() {
		text, err := p.edit.Prompt("> ")
		read <- line{text, err}
	}()
	select {
	case <-ctx.Done():
		return "", io.EOF
	case l := <-read:
		if errors.Is(l.err, liner.ErrPromptAborted) {
			return "", io.EOF
		}
		if l.err == nil && strings.TrimSpace(l.text) != "" {
			p.edit.AppendHistory(l.text)
		}
		return l.text, l.err
	}
}

// remember puts what was typed in a talk before into the history.
func (p *prompt) remember(st *conversation.State) {
	for _, l := range st.Transcript {
		if p.edit != nil && l.Owner && l.Text != "" {
			p.edit.AppendHistory(l.Text)
		}
	}
}

// Close gives the terminal back as it was.
func (p *prompt) Close() error {
	if p.edit != nil {
		return p.edit.Close()
	}
	return nil
}
