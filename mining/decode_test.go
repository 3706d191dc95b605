package mining_test

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/mining"
)

// What is read is what the general decoder reads.
func TestDecodeAgreesWithReflection(t *testing.T) {
	odd := []string{
		`{}`, `{"v":1,"kit":null,"symptoms":[],"checks":null,"unknown":{"a":[1,{"b":null}]}}`,
		`{"bike":"J\u00fcrg \"x\" \\ \n \ud83d\ude00","distance":1.5e3,"age":0.25,"not_found":true,"unmatched":["a","b\tc"]}`,
		`  {"closed" : "2026-02-28" , "questions":7,"minutes":-0.5}  `,
		`{"checks":[{},{"check":"x","value":0,"overload":true,"unit":"V","outcome":"o","close":true,"odd":true,"cannot":"tool"}]}`,
	}
	var lines [][]byte
	for _, s := range odd {
		lines = append(lines, []byte(s))
	}
	for _, r := range invented(builtIn(t), 2000) {
		line, err := json.Marshal(r)
		require.NoError(t, err)
		lines = append(lines, line)
	}
	i := 0
	for r, err := range mining.Records(bytes.NewReader(bytes.Join(lines, []byte("\n")))) {
		require.NoError(t, err)
		var want mining.Record
		require.NoError(t, json.Unmarshal(lines[i], &want))
		require.Equal(t, want, r, "%s", lines[i])
		i++
	}
	assert.Equal(t, len(lines), i)
}

func TestDecodeRefuses(t *testing.T) {
	for _, c := range []struct{ line, says string }{
		{`{`, "line 1"}, {`[]`, "line 1"}, {`{} {}`, "line 1"}, {`{"kit":5}`, `"kit"`}, {`{"closed":"14.3."}`, `"closed"`}, {`{"questions":1.5}`, `"questions"`},
		{`{"minutes":"x"}`, `"minutes"`}, {`{"solved":1}`, `"solved"`}, {`{"symptoms":"x"}`, `"symptoms"`}, {`{"symptoms":[1]}`, `"symptoms"`},
		{`{"checks":[1]}`, `"checks"`}, {`{"checks":[{"value":"5"}]}`, `"value"`}, {`{"distance":1e999}`, `"distance"`}, {"{\"kit\":\"\xff\"}", "UTF-8"},
		{strings.Repeat(`[`, 5000), "line 1"},
	} {
		n := 0
		for _, err := range mining.Records(strings.NewReader(c.line + "\n{}\n")) {
			n++
			assert.ErrorContains(t, err, c.says, c.line)
		}
		assert.Equal(t, 1, n, "nothing comes after an error: %s", c.line)
	}
	for _, err := range mining.Fleet(strings.NewReader(`{"kit":"x","bike":7}`)) {
		assert.ErrorContains(t, err, `"bike"`)
	}
}
