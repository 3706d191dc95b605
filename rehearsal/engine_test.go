package rehearsal_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"triagebot/hearing"
	"triagebot/kb"
	"triagebot/rehearsal"
)

func newRehearsal(t testing.TB) *rehearsal.Rehearsal {
	t.Helper()
	return rehearsalOf(t, embedded(t))
}

func rehearsalOf(t testing.TB, k *kb.KB) *rehearsal.Rehearsal {
	t.Helper()
	e, closer, err := hearing.Engine(k)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, closer.Close()) })
	r, err := rehearsal.New(e)
	require.NoError(t, err)
	return r
}
