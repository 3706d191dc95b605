//go:build unix

package mining_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"runtime"
	"strconv"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"

	"triagebot/mining"
)

// busy is the processor time used so far, which another's work on the machine
// does not lengthen as it does the time on the clock.
func busy() float64 {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return float64(u.Utime.Sec+u.Stime.Sec) + float64(u.Utime.Usec+u.Stime.Usec)/1e6
}

// BenchmarkMine mines TRIAGEBOT_MINE records (default 100,000), all
// statistics, from JSON lines; and lets SQLite count the same over the same data,
// in a file without a journal. Figures are seconds of processor time, of all cores,
// garbage collection included. Up to 50,000 records are different ones.
func BenchmarkMine(b *testing.B) {
	k := builtIn(b)
	most := 100_000
	if v, err := strconv.Atoi(os.Getenv("TRIAGEBOT_MINE")); err == nil {
		most = v
	}
	records := invented(k, min(most/4, 50_000))
	var lines [][]byte
	for _, r := range records {
		line, err := json.Marshal(r)
		require.NoError(b, err)
		lines = append(lines, append(line, '\n'))
	}
	for _, n := range []int{most / 4, most / 2, most} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				var m0, m1 runtime.MemStats
				runtime.GC()
				runtime.ReadMemStats(&m0)
				began := busy()
				for _, err := range mining.Records(&feed{lines: lines, left: n}) {
					require.NoError(b, err)
				}
				read := busy()
				a := mining.NewAggregate()
				for i := range n {
					a.Add(records[i%len(records)])
				}
				added := busy()
				_, err := mining.NewReport(a, mining.Options{KB: k})
				require.NoError(b, err)
				reported := busy()
				runtime.GC()
				runtime.ReadMemStats(&m1)
				b.ReportMetric(read-began, "s-read")
				b.ReportMetric(added-read, "s-add")
				b.ReportMetric(reported-added, "s-report")
				b.ReportMetric(float64(m1.HeapAlloc-m0.HeapAlloc)/(1<<20), "MiB-kept")
				runtime.KeepAlive(a)

				fill, count := inSQLite(b, records, n)
				b.ReportMetric(fill, "s-sqlite-fill")
				b.ReportMetric(count, "s-sqlite-count")
			}
			b.ReportMetric(0, "ns/op")
		})
	}
}

// feed reads prepared lines round and round.
type feed struct {
	lines [][]byte
	next  int
	left  int
	part  bytes.Reader
}

func (f *feed) Read(p []byte) (int, error) {
	if f.part.Len() == 0 && f.left > 0 {
		f.part.Reset(f.lines[f.next])
		f.next, f.left = (f.next+1)%len(f.lines), f.left-1
	}
	return f.part.Read(p)
}

// inSQLite has the database count the same.
func inSQLite(tb testing.TB, records []mining.Record, n int) (fill, count float64) {
	began := busy()
	db := fillSQLite(tb, records, n)
	filled := busy()
	for _, query := range counted {
		var groups int
		require.NoError(tb, db.QueryRow("SELECT count(*) FROM ("+query+")").Scan(&groups))
		require.NotZero(tb, groups, query)
	}
	return filled - began, busy() - filled
}
