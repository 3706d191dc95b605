package main

import (
	"cmp"
	"fmt"
	"io"
	"os"
	"strings"
	"unicode"

	"triagebot/conversation"
	"triagebot/kb"
	"triagebot/mining"
	"triagebot/search"
)

// loadKB reads the knowledge base of --kb, or the one inside the program.
func loadKB(dir string) (*kb.KB, error) {
	var (
		k     *kb.KB
		found []kb.Diagnostic
	)
	if dir == "" {
		k, found = kb.Load(kb.Embedded())
	} else {
		k, found = kb.Open(dir)
	}
	if !kb.HasErrors(found) {
		return k, nil
	}
	again := ", see all with: triagebot check"
	if dir == "" {
		dir = "(the built-in one)"
	} else {
		again += " " + quoted(dir)
	}
	const shown = 5
	var b strings.Builder
	n := 0
	for _, d := range found {
		if d.Severity == kb.Error {
			if n++; n <= shown {
				fmt.Fprintf(&b, "\n%s", d)
			}
		}
	}
	if n > shown {
		fmt.Fprintf(&b, "\nand %d more%s", n-shown, again)
	}
	return nil, fmt.Errorf("reading the knowledge base %s:%s", dir, b.String())
}

// loadWith is loadKB with learned priors from a file put over it.
func loadWith(dir, priors string) (*kb.KB, error) {
	k, err := loadKB(dir)
	if err != nil || priors == "" {
		return k, err
	}
	f, err := os.Open(priors)
	if err != nil {
		return nil, fmt.Errorf("reading learned priors: %w", err)
	}
	defer f.Close()
	o, err := mining.ReadOverlay(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", priors, err)
	}
	_, err = o.Apply(k)
	return k, err
}

// quoted writes a path so that it can be pasted back into a shell.
func quoted(path string) string {
	if strings.ContainsFunc(path, func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !strings.ContainsRune("/\\.:_-+", r)
	}) {
		return "'" + strings.ReplaceAll(path, "'", `'\''`) + "'"
	}
	return path
}

// matcher lets the talk use the index; the two packages do not know each other.
type matcher struct{ index *search.Index }

func (m matcher) Match(text string) conversation.Heard {
	said := m.index.Match(text)
	h := conversation.Heard{Kit: said.Kit, Danger: said.Danger, Offtopic: said.Offtopic, Unclear: said.Unclear}
	for _, s := range said.Symptoms {
		h.Symptoms = append(h.Symptoms, conversation.HeardSymptom{ID: s.ID, Present: s.Present, Confidence: s.Score})
	}
	for _, r := range said.Readings {
		if r.Check != "" {
			h.Readings = append(h.Readings, conversation.HeardReading{Check: r.Check, Quantity: r.Quantity})
		}
	}
	for _, x := range said.Seen {
		h.Seen = append(h.Seen, conversation.HeardSight{Check: x.Check, Option: x.Option, Confidence: x.Confidence})
	}
	for _, t := range said.Tools {
		h.Tools = append(h.Tools, conversation.HeardTool{ID: t.ID, Has: t.Have})
	}
	return h
}

// newEngine puts the talk together. The index must be closed after it.
func newEngine(k *kb.KB) (*conversation.Engine, io.Closer, error) {
	all := &indexes{kb: k}
	x, err := all.in("")
	if err != nil {
		return nil, nil, err
	}
	e, err := conversation.New(k, matcher{x}, conversation.Speaking(func(k *kb.KB) (conversation.Matcher, error) {
		x, err := all.in(k.Language)
		return matcher{x}, err
	}))
	if err != nil {
		_ = all.Close()
		return nil, nil, err
	}
	return e, all, nil
}

// knownKit refuses a kit that the knowledge base does not have.
func knownKit(k *kb.KB, id string) error {
	if id == "" || k.Kit(id) != nil {
		return nil
	}
	var ids []string
	for _, x := range k.Kits {
		ids = append(ids, x.ID)
	}
	return usageError{fmt.Errorf("there is no kit %q; %sthere are: %s", id, meant(id, ids), strings.Join(ids, ", "))}
}

// knownCheck finds a check, and says which one may have been meant.
func knownCheck(k *kb.KB, id string) (*kb.Check, error) {
	if c := k.Check(id); c != nil {
		return c, nil
	}
	var ids []string
	for _, c := range k.Checks {
		ids = append(ids, c.ID)
	}
	hint := meant(id, ids)
	if hint == "" && len(ids) > 0 {
		hint = "give the id of one, such as " + ids[0]
	}
	return nil, usageError{fmt.Errorf("there is no check %q in the knowledge base; %s", id, strings.TrimSpace(cmp.Or(hint, "it has none")))}
}

func meant(id string, ids []string) string {
	if near := kb.Likely(id, ids); near != "" {
		return fmt.Sprintf("did you mean %q? ", near)
	}
	return ""
}
