package store_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	bolt "go.etcd.io/bbolt"
	"pgregory.net/rapid"

	"triagebot/casefile/store"
)

// sound is the bytes of a store with a bit of everything, which of them are in
// use, and what is in it.
func sound(t testing.TB) (data []byte, used []bool, all map[string]string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "triagebot.db")
	s, err := store.Open(path, options())
	require.NoError(t, err)
	fill(t, s, 30, 8)
	require.NoError(t, s.Set(t.Context(), "channel", "17"))
	big := turn("long", "ada", 0)
	big.Events[0].Text = string(make([]byte, 20_000)) // more than a page
	commit(t, s, big)
	require.NoError(t, s.Sent(t.Context(), outbox(t, s)[:100]...)) // leaves free pages behind
	all = records(t, s)
	require.NoError(t, s.Close())
	data, err = os.ReadFile(path)
	require.NoError(t, err)
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	used, err = store.Used(f, int64(len(data)))
	require.NoError(t, err)
	return data, used, all
}

// memoryDir is a folder in memory where there is one: thousands of files are
// written and none need outlive the test.
func memoryDir(t testing.TB) string {
	dir, err := os.MkdirTemp("/dev/shm", "triagebot-")
	if err != nil {
		return t.TempDir()
	}
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	return dir
}

// openDamaged says whether the damage was told. When it was not, it must have
// hit nothing: all is there, and the store goes on.
func openDamaged(t testing.TB, path string, all map[string]string, goOn bool, what string) (told bool) {
	t.Helper()
	s, err := store.Open(path, options())
	if err != nil {
		require.ErrorIs(t, err, store.ErrDamaged, what)
		return true
	}
	got, err := s.Records()
	require.NoError(t, err, what)
	require.Equal(t, len(all), len(got), what)
	for k, v := range all {
		require.Equal(t, v, got[k], "%s: %q", what, k)
	}
	if goOn {
		_, err = s.Commit(t.Context(), turn("fresh", "bo", 0))
		require.NoError(t, err, what)
	}
	require.NoError(t, s.Close(), what)
	_, err = store.Verify(path)
	require.NoError(t, err, what)
	return false
}

func overwrite(t testing.TB, path string, at int, b byte) {
	t.Helper()
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	require.NoError(t, err)
	_, err = f.WriteAt([]byte{b}, int64(at))
	require.NoError(t, err)
	require.NoError(t, f.Close())
}

// Every flipped bit in what is in use is told; one beside it hits nothing.
func TestFlippedBits(t *testing.T) {
	data, used, all := sound(t)
	flips := 2000
	if testing.Short() {
		flips = 300
	}
	path := filepath.Join(memoryDir(t), "flipped.db")
	require.NoError(t, os.WriteFile(path, data, 0o600))
	draw := rand.New(rand.NewPCG(5, 1))
	told := 0
	for i := range flips {
		at := draw.IntN(len(used))
		switch {
		case i%10 == 0: // the two heads
			at = draw.IntN(2)*4096 + draw.IntN(80)
		case i%2 == 0: // the starts of pages, where the structure is
			at = draw.IntN(len(used)/4096)*4096 + draw.IntN(160)
		}
		bit := byte(1) << draw.IntN(8)
		overwrite(t, path, at, data[at]^bit)
		goesOn := i%20 < 2
		what := fmt.Sprintf("bit %#x at %d", bit, at)
		hit := openDamaged(t, path, all, goesOn, what)
		require.Equal(t, used[at], hit, what)
		if hit {
			told++
		} else if goesOn {
			require.NoError(t, os.WriteFile(path, data, 0o600))
		}
		overwrite(t, path, at, data[at])
	}
	t.Logf("%d of %d flips in %d bytes hit what is in use, all told", told, flips, len(used))
	assert.Greater(t, told, flips/4, "the flips hit too little to mean anything")
}

// The pages that lead to others are few and everything hangs on them: a bit of
// every byte of them.
func TestFlippedBranches(t *testing.T) {
	data, used, _ := sound(t)
	path := filepath.Join(memoryDir(t), "branches.db")
	require.NoError(t, os.WriteFile(path, data, 0o600))
	draw := rand.New(rand.NewPCG(5, 6))
	tried := 0
	for page := 2 * 4096; page < len(used); page += 4096 {
		if !used[page] || data[page+8] != 1 {
			continue
		}
		for at := page; at < page+4096 && used[at]; at++ {
			bit := byte(1) << draw.IntN(8)
			overwrite(t, path, at, data[at]^bit)
			_, err := store.Verify(path)
			require.ErrorIs(t, err, store.ErrDamaged, "bit %#x at %d", bit, at)
			overwrite(t, path, at, data[at])
			tried++
		}
	}
	assert.Greater(t, tried, 100)
	_, err := store.Verify(path)
	require.NoError(t, err)
}

// Longer damage: zeroed and swapped stretches, as a disk leaves them.
func TestOverwrittenStretches(t *testing.T) {
	data, inUse, all := sound(t)
	used := int64(len(inUse))
	path := filepath.Join(memoryDir(t), "overwritten.db")
	draw := rand.New(rand.NewPCG(5, 2))
	told := 0
	const tries = 300
	for range tries {
		bad := append([]byte(nil), data...)
		from, to, n := draw.Int64N(used), draw.Int64N(used), 1+draw.Int64N(8192)
		from, to = from&^511, to&^511
		what := fmt.Sprintf("%d bytes at %d", n, to)
		switch draw.IntN(3) {
		case 0:
			clear(bad[to:min(to+n, used)])
		case 1:
			copy(bad[to:min(to+n, used)], data[from:])
		case 2:
			for i := to; i < min(to+n, used); i++ {
				bad[i] = byte(draw.Uint32())
			}
		}
		require.NoError(t, os.WriteFile(path, bad, 0o600))
		if openDamaged(t, path, all, true, what) {
			told++
		}
	}
	t.Logf("%d of %d told", told, tries)
	assert.Greater(t, told, tries/4)
}

func TestTruncated(t *testing.T) {
	data, inUse, all := sound(t)
	used := int64(len(inUse))
	path := filepath.Join(memoryDir(t), "truncated.db")
	draw := rand.New(rand.NewPCG(5, 3))
	lengths := []int64{0, 1, 79, 80, 4095, 4096, 8191, 8192, used - 4096, used - 1, used, used + 1, int64(len(data)) - 1}
	for range 100 {
		lengths = append(lengths, draw.Int64N(used))
	}
	for _, n := range lengths {
		require.NoError(t, os.WriteFile(path, data[:n], 0o600))
		told := openDamaged(t, path, all, true, fmt.Sprintf("cut to %d", n))
		assert.Equal(t, n < used, told, "cut to %d of %d in use", n, used)
	}
}

// A file cut short while it is open is a bus error in bbolt; here it is an
// error and the store takes nothing more.
func TestTruncatedWhileOpen(t *testing.T) {
	path := filepath.Join(t.TempDir(), "cut.db")
	s, err := store.Open(path, options())
	require.NoError(t, err)
	fill(t, s, 30, 8)
	require.NoError(t, os.Truncate(path, 8192))
	_, _, err = s.Conversation("talk-1")
	require.ErrorIs(t, err, store.ErrDamaged)
	_, err = s.Commit(t.Context(), turn("fresh", "bo", 0))
	require.ErrorIs(t, err, store.ErrDamaged)
	_, err = s.Commit(t.Context(), turn("fresh", "bo", 0))
	require.ErrorIs(t, err, store.ErrBroken)
	require.NoError(t, s.Close())
	_, err = store.Open(path, options())
	require.ErrorIs(t, err, store.ErrDamaged)
	assert.ErrorContains(t, err, "triagebot restore")
}

// A record gone bad under the open store is not handed out.
func TestFlippedWhileOpen(t *testing.T) {
	path := filepath.Join(t.TempDir(), "flip.db")
	s, err := store.Open(path, options())
	require.NoError(t, err)
	defer s.Close()
	commit(t, s, turn("talk", "ada", 0))
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	for i := range data {
		if string(data[i:min(i+5, len(data))]) == "words" {
			data[i] ^= 1
		}
	}
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	require.NoError(t, err)
	_, err = f.WriteAt(data[8192:], 8192)
	require.NoError(t, err)
	require.NoError(t, f.Close())
	_, _, err = s.Conversation("talk")
	require.ErrorIs(t, err, store.ErrDamaged)
}

// Our reading of the file agrees with bbolt's own, whatever was done to it.
func TestScanAgreesWithBolt(t *testing.T) {
	dir := t.TempDir()
	n := 0
	rapid.Check(t, func(t *rapid.T) {
		n++
		path := filepath.Join(dir, fmt.Sprint(n))
		db, err := bolt.Open(path, 0o600, &bolt.Options{NoSync: true, NoFreelistSync: rapid.Bool().Draw(t, "no list of free pages")})
		require.NoError(t, err)
		defer db.Close()
		want := map[string]string{}
		for range rapid.IntRange(1, 8).Draw(t, "transactions") {
			require.NoError(t, db.Update(func(tx *bolt.Tx) error {
				for range rapid.IntRange(1, 40).Draw(t, "changes") {
					name := rapid.SampledFrom([]string{"a", "bucket", "z"}).Draw(t, "bucket")
					b, err := tx.CreateBucketIfNotExists([]byte(name))
					require.NoError(t, err)
					want[name] = "(bucket)"
					key := fmt.Sprintf("%03d", rapid.IntRange(0, 300).Draw(t, "key"))
					if rapid.IntRange(0, 2).Draw(t, "delete") == 0 {
						require.NoError(t, b.Delete([]byte(key)))
						delete(want, name+"\x00"+key)
						continue
					}
					value := make([]byte, rapid.SampledFrom([]int{0, 5, 100, 900, 9000}).Draw(t, "size"))
					require.NoError(t, b.Put([]byte(key), value))
					want[name+"\x00"+key] = string(value)
				}
				return nil
			}))
		}
		f, err := os.Open(path)
		require.NoError(t, err)
		defer f.Close()
		info, err := f.Stat()
		require.NoError(t, err)
		got, err := store.Scan(f, info.Size())
		require.NoError(t, err)
		require.Equal(t, want, got)
	})
}
