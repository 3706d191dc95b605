package language_test

import (
	"cmp"
	"database/sql"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/blevesearch/bleve/v2"
	"github.com/stretchr/testify/require"
	_ "modernc.org/sqlite"

	"triagebot/kb"
	"triagebot/search"
)

// hit is a phrase of the knowledge base that an index found in a message.
type hit struct {
	symptom string // "" for other talk
	present bool
	score   float64
}

// baseline is a plain index over the same phrases: what scores above a
// threshold is told, what scores below another in all is other talk.
type baseline struct {
	name string
	find func(message string) []hit
	told float64
	ours float64
}

func (b *baseline) match(k *kb.KB) func(string) search.Said {
	return func(message string) search.Said {
		var said search.Said
		best := 0.0
		seen := map[string]bool{}
		for _, h := range b.find(message) { // the best first
			best = max(best, h.score)
			if h.score < b.told || h.symptom == "" || seen[h.symptom] {
				continue
			}
			seen[h.symptom] = true
			said.Symptoms = append(said.Symptoms, search.Symptom{ID: h.symptom, Present: h.present})
			if h.present && k.Symptom(h.symptom).Danger != "" {
				said.Danger = append(said.Danger, h.symptom)
			}
		}
		said.Offtopic = len(said.Symptoms) == 0 && best < b.ours
		return said
	}
}

// remembering asks the index once for each message.
func (b *baseline) remembering() *baseline {
	known, find := map[string][]hit{}, b.find
	b.find = func(message string) []hit {
		hits, ok := known[message]
		if !ok {
			hits = find(message)
			known[message] = hits
		}
		return hits
	}
	return b
}

// tune sets the thresholds that do best on the dev messages: the first by F1 of
// what is present, then the second by what is rightly held for ours or not.
func (b *baseline) tune(k *kb.KB, dev []message) {
	var scores []float64
	for _, m := range dev {
		for i, h := range b.find(m.Text) {
			if i < 3 {
				scores = append(scores, h.score)
			}
		}
	}
	slices.Sort(scores)
	best := -1.0
	for q := 0; q < 25; q++ {
		b2 := *b
		b2.told, b2.ours = scores[len(scores)*q/25], 0
		if f := scoreMessages(dev, b2.match(k)).present.f1(); f > best {
			best, b.told = f, b2.told
		}
	}
	best = -1.0
	for q := 0; q < 25; q++ {
		b2 := *b
		b2.ours = scores[len(scores)*q/25]
		s := scoreMessages(dev, b2.match(k))
		if v := share(s.notOursFound, s.notOurs) - share(s.turnedAway, s.complaints); v > best {
			best, b.ours = v, b2.ours
		}
	}
}

func share(n, of int) float64 { return float64(n) / float64(max(of, 1)) }

// phrasesOf are the phrases of symptoms, said and denied.
func phrasesOf(k *kb.KB, add func(id int, text string)) []hit {
	var list []hit
	put := func(symptom string, present bool, texts []string) {
		for _, t := range texts {
			add(len(list), t)
			list = append(list, hit{symptom: symptom, present: present})
		}
	}
	for _, s := range k.Symptoms {
		put(s.ID, true, s.Phrases)
		put(s.ID, false, s.Absent)
	}
	return list
}

// plainBleve is bleve's match query with its standard English analysis.
func plainBleve(t *testing.T, k *kb.KB) *baseline {
	t.Helper()
	m := bleve.NewIndexMapping()
	m.DefaultAnalyzer = "en"
	x, err := bleve.NewMemOnly(m)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, x.Close()) })
	batch := x.NewBatch()
	list := phrasesOf(k, func(id int, text string) {
		require.NoError(t, batch.Index(fmt.Sprint(id), map[string]string{"text": text}))
	})
	require.NoError(t, x.Batch(batch))
	return &baseline{name: "bleve, match query", find: func(message string) []hit {
		req := bleve.NewSearchRequestOptions(bleve.NewMatchQuery(message), 20, 0, false)
		req.SortBy([]string{"-_score", "_id"})
		res, err := x.Search(req)
		require.NoError(t, err)
		var out []hit
		for _, h := range res.Hits {
			var n int
			_, err := fmt.Sscan(h.ID, &n)
			require.NoError(t, err)
			out = append(out, hit{list[n].symptom, list[n].present, h.Score})
		}
		return out
	}}
}

var wordsOnly = regexp.MustCompile(`[\pL\pN]+`)

// plainSQLite is SQLite's full-text search, ranked by its BM25, with Porter stems.
func plainSQLite(t *testing.T, k *kb.KB) *baseline {
	t.Helper()
	db, err := sql.Open("sqlite", ":memory:")
	require.NoError(t, err)
	db.SetMaxOpenConns(1)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	_, err = db.Exec(`create virtual table phrases using fts5(text, tokenize='porter unicode61')`)
	require.NoError(t, err)
	list := phrasesOf(k, func(id int, text string) {
		_, err := db.Exec(`insert into phrases(rowid, text) values(?, ?)`, id+1, text)
		require.NoError(t, err)
	})
	return &baseline{name: "SQLite FTS5, BM25", find: func(message string) []hit {
		words := wordsOnly.FindAllString(message, -1)
		if len(words) == 0 {
			return nil
		}
		rows, err := db.Query(`select rowid, -bm25(phrases) from phrases where phrases match ? order by bm25(phrases), rowid limit 20`, `"`+strings.Join(words, `" OR "`)+`"`)
		require.NoError(t, err)
		defer rows.Close()
		var out []hit
		for rows.Next() {
			var n int
			var score float64
			require.NoError(t, rows.Scan(&n, &score))
			out = append(out, hit{list[n-1].symptom, list[n-1].present, score})
		}
		require.NoError(t, rows.Err())
		return out
	}}
}

// parts are the sets that TestTable and TestAblation score, the dev sets unless
// TRIAGEBOT_SCORE_HELD names parts set aside.
func parts() []string {
	if held := os.Getenv("TRIAGEBOT_SCORE_HELD"); held != "" {
		return strings.Split(held, ",")
	}
	return []string{"dev", "dev2", "dev3"}
}

func messagesOf(t *testing.T, parts []string) []message {
	t.Helper()
	var out []message
	for _, p := range parts {
		out = append(out, load[message](t, "messages."+p+".jsonl")...)
	}
	return out
}

// line writes a score as a row of the table in the README.
func (s messageScore) line() string {
	return fmt.Sprintf("%.3f | %.3f | %d of %d | %d of %d | %d of %d | %d of %d | %d of %d", s.present.f1(), s.absent.f1(),
		s.polarity, s.messages, s.dangerFound, s.dangerous, s.falseAlarms, s.harmless, s.notOursFound, s.notOurs, s.turnedAway, s.complaints)
}

// TestTable compares with plain indexes over the same phrases, by the same
// scoring. It fails when one of them does better.
func TestTable(t *testing.T) {
	k, found := kb.Load(kb.Embedded())
	require.False(t, kb.HasErrors(found))
	dev := messagesOf(t, []string{"dev", "dev2", "dev3"})
	list := messagesOf(t, parts())
	x, err := search.New(k)
	require.NoError(t, err)
	defer x.Close()
	ours := scoreMessages(list, x.Match)
	t.Logf("present F1 | absent F1 | polarity wrong | danger found | false alarms | not ours | turned away")
	t.Logf("triagebot | %s", ours.line())
	for _, b := range []*baseline{plainBleve(t, k), plainSQLite(t, k)} {
		b.remembering().tune(k, dev)
		s := scoreMessages(list, b.match(k))
		t.Logf("%s | %s (thresholds %.2f and %.2f)", b.name, s.line(), b.told, b.ours)
		require.Greater(t, ours.present.f1(), s.present.f1(), b.name)
	}
}

// TestAblation leaves one piece out at a time.
func TestAblation(t *testing.T) {
	if os.Getenv("TRIAGEBOT_ABLATION") == "" {
		t.Skip("set TRIAGEBOT_ABLATION=1 for the table of what each piece adds")
	}
	k, found := kb.Load(kb.Embedded())
	require.False(t, kb.HasErrors(found))
	list := messagesOf(t, parts())
	rows := []struct {
		name    string
		without []search.Piece
	}{{"all", nil}}
	for _, p := range search.Pieces {
		rows = append(rows, struct {
			name    string
			without []search.Piece
		}{"without " + string(p), []search.Piece{p}})
	}
	// What a knowledge base has that gives phrases only.
	for _, p := range []search.Piece{search.Keywords, search.Ellipses, search.LastResort} {
		rows = append(rows, struct {
			name    string
			without []search.Piece
		}{"without patterns and " + string(p), []search.Piece{search.Patterns, p}})
	}
	for _, r := range rows {
		x, err := search.NewWithout(k, r.without...)
		require.NoError(t, err)
		t.Logf("%s | %s", r.name, scoreMessages(list, x.Match).line())
		require.NoError(t, x.Close())
	}
}

// TestReliability says how often what was told with a confidence was right.
func TestReliability(t *testing.T) {
	k, found := kb.Load(kb.Embedded())
	require.False(t, kb.HasErrors(found))
	x, err := search.New(k)
	require.NoError(t, err)
	defer x.Close()
	list := judged(messagesOf(t, parts()), x.Match)
	slices.SortFunc(list, func(a, b verdict) int { return cmp.Compare(a.conf, b.conf) })
	for _, b := range [][2]float64{{0, 0.6}, {0.6, 0.7}, {0.7, 0.8}, {0.8, 0.85}, {0.85, 0.9}, {0.9, 0.95}, {0.95, 1.01}} {
		n, right, sum := 0, 0, 0.0
		for _, v := range list {
			if v.conf >= b[0] && v.conf < b[1] {
				n++
				sum += v.conf
				if v.right {
					right++
				}
			}
		}
		if n > 0 {
			t.Logf("%.2f to %.2f: %d told, mean confidence %.3f, right %.3f", b[0], min(b[1], 1), n, sum/float64(n), share(right, n))
		}
	}
}

// verdict is one symptom told, and whether it was right; what a fair reader may
// take either way is left out.
type verdict struct {
	conf  float64
	right bool
}

func judged(list []message, match func(string) search.Said) []verdict {
	var out []verdict
	for _, m := range list {
		for _, s := range match(m.Text).Symptoms {
			want := m.Absent
			if s.Present {
				want = m.Present
			}
			right := slices.Contains(want, s.ID)
			if !right && slices.Contains(m.Maybe, s.ID) {
				continue
			}
			out = append(out, verdict{s.Confidence, right})
		}
	}
	return out
}
