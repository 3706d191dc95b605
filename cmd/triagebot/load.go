package main

import (
	"cmp"
	"fmt"
	"os"
	"strings"
	"unicode"

	"triagebot/kb"
	"triagebot/mining"
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
