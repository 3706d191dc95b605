package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
)

// longestLine is how much of one input line is kept; the rest of it is read
// past. A message is cut far shorter by the reader of messages.
const longestLine = 4 << 20

// eachLine calls do with each line of r, split at \n alone.
func eachLine(r io.Reader, do func(line string) error) error {
	in := bufio.NewReaderSize(r, 64<<10)
	var line []byte
	for {
		part, err := in.ReadSlice('\n')
		if room := longestLine - len(line); room > 0 {
			line = append(line, part[:min(room, len(part))]...)
		}
		if errors.Is(err, bufio.ErrBufferFull) {
			continue
		}
		if err != nil && !errors.Is(err, io.EOF) {
			return fmt.Errorf("reading input: %w", err)
		}
		if err == nil || len(line) > 0 {
			text := strings.ToValidUTF8(string(bytes.TrimSuffix(line, []byte("\n"))), "\uFFFD")
			if err := do(strings.TrimSuffix(text, "\r")); err != nil {
				return err
			}
		}
		line = line[:0]
		if err != nil {
			return nil
		}
	}
}

// message is one input line of the line protocol: plain text, or an object
// with these keys; unknown keys are ignored.
type message struct {
	ID      json.RawMessage `json:"id"`
	Text    string          `json:"text"`
	Check   string          `json:"check"`
	Kit     string          `json:"kit"`
	Ask     string          `json:"ask"`
	Asked   string          `json:"asked"`
	Options []string        `json:"options"`
	// Language is the code of the language of the text, where it is known.
	Language string `json:"language"`
}

// parseMessage takes a line that is not a JSON object with a text as plain words.
func parseMessage(line string) message {
	if strings.HasPrefix(strings.TrimSpace(line), "{") {
		var m message
		if err := json.Unmarshal([]byte(line), &m); err == nil {
			return m
		}
	}
	return message{Text: line}
}

// id is the caller's own id, null when none was given.
func (m message) id() any {
	if len(m.ID) == 0 {
		return nil
	}
	return m.ID
}

// lineWriter writes one JSON object a line.
func lineWriter(w io.Writer) func(v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	return func(v any) error {
		if err := enc.Encode(v); err != nil {
			return fmt.Errorf("writing output: %w", err)
		}
		return nil
	}
}
