// Package outside_test holds the program against figures that others have
// published. Each test names its source; "from memory" and "common practice, no
// source" stand where no published text was read.
package outside_test

import (
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"triagebot/kb"
	"triagebot/rules"
)

var embedded = sync.OnceValues(func() (*kb.KB, []kb.Diagnostic) { return kb.Load(kb.Embedded()) })

// bikes is the knowledge base built into the program.
func bikes(t *testing.T) *kb.KB {
	t.Helper()
	k, found := embedded()
	var wrong []string
	for _, d := range found {
		if d.Severity == kb.Error {
			wrong = append(wrong, d.String())
		}
	}
	require.NotNil(t, k, strings.Join(wrong, "\n"))
	return k
}

// check finds a check of the built-in knowledge base.
func check(t *testing.T, id string) *kb.Check {
	t.Helper()
	c := bikes(t).Check(id)
	require.NotNil(t, c, "there is no check %q", id)
	return c
}

// window finds a window of a check.
func window(t *testing.T, c *kb.Check, id string) *kb.Window {
	t.Helper()
	w := c.Window(id)
	require.NotNil(t, w, "check %q has no window %q", c.ID, id)
	return w
}

// scope is the scope of one kit as it is before anything was asked.
func scope(t *testing.T, kit *kb.Kit) *rules.Scope {
	t.Helper()
	s, err := rules.NewScope(bikes(t), kit, nil)
	require.NoError(t, err)
	return s
}

// number evaluates a limit.
func number(t *testing.T, s *rules.Scope, src string) float64 {
	t.Helper()
	v, err := s.Number(src)
	require.NoError(t, err)
	return v
}

// builtKits are the kits of known make, which leaves out the generic one.
func builtKits(t *testing.T) []*kb.Kit {
	t.Helper()
	var kits []*kb.Kit
	for _, k := range bikes(t).Kits {
		if k.ID != bikes(t).About.Generic {
			kits = append(kits, k)
		}
	}
	require.NotEmpty(t, kits)
	return kits
}
