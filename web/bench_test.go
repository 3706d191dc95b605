package web_test

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"slices"
	"strconv"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"triagebot/casefile"
	"triagebot/casefile/store"
	"triagebot/conversation"
	"triagebot/desk"
	"triagebot/mining"
	"triagebot/web"
)

// fill closes so many cases. The latest hundred have the document of a real
// talk, those before a small one: no page reads them, and three gigabytes of
// them would only measure the disk.
func (h *house) fill(b *testing.B, n int) {
	b.Helper()
	document := realDocument(b, h.engine, h.clock.now())
	small, err := json.Marshal(&casefile.Case{V: casefile.Version, Complaint: []string{"twisting does nothing"}})
	require.NoError(b, err)
	var all sync.WaitGroup
	next := make(chan int)
	failed := make(chan error, 512)
	for range 512 {
		all.Go(func() {
			for i := range next {
				doc := small
				if i >= n-100 {
					doc = document
				}
				if err := h.closedCase(i, doc); err != nil {
					failed <- err
				}
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	all.Wait()
	close(failed)
	require.NoError(b, <-failed)
}

func (h *house) closedCase(i int, document []byte) error {
	ctx, id := context.Background(), fmt.Sprintf("web:filled-%d", i)
	now := h.clock.now()
	done, err := h.store.Commit(ctx, store.Turn{
		Conversation: id, Owner: id, Message: id + "/0", Time: now, Kit: "sorrel-60", Phase: conversation.Over,
		Events: []conversation.Event{
			{Kind: conversation.OwnerSaid, Time: now, Text: "twisting does nothing"}, {Kind: conversation.HandedOver, Time: now, ID: conversation.ReasonPerson},
			{Kind: conversation.BotSaid, Time: now, Lines: []string{"A volunteer takes over."}},
		},
		HandOver: &store.HandOver{Reason: conversation.ReasonPerson, Document: document, Anew: true},
	})
	if err != nil {
		return err
	}
	for _, a := range []store.Act{{Deed: store.DeedTake}, {Deed: store.DeedClose, Cause: "throttle-stuck-low", Remedy: "replace-throttle"}} {
		a.Time, a.Who = now, "local:anna"
		if _, _, err := h.store.Act(ctx, done.Case, a); err != nil {
			return err
		}
	}
	return nil
}

// realDocument is the case of a talk with readings.
func realDocument(b *testing.B, e *conversation.Engine, now time.Time) []byte {
	b.Helper()
	st := conversation.NewState()
	for _, said := range []string{
		"my sorrel's display lights up fine but twisting does nothing", "none of these, all clear", "all clicked home, dry and clean",
		"1.56 V", "0.03 V", "I want to talk to a person",
	} {
		events, _, err := e.Step(st, said, now)
		require.NoError(b, err)
		for _, ev := range events {
			st.Apply(ev)
		}
	}
	c, err := casefile.Build(e, st)
	require.NoError(b, err)
	data, err := json.Marshal(c)
	require.NoError(b, err)
	return data
}

// Every page over many closed cases: TRIAGEBOT_PAGES=100000 go test ./web -run xxx -bench Pages -benchtime 50x
func BenchmarkPages(b *testing.B) {
	n := 1000
	if v := os.Getenv("TRIAGEBOT_PAGES"); v != "" {
		var err error
		n, err = strconv.Atoi(v)
		require.NoError(b, err)
	}
	report := taught(b)
	var handler http.Handler
	h := newHouse(b, func(c *web.Config) { c.Report = func() *mining.Report { return report } })
	handler = h.server.Config.Handler
	kim := h.person("kim", desk.Keeper)
	h.fill(b, n)
	var path string
	for i := range 40 {
		h.clock.add(time.Hour)
		_, path = h.handedOver(fmt.Sprintf("my sorrel's display lights up fine but twisting does nothing, bike %d", i))
	}
	first := fmt.Sprint(n + 1)
	kim.at = "/cases/" + first
	kim.send("/cases/"+first+"/take", url.Values{})
	at, err := url.Parse(h.server.URL)
	require.NoError(b, err)
	cookies := kim.http.Jar.Cookies(at)
	for _, page := range []struct{ name, path string }{
		{"start", "/"}, {"talk", path}, {"picture", path + "/picture/throttle-rest"}, {"cases", "/cases"}, {"closed", "/cases/closed"},
		{"case-mine", "/cases/" + first}, {"case-closed", fmt.Sprintf("/cases/%d", n)}, {"line", "/cases/" + first + "/line"},
		{"rules", "/rules"}, {"rule-check", "/rules/checks/throttle-rest"}, {"rule-symptom", "/rules/symptoms/no-drive"}, {"rule-cause", "/rules/causes/throttle-stuck-low"},
		{"account", "/account"}, {"sign-in", "/sign-in"},
	} {
		b.Run(page.name, func(b *testing.B) {
			var took []time.Duration
			for b.Loop() {
				r := httptest.NewRequest(http.MethodGet, h.server.URL+page.path, nil)
				for _, c := range cookies {
					r.AddCookie(c)
				}
				w := httptest.NewRecorder()
				begin := time.Now()
				handler.ServeHTTP(w, r)
				took = append(took, time.Since(begin))
				require.Equal(b, http.StatusOK, w.Code, page.path)
			}
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "ms-p50")
			b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "ms-p99")
		})
	}
}
