package outside_test

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"triagebot/reading"
)

// recogniser reads lines of text and gives the numbers that the general-purpose
// recogniser of npm finds in each.
const recogniser = `
const r = require('@microsoft/recognizers-text-suite');
const lines = require('fs').readFileSync(0, 'utf8').split('\n').filter(s => s.length);
const out = lines.map(s => r.recognizeNumber(s, 'en-us').map(x => x.resolution && x.resolution.value));
process.stdout.write(JSON.stringify(out));`

// Where the two differ, and why ours is meant as it is. The key is the form.
var differs = map[string]string{
	"%v with the unit drawn to it":  "the recogniser takes a letter behind a number for part of a name and finds nothing; a meter's 4.2V is a reading",
	"%v in whole volts and letters": "4V2 is how resistors and voltages are marked; the recogniser knows no such form",
	"millivolts":                    "ours is in the base unit, the recogniser's is the number as written",
	"kiloohms":                      "as millivolts",
}

// TestNumbersAgainstARecogniser reads generated expressions with both.
func TestNumbersAgainstARecogniser(t *testing.T) {
	node, err := exec.LookPath("node")
	dir := os.Getenv("TRIAGEBOT_NODE_MODULES")
	if err != nil || dir == "" {
		if os.Getenv("TRIAGEBOT_TEST_REQUIRE") == "1" {
			t.Fatal("needs node, and TRIAGEBOT_NODE_MODULES naming a folder with @microsoft/recognizers-text-suite")
		}
		t.Skip("needs node, and TRIAGEBOT_NODE_MODULES naming a folder with @microsoft/recognizers-text-suite 1.3.1")
	}
	type sample struct {
		form, text string
		want       float64 // of ours, in the base unit
		scale      float64 // what theirs times this gives ours; 0 where the form is in differs
	}
	var list []sample
	add := func(form, text string, want, scale float64) { list = append(list, sample{form, text, want, scale}) }
	for tens := 0; tens <= 84; tens += 7 {
		for tenth := 0; tenth <= 9; tenth += 3 {
			v := float64(tens) + float64(tenth)/10
			add("digits", fmt.Sprintf("it reads %.1f volts", v), v, 1)
			add("decimal comma", strings.Replace(fmt.Sprintf("it reads %.1f volts", v), ".", ",", 1), v, 1)
			add("words", fmt.Sprintf("it reads %s point %s volts", spelled(tens), spelled(tenth)), v, 1)
			add("%v with the unit drawn to it", fmt.Sprintf("it reads %.1fV", v), v, 0)
			if tenth == 0 {
				add("whole words", fmt.Sprintf("it reads %s volts", spelled(tens)), v, 1)
				if tens > 0 {
					add("and a half", fmt.Sprintf("it reads %s and a half volts", spelled(tens)), v+0.5, 1)
				}
			} else if tens > 0 {
				add("%v in whole volts and letters", fmt.Sprintf("it reads %dV%d", tens, tenth), v, 0)
			}
		}
		if tens > 0 {
			add("millivolts", fmt.Sprintf("it reads %d millivolts", tens*10), float64(tens)/100, 0.001)
			add("kiloohms", fmt.Sprintf("it reads %d kiloohms", tens), float64(tens)*1000, 1000)
		}
	}
	var in strings.Builder
	for _, s := range list {
		in.WriteString(s.text + "\n")
	}
	cmd := exec.Command(node, "-e", recogniser)
	cmd.Dir, cmd.Stdin = dir, strings.NewReader(in.String())
	raw, err := cmd.Output()
	require.NoError(t, err)
	var theirs [][]string
	require.NoError(t, json.Unmarshal(raw, &theirs))
	require.Len(t, theirs, len(list))

	same, apart := map[string]int{}, map[string]int{}
	for i, s := range list {
		got := reading.Find(s.text)
		require.Len(t, got, 1, s.text)
		require.InDelta(t, s.want, got[0].Value, 1e-9, s.text)
		var v float64
		agree := false
		if len(theirs[i]) == 1 {
			_, err := fmt.Sscan(theirs[i][0], &v)
			agree = err == nil && math.Abs(v-got[0].Value) < 1e-9
			if s.scale != 0 {
				require.InDelta(t, got[0].Value, v*s.scale, 1e-9, "%q: theirs is %v", s.text, theirs[i])
			}
		}
		if agree {
			same[s.form]++
			continue
		}
		apart[s.form]++
		require.Contains(t, differs, s.form, "%q: theirs is %v, ours %v", s.text, theirs[i], got[0].Value)
	}
	for form, n := range same {
		t.Logf("%s: same %d, apart %d", form, n, apart[form])
	}
	for form, n := range apart {
		t.Logf("%s: apart %d: %s", form, n, differs[form])
	}
}

// spelled writes a whole number from 0 to 99 in words.
func spelled(n int) string {
	ones := strings.Fields("zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen")
	tens := strings.Fields("_ _ twenty thirty forty fifty sixty seventy eighty ninety")
	switch {
	case n < 20:
		return ones[n]
	case n%10 == 0:
		return tens[n/10]
	}
	return tens[n/10] + " " + ones[n%10]
}
