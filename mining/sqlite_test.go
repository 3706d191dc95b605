package mining_test

import (
	"database/sql"
	"fmt"
	"path/filepath"
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

// tables hold what mining counts of a record, as one would lay it out for SQL.
const tables = `
	CREATE TABLE cases (id INTEGER PRIMARY KEY, kit TEXT, month TEXT, cause TEXT, remedy TEXT, part TEXT, named TEXT, solved INT, questions INT, minutes REAL, band INT);
	CREATE TABLE symptoms (id INT, symptom TEXT);
	CREATE TABLE checks (id INT, name TEXT, outcome TEXT, cannot TEXT, value REAL)`

// counted is what both sides count. Mining has it by weeks as well.
var counted = []string{
	`SELECT kit, month, cause, count(*) FROM cases GROUP BY 1, 2, 3`,
	`SELECT kit, month, remedy, count(*) FROM cases WHERE remedy <> '' GROUP BY 1, 2, 3`,
	`SELECT kit, month, part, count(*) FROM cases WHERE part <> '' GROUP BY 1, 2, 3`,
	`SELECT kit, month, symptom, count(*) FROM symptoms JOIN cases USING (id) GROUP BY 1, 2, 3`,
	`SELECT kit, band, part, count(*) FROM cases WHERE part <> '' GROUP BY 1, 2, 3`,
	`SELECT kit, '', '', count(*), sum(solved), avg(questions), avg(minutes) FROM cases GROUP BY 1`,
	`SELECT named, cause, '', count(*) FROM cases WHERE named <> '' GROUP BY 1, 2`,
	`SELECT name, kit, outcome, count(*), avg(value) FROM checks JOIN cases USING (id) GROUP BY 1, 2, 3`,
	`SELECT name, '', '', count(*), sum(cannot <> '') FROM checks GROUP BY 1`,
}

// fillSQLite puts n records into a database file.
func fillSQLite(tb testing.TB, records []mining.Record, n int) *sql.DB {
	tb.Helper()
	db, err := sql.Open("sqlite", filepath.Join(tb.TempDir(), "cases.sqlite"))
	require.NoError(tb, err)
	tb.Cleanup(func() { _ = db.Close() })
	db.SetMaxOpenConns(1)
	_, err = db.Exec(`PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF;` + tables)
	require.NoError(tb, err)
	tx, err := db.Begin()
	require.NoError(tb, err)
	prepare := func(q string) *sql.Stmt {
		s, err := tx.Prepare(q)
		require.NoError(tb, err)
		return s
	}
	cases, symptoms, checks := prepare(`INSERT INTO cases VALUES (?,?,?,?,?,?,?,?,?,?,?)`), prepare(`INSERT INTO symptoms VALUES (?,?)`), prepare(`INSERT INTO checks VALUES (?,?,?,?,?)`)
	for i := range n {
		r := records[i%len(records)]
		_, err := cases.Exec(i, r.Kit, r.Closed.Month(), r.Confirmed, r.Remedy, r.Part, r.Named, r.Solved, r.Questions, r.Minutes, int(r.Distance/2000))
		require.NoError(tb, err)
		for _, s := range r.Symptoms {
			_, err := symptoms.Exec(i, s)
			require.NoError(tb, err)
		}
		for _, c := range r.Checks {
			_, err := checks.Exec(i, c.Check, c.Outcome, c.Cannot, c.Value)
			require.NoError(tb, err)
		}
	}
	require.NoError(tb, tx.Commit())
	return db
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
	db := fillSQLite(t, records, len(records))

	got := map[string]int{}
	for _, c := range report.Counts {
		if c.By == "month" && c.Kind != mining.Cases && c.ID != mining.NotFound {
			require.NotNil(t, c.N)
			got[fmt.Sprintf("%s %s %s %s", c.Kind, c.Kit, c.Value, c.ID)] = *c.N
		}
	}
	for _, c := range report.Confusion {
		if c.Confirmed != mining.NotFound {
			got["named "+c.Named+" "+c.Confirmed] = c.N
		}
	}
	for _, c := range report.Checks {
		got["asked "+c.Check] = *c.Asked
		got["cannot "+c.Check] = *c.Cannot.N
	}
	for _, x := range report.Talks {
		if x.Kit != mining.All {
			got["solved "+x.Kit] = *x.Solved.N
		}
	}

	want := map[string]int{}
	for prefix, query := range map[string]string{
		"cause ":   `SELECT kit || ' ' || month || ' ' || cause, count(*) FROM cases WHERE cause <> '' GROUP BY 1`,
		"remedy ":  `SELECT kit || ' ' || month || ' ' || remedy, count(*) FROM cases WHERE remedy <> '' GROUP BY 1`,
		"part ":    `SELECT kit || ' ' || month || ' ' || part, count(*) FROM cases WHERE part <> '' GROUP BY 1`,
		"symptom ": `SELECT kit || ' ' || month || ' ' || symptom, count(*) FROM symptoms JOIN cases USING (id) GROUP BY 1`,
		"named ":   `SELECT named || ' ' || cause, count(*) FROM cases WHERE named <> '' AND cause <> '' GROUP BY 1`,
		"asked ":   `SELECT name, count(*) FROM checks GROUP BY 1`,
		"cannot ":  `SELECT name, sum(cannot <> '') FROM checks GROUP BY 1`,
		"solved ":  `SELECT kit, sum(solved) FROM cases GROUP BY 1`,
	} {
		rows, err := db.Query(query)
		require.NoError(t, err)
		for rows.Next() {
			var of string
			var n int
			require.NoError(t, rows.Scan(&of, &n))
			want[prefix+of] = n
		}
		require.NoError(t, rows.Err())
		require.NoError(t, rows.Close())
	}
	require.Equal(t, want, got)
}
