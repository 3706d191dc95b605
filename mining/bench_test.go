package mining_test

import (
	"bytes"
	"database/sql"
	"encoding/json"
	"fmt"
	"os"
	"runtime"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	_ "modernc.org/sqlite"

	"triagebot/kb"
	"triagebot/mining"
	"triagebot/mining/demo"
)

// invented are n records of a year, whatever n.
func invented(k *kb.KB, n int) []mining.Record {
	var list []mining.Record
	for r := range demo.Records(k, demo.Settings{Seed: 3, Start: start, Weeks: 52, Bikes: n, Rate: 1.2 / 52}) {
		if list = append(list, r); len(list) == n {
			break
		}
	}
	return list
}

// counted is what both sides count: cases by kit, month and cause.
const counted = `SELECT count(*) FROM (SELECT kit, month, cause, count(*) FROM cases GROUP BY kit, month, cause)`

// BenchmarkMillion mines TRIAGEBOT_MINE records (default 100,000) from JSON
// lines, all statistics, and lets SQLite count cases by kit, month and cause
// over the same data. It prints time, memory kept, and the ratio.
func BenchmarkMillion(b *testing.B) {
	k := builtIn(b)
	most := 100_000
	if v, err := strconv.Atoi(os.Getenv("TRIAGEBOT_MINE")); err == nil {
		most = v
	}
	for _, n := range []int{most / 4, most / 2, most} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			records := invented(k, n)
			require.Len(b, records, n)
			lines := make([][]byte, n)
			size := 0
			for i, r := range records {
				line, err := json.Marshal(r)
				require.NoError(b, err)
				lines[i] = append(line, '\n')
				size += len(line)
			}
			for b.Loop() {
				var m0, m1 runtime.MemStats
				runtime.GC()
				runtime.ReadMemStats(&m0)
				began := time.Now()
				a := mining.NewAggregate()
				for r, err := range mining.Records(&feed{lines: lines}) {
					require.NoError(b, err)
					a.Add(r)
				}
				added := time.Since(began)
				runtime.GC()
				runtime.ReadMemStats(&m1)
				_, err := mining.NewReport(a, mining.Options{KB: k})
				require.NoError(b, err)
				all := time.Since(began)
				b.ReportMetric(added.Seconds(), "s/read+add")
				b.ReportMetric(all.Seconds(), "s/all")
				b.ReportMetric(float64(m1.HeapAlloc-m0.HeapAlloc)/(1<<20), "MiB/kept")
				b.ReportMetric(float64(size)/float64(n), "B/record")
				runtime.KeepAlive(a)

				fill, query := inSQLite(b, records)
				b.ReportMetric(fill.Seconds(), "s/sqlite-fill")
				b.ReportMetric(query.Seconds(), "s/sqlite-count")
			}
			b.ReportMetric(0, "ns/op")
		})
	}
}

// feed reads prepared lines one after the other.
type feed struct {
	lines [][]byte
	part  bytes.Reader
}

func (f *feed) Read(p []byte) (int, error) {
	if f.part.Len() == 0 && len(f.lines) > 0 {
		f.part.Reset(f.lines[0])
		f.lines = f.lines[1:]
	}
	return f.part.Read(p)
}

func inSQLite(tb testing.TB, records []mining.Record) (fill, query time.Duration) {
	db, err := sql.Open("sqlite", ":memory:")
	require.NoError(tb, err)
	defer db.Close()
	db.SetMaxOpenConns(1)
	_, err = db.Exec(`CREATE TABLE cases (kit TEXT, month TEXT, cause TEXT)`)
	require.NoError(tb, err)
	began := time.Now()
	tx, err := db.Begin()
	require.NoError(tb, err)
	insert, err := tx.Prepare(`INSERT INTO cases VALUES (?, ?, ?)`)
	require.NoError(tb, err)
	for _, r := range records {
		_, err := insert.Exec(r.Kit, r.Closed.Month(), r.Confirmed)
		require.NoError(tb, err)
	}
	require.NoError(tb, tx.Commit())
	fill = time.Since(began)
	began = time.Now()
	var groups int
	require.NoError(tb, db.QueryRow(counted).Scan(&groups))
	return fill, time.Since(began)
}

// The counts are those of a database over the same records.
func TestCountsAgreeWithSQLite(t *testing.T) {
	k := builtIn(t)
	records := invented(k, 3000)
	a := mining.NewAggregate()
	for _, r := range records {
		a.Add(r)
	}
	report, err := mining.NewReport(a, mining.Options{Least: 1})
	require.NoError(t, err)
	got := map[string]int{}
	for _, c := range report.Counts {
		if c.Kind == mining.Causes && c.By == "month" && c.ID != mining.NotFound {
			require.NotNil(t, c.N)
			got[c.Kit+" "+c.Value+" "+c.ID] = *c.N
		}
	}

	db, err := sql.Open("sqlite", ":memory:")
	require.NoError(t, err)
	defer db.Close()
	db.SetMaxOpenConns(1)
	_, err = db.Exec(`CREATE TABLE cases (kit TEXT, month TEXT, cause TEXT)`)
	require.NoError(t, err)
	for _, r := range records {
		_, err := db.Exec(`INSERT INTO cases VALUES (?, ?, ?)`, r.Kit, r.Closed.String()[:7], r.Confirmed)
		require.NoError(t, err)
	}
	rows, err := db.Query(`SELECT kit, month, cause, count(*) FROM cases WHERE cause <> '' GROUP BY kit, month, cause`)
	require.NoError(t, err)
	defer rows.Close()
	want := map[string]int{}
	for rows.Next() {
		var kit, month, cause string
		var n int
		require.NoError(t, rows.Scan(&kit, &month, &cause, &n))
		want[kit+" "+month+" "+cause] = n
	}
	require.NoError(t, rows.Err())
	require.Equal(t, want, got)
}
