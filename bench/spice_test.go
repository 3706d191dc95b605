package bench

import (
	"bufio"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// ngspice finds the program, or skips the test; with TRIAGEBOT_TEST_REQUIRE=1
// its absence is a failure.
func ngspice(t *testing.T) string {
	t.Helper()
	path, err := exec.LookPath("ngspice")
	if err != nil {
		if os.Getenv("TRIAGEBOT_TEST_REQUIRE") == "1" {
			t.Fatal("ngspice is not installed, and TRIAGEBOT_TEST_REQUIRE=1 wants this test run: install the package ngspice")
		}
		t.Skip("ngspice is not installed: the networks are not compared with it (Debian package ngspice)")
	}
	return path
}

// operatingPoints lets ngspice solve netlists, all in one run, and returns
// the node voltages of each by the netlist's own node names.
func operatingPoints(t *testing.T, program string, netlists []string) []map[string]float64 {
	t.Helper()
	dir := t.TempDir()
	var control strings.Builder
	control.WriteString("* all\n.control\nset numdgt=12\n")
	for i, n := range netlists {
		name := "n" + strconv.Itoa(i) + ".cir"
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(n), 0o600))
		control.WriteString("source " + name + "\nop\necho point " + strconv.Itoa(i) + "\nprint all\n")
	}
	control.WriteString("quit\n.endc\n.end\n")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "all.cir"), []byte(control.String()), 0o600))
	cmd := exec.Command(program, "-b", "all.cir")
	cmd.Dir = dir
	out, _ := cmd.Output() // its exit code says nothing; the points do
	points := make([]map[string]float64, len(netlists))
	at := -1
	scan := bufio.NewScanner(strings.NewReader(string(out)))
	for scan.Scan() {
		line := strings.TrimSpace(scan.Text())
		if rest, ok := strings.CutPrefix(line, "point "); ok {
			at, _ = strconv.Atoi(rest)
			points[at] = map[string]float64{}
			continue
		}
		name, value, ok := strings.Cut(line, " = ")
		if !ok || at < 0 {
			continue
		}
		v, err := strconv.ParseFloat(strings.TrimSpace(value), 64)
		if err == nil {
			points[at][name] = v
		}
	}
	return points
}

// TestAgainstSpice solves every kit, sound and with every fault, twice: here
// and with ngspice. Every node must agree within 0.1 % and 1 mV.
func TestAgainstSpice(t *testing.T) {
	program := ngspice(t)
	for _, b := range builds {
		t.Run(b.id, func(t *testing.T) {
			t.Parallel()
			var netlists, titles []string
			var states []*state
			for _, cause := range append([]string{""}, Causes(b.id)...) {
				var causes []string
				if cause != "" {
					causes = []string{cause}
				}
				bike, err := New(b.id, causes, 11)
				require.NoError(t, err)
				text, err := Netlist(bike)
				require.NoError(t, err, cause)
				st, err := bike.state(lit)
				require.NoError(t, err, cause)
				netlists, titles, states = append(netlists, text), append(titles, cause), append(states, st)
			}
			require.Greater(t, len(netlists), 25)
			points := operatingPoints(t, program, netlists)
			again := 0
			for i, st := range states {
				if len(points[i]) == 0 {
					// ngspice finds its way to few faults from a sound bike's
					// voltages. Begun a tenth of a volt off our own it must
					// still balance every current by itself.
					near := make([]float64, len(st.volts))
					for n, v := range st.volts {
						near[n] = math.Round(v*10) / 10
					}
					again++
					points[i] = operatingPoints(t, program, []string{st.net.netlist(titles[i], near)})[0]
				}
				require.NotEmpty(t, points[i], "ngspice found no operating point for %q", titles[i])
				for n, name := range st.net.names {
					if n == 0 {
						continue
					}
					theirs, ok := points[i]["n_"+strings.ReplaceAll(name, "-", "_")]
					require.True(t, ok, "%q: ngspice has no node %q", titles[i], name)
					require.InDelta(t, theirs, st.volts[n], 0.001+0.001*math.Abs(theirs), "%q: node %q", titles[i], name)
				}
			}
			require.Less(t, again, 6, "networks that ngspice did not find by itself")
		})
	}
}
