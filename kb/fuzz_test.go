package kb_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"triagebot/kb"
)

// oneFile joins a folder of files whose sections do not repeat.
func oneFile(t testing.TB, dir string) []byte {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(dir, "*.y*ml"))
	if err != nil || len(names) == 0 {
		t.Fatal("no files in", dir, err)
	}
	var all []byte
	for _, n := range names {
		b, err := os.ReadFile(n)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, b...)
	}
	return all
}

// FuzzLoad: whatever the bytes, the loader ends without panic, and gives either
// an error or a knowledge base in which every id leads somewhere. Its seeds are
// long, and shortening finds takes all the time it is given, so run it with
// go test ./kb -run - -fuzz FuzzLoad -fuzztime 20s -fuzzminimizetime 20x.
func FuzzLoad(f *testing.F) {
	f.Add(oneFile(f, "testdata/good/lamp"))
	f.Add(oneFile(f, "testdata/good/greenhouse"))
	for _, name := range []string{"alias-circle", "key-merge", "key-of-wrong-kind", "line-circle", "table", "plug-twice", "order-circle"} {
		b, err := os.ReadFile(filepath.Join("testdata/bad", name, "bad.yaml"))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(append(oneFile(f, "testdata/good/lamp"), b...))
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		k, found := kb.Load(fstest.MapFS{"a.yaml": {Data: text}})
		switch {
		case k == nil && !kb.HasErrors(found):
			t.Fatal("neither a knowledge base nor an error")
		case k != nil && kb.HasErrors(found):
			t.Fatal("a knowledge base in spite of errors:", lines(found))
		case k != nil:
			for _, loose := range looseEnds(k) {
				t.Error(loose)
			}
		}
		for _, d := range found {
			if strings.ContainsAny(d.String(), "\n\r") {
				t.Errorf("a diagnostic of more than one line: %q", d.String())
			}
		}
	})
}

// looseEnds follows every id, apart from how the loader does it.
func looseEnds(k *kb.KB) []string {
	var loose []string
	want := func(ok bool, what string, ids ...string) {
		if !ok {
			loose = append(loose, what+" "+strings.Join(ids, " "))
		}
	}
	cautions := func(ids []string) {
		for _, id := range ids {
			want(k.Caution(id) != nil, "caution", id)
		}
	}
	want(k.Kit(k.About.Generic) != nil, "generic kit", k.About.Generic)
	for _, s := range k.Symptoms {
		want(k.Symptom(s.ID) == s, "symptom", s.ID)
		want(k.Check(s.ID) == nil, "symptom that is a check", s.ID)
		if s.Danger != "" {
			cautions([]string{s.Danger})
		}
		for _, id := range append(slices.Clone(s.Implies), s.Excludes...) {
			want(k.Symptom(id) != nil, "symptom", id)
		}
	}
	for _, c := range k.Causes {
		want(k.Cause(c.ID) == c, "cause", c.ID)
		want(k.Remedy(c.Remedy) != nil, "remedy", c.Remedy)
		want(c.Prior > 0, "prior of", c.ID)
		for _, s := range c.Shows {
			check := k.Check(s.Of)
			want((check != nil) == (s.Outcomes != nil), "shows of", c.ID, s.Of)
			want(check != nil || k.Symptom(s.Of) != nil, "shows of", c.ID, s.Of)
			total := s.Present
			for id, p := range s.Outcomes {
				want(check == nil || slices.Contains(check.Outcomes(), id), "outcome", s.Of, id)
				total += p
			}
			want(total >= 0 && total < 1+1e-6, "probability", c.ID, s.Of)
		}
	}
	for _, r := range k.Remedies {
		want(k.Remedy(r.ID) == r, "remedy", r.ID)
		cautions(r.Cautions)
	}
	for _, c := range k.Checks {
		want(k.Check(c.ID) == c, "check", c.ID)
		cautions(c.Cautions)
		for _, id := range c.Access {
			want(k.Opening(id) != nil, "access", id)
		}
		for _, id := range c.First {
			want(k.Check(id) != nil, "first", id)
		}
		for _, n := range c.Needs {
			want(k.Check(n.Check) != nil, "needs", n.Check)
		}
		for _, kit := range k.Kits {
			for _, p := range []*kb.Probe{c.Red, c.Black} {
				if p != nil && p.Plug != "" && kit.Has(c.Parts) {
					plug := kit.Plug(p.Plug)
					want(plug != nil && plug.Pin(p.Pin) != nil, "pin", kit.ID, p.Plug, p.Pin)
				}
			}
		}
	}
	for _, kit := range k.Kits {
		want(k.Kit(kit.ID) == kit, "kit", kit.ID)
		fed := map[string]string{}
		for _, l := range kit.Line.Links {
			want(fed[l.To] == "", "point reached twice", l.To)
			fed[l.To] = l.From
		}
		for point := range fed {
			steps := 0
			for at := point; fed[at] != "" && steps <= len(fed); steps++ {
				at = fed[at]
			}
			want(steps <= len(fed), "circle at", point)
		}
	}
	for _, c := range k.Cases {
		want(k.Kit(c.Kit) != nil, "kit of case", c.Kit)
	}
	return loose
}
