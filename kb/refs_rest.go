package kb

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode"
)

// order reports checks that wait for each other.
func (l *linker) order() {
	const (
		open = 1
		done = 2
	)
	state := map[*Check]int{}
	var trail []string
	var visit func(c *Check)
	visit = func(c *Check) {
		state[c] = open
		trail = append(trail, c.ID)
		before := slices.Clone(c.First)
		for _, n := range c.Needs {
			before = append(before, n.Check)
		}
		for _, id := range before {
			switch next := l.Check(id); {
			case next == nil || state[next] == done:
			case state[next] == open:
				circle := append(slices.Clone(trail[slices.Index(trail, id):]), id)
				l.out.error(c.Pos, "order", "take one first or needs away", "checks wait for each other: %s", strings.Join(circle, " after "))
			default:
				visit(next)
			}
		}
		trail = trail[:len(trail)-1]
		state[c] = done
	}
	for _, c := range l.Checks {
		if state[c] == 0 {
			visit(c)
		}
	}
}

// rareStates reports a state that one check alone names and that looks like
// another one: cautions hang on states, and a typing mistake would lose them.
func (l *linker) rareStates() {
	count := map[string]int{}
	for _, c := range l.Checks {
		for _, s := range c.State {
			count[s]++
		}
	}
	for _, c := range l.Cautions {
		for _, d := range c.Due {
			for _, s := range d.State {
				count[s]++
			}
		}
	}
	all := sortedIDs(count)
	for _, c := range l.Checks {
		for _, s := range c.State {
			if count[s] > 1 {
				continue
			}
			if near := Likely(s, all); near != "" {
				l.out.warn(l.at(c, "state", s), "spelling", fmt.Sprintf("did you mean %q?", near), "state %q stands nowhere else", s)
			}
		}
	}
}

func (l *linker) cautions() {
	for _, c := range l.Cautions {
		for i, d := range c.Due {
			at := fmt.Sprint(i)
			if len(d.State)+len(d.Tools)+len(d.Units) == 0 && d.When == "" {
				l.out.error(d.Pos, "caution-due", "give at least one of state, tools, units, when", "a due of caution %q says nothing", c.ID)
			}
			if len(l.Words.Tools) > 0 {
				l.refs("tool", d.Tools, c, "due", at, "tools")
			}
			l.limit(d.When, limitPlace{kits: l.Kits, pos: l.at(c, "due", at, "when")})
		}
	}
}

func (l *linker) tables() {
	for _, t := range l.Tables {
		if len(t.Points) == 1 {
			l.out.error(l.at(t, "points"), "table", "give at least two points", "table %q has one point", t.ID)
		}
		for i, p := range t.Points {
			at := fmt.Sprint(i)
			if i > 0 && p[0] <= t.Points[i-1][0] {
				l.out.error(l.at(t, "points", at), "table", "sort the points by x, each x once", "table %q goes back from x = %v to %v", t.ID, t.Points[i-1][0], p[0])
			}
			if t.Log && p[1] <= 0 {
				l.out.error(l.at(t, "points", at), "table", "set log: false, or give positive y", "table %q is logarithmic and has y = %v", t.ID, p[1])
			}
		}
	}
}

// said is a phrase without what owners do not care about.
func said(s string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(s), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r)
	}), " ")
}

// once reports phrases that stand for two things.
func (l *linker) once(first map[string]string, phrases []string, owner, cure string, at func(phrase string) Pos) {
	for _, p := range phrases {
		other, twice := first[said(p)]
		if twice && other != owner {
			l.out.error(at(p), "phrase", cure, "phrase %q of %s is one of %s as well", p, owner, other)
		}
		if !twice {
			first[said(p)] = owner
		}
	}
}

func (l *linker) phrases() {
	kits, symptoms, checks := map[string]string{}, map[string]string{}, map[string]string{}
	for _, k := range l.Kits {
		l.once(kits, k.Words, "kit "+k.ID, "leave it to one of them", func(p string) Pos { return l.at(k, "words", p) })
	}
	for _, s := range l.Symptoms {
		l.once(symptoms, s.Phrases, "symptom "+s.ID, "leave it to one of them, or say more in each", func(p string) Pos { return l.at(s, "phrases", p) })
		both := map[string]string{}
		for _, p := range s.Phrases {
			both[said(p)] = "its phrases"
		}
		l.once(both, s.Absent, "absent of symptom "+s.ID, "leave it to one of them", func(p string) Pos { return l.at(s, "absent", p) })
	}
	for _, c := range l.Checks {
		l.once(checks, c.Phrases, "check "+c.ID, "leave it to one of them, or say more in each", func(p string) Pos { return l.at(c, "phrases", p) })
		options := map[string]string{}
		for i, o := range c.Options {
			l.once(options, o.Phrases, "option "+o.ID, "leave it to one of them", func(p string) Pos {
				return l.at(c, "options", fmt.Sprint(i), "phrases", p)
			})
		}
	}
}

func (l *linker) words() {
	group := map[string]int{}
	for i, same := range l.Words.Same {
		if len(same) < 2 {
			l.out.error(l.At("words", "same"), "words", "give at least two words that mean the same", "group %d of same has %d words", i+1, len(same))
		}
		for _, w := range same {
			if j, twice := group[said(w)]; twice && j != i {
				l.out.error(l.At("words", "same"), "words", "join the groups, or leave it to one", "%q stands in the groups of %q and of %q", w, l.Words.Same[j][0], same[0])
			}
			group[said(w)] = i
		}
	}
	for _, wrong := range sortedIDs(l.Words.Spelling) {
		right := l.Words.Spelling[wrong]
		if _, chained := l.Words.Spelling[right]; chained || right == "" {
			l.out.error(l.At("words", "spelling", wrong), "words", "give the word that is meant in the end", "spelling %q is put right to %q, which is wrong itself", wrong, right)
		}
	}
}

func (l *linker) cases() {
	for _, c := range l.Cases {
		l.ref("kit", c.Kit, c, "kit")
		for _, id := range sortedIDs(c.Symptoms) {
			l.ref("symptom", id, c, "symptoms", id)
		}
		for _, id := range sortedIDs(c.Readings) {
			if check := l.Check(id); l.ref("check", id, c, "readings", id) && check.Kind != "measure" && check.Option(c.Readings[id]) == nil {
				l.unknown("option of "+id, c.Readings[id], check.Outcomes(), l.at(c, "readings", id))
			}
		}
		if c.Suspect != "" && c.Suspect != "unlisted" && c.Suspect != "nothing-wrong" {
			l.ref("cause", c.Suspect, c, "suspect")
		}
		if c.Next != "" {
			l.ref("check", c.Next, c, "next")
		}
		if len(c.Symptoms)+len(c.Readings) == 0 && c.Suspect == "" && c.Next == "" {
			l.out.error(c.Pos, "case", "give symptoms, suspect or next", "case %q expects nothing", c.Name)
		}
		if c.Says == "" && len(c.Symptoms)+len(c.Readings) == 0 {
			l.out.error(c.Pos, "case", "give says, symptoms or readings", "case %q tells nothing", c.Name)
		}
	}
}

// unused reports what nothing leads to.
func (l *linker) unused() {
	used := map[string]bool{}
	mark := func(kind string, ids ...string) {
		for _, id := range ids {
			used[kind+" "+id] = true
		}
	}
	for _, c := range l.Causes {
		mark("remedy", c.Remedy)
	}
	for _, s := range l.Symptoms {
		mark("caution", s.Danger)
	}
	for _, r := range l.Remedies {
		mark("caution", r.Cautions...)
	}
	for _, c := range l.Checks {
		mark("caution", c.Cautions...)
		mark("access", c.Access...)
	}
	report := func(kind, id string, pos Pos) {
		if id != "" && !used[kind+" "+id] {
			l.out.warn(pos, "unused", "use it or take it away", "nothing leads to %s %q", kind, id)
		}
	}
	for _, id := range slices.Sorted(maps.Keys(l.index.remedies)) {
		report("remedy", id, l.Remedy(id).Pos)
	}
	for _, c := range l.Cautions {
		report("caution", c.ID, c.Pos)
	}
	for _, a := range l.Access {
		report("access", a.ID, a.Pos)
	}
}
