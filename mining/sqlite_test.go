package mining_test

import (
	"database/sql"
	"testing"

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
