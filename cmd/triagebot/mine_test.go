package main

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
	"triagebot/mining"
	"triagebot/mining/demo"
)

// year is a small invented year as JSON lines.
func year(t *testing.T) string {
	k, found := kb.Load(kb.Embedded())
	require.NotNil(t, k, "%v", found)
	day, err := mining.ParseDay("2025-12-01")
	require.NoError(t, err)
	s := demo.Year(day)
	s.Bikes = 600
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	for r := range demo.Records(k, s) {
		require.NoError(t, e.Encode(r))
	}
	return b.String()
}

func TestMine(t *testing.T) {
	in, dir := year(t), t.TempDir()
	r := do(t, in, "mine", "--json", "--csv", filepath.Join(dir, "csv"), "--plots", filepath.Join(dir, "plots"),
		"--patch", filepath.Join(dir, "words.yaml"), "--learn", filepath.Join(dir, "priors.yaml"))
	require.Equal(t, exitFine, r.code, r.err)
	o := objects(t, r.out)[0]
	assert.Equal(t, true, o["demo"])
	assert.EqualValues(t, strings.Count(in, "\n"), o["cases"])

	f, err := os.Open(filepath.Join(dir, "priors.yaml"))
	require.NoError(t, err)
	defer f.Close()
	_, err = mining.ReadOverlay(f)
	require.NoError(t, err)
	tables, err := filepath.Glob(filepath.Join(dir, "csv", "*.csv"))
	require.NoError(t, err)
	assert.Greater(t, len(tables), 8)

	pictures, err := os.ReadDir(filepath.Join(dir, "plots"))
	require.NoError(t, err)
	require.Greater(t, len(pictures), 10)
	for _, p := range pictures {
		data, err := os.ReadFile(filepath.Join(dir, "plots", p.Name()))
		require.NoError(t, err)
		if strings.HasSuffix(p.Name(), ".png") {
			_, err := png.Decode(bytes.NewReader(data))
			require.NoError(t, err, p.Name())
			continue
		}
		assert.Contains(t, string(data), "@font-face", p.Name())
		assert.Contains(t, string(data), "demo: invented cases", p.Name())
		d := xml.NewDecoder(bytes.NewReader(data))
		for err == nil {
			_, err = d.Token()
		}
		assert.ErrorIs(t, err, io.EOF, p.Name())
	}
}

func TestMineSelects(t *testing.T) {
	in := year(t)
	text := do(t, in, "mine", "--kit", "sorrel-60", "--from", "2026-03-01", "--to", "2026-05-31")
	require.Equal(t, exitFine, text.code, text.err)
	assert.Contains(t, text.out, "DEMO: these cases are invented.")
	assert.NotContains(t, text.out, "teasel-48")
	assert.Regexp(t, `2026-0[3-5]-\d\d to 2026-05-\d\d`, text.out)

	for _, bad := range [][]string{{"--kit", "none"}, {"--from", "spring"}, {"--least", "0"}, {"--false-alarms", "2"}} {
		assert.Equal(t, exitUsage, do(t, in, append([]string{"mine"}, bad...)...).code, "%v", bad)
	}
	assert.Equal(t, exitFound, do(t, "{not json\n", "mine").code)
	assert.Equal(t, exitFine, do(t, "", "mine").code)
}
