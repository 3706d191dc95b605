package picture

import (
	"cmp"
	"slices"

	"triagebot/casefile"
	"triagebot/kb"
	"triagebot/rules"
)

// verdict is how a finding is judged, for a word and a shape.
type verdict string

const (
	good     verdict = "good"
	bad      verdict = "bad"
	closeRun verdict = "close"
	odd      verdict = "odd"
	unjudged verdict = "unjudged"
)

// finding is one reading or look, with its place on the line.
type finding struct {
	check   *kb.Check
	id      string // of the check
	name    string
	shown   string // "65.3 V", or the label of a look
	outcome string
	judged  string // in words
	verdict verdict
	state   string // what it says of its point: live, weak, lifted, dragged, dead, or "" for nothing sure
	points  []string
	against string
	link    string // the link it was measured across, when it is no point
}

// findingsOf lists what a case found since the last remedy: older findings are
// of a bike that was changed since.
func findingsOf(k *kb.KB, w wiring, c *casefile.Case) []finding {
	round := 0
	for _, r := range c.Readings {
		round = max(round, r.Round)
	}
	for _, l := range c.Looks {
		round = max(round, l.Round)
	}
	var list []finding
	for _, r := range c.Readings {
		if r.Round == round {
			list = append(list, newReading(k, w, r))
		}
	}
	seen := map[string]bool{}
	for _, l := range c.Looks {
		if l.Round == round {
			seen[l.Check] = true
			list = append(list, newLook(k, w, l.Check, l.Name, l.Option, l.Label, l.Counted))
		}
	}
	for _, s := range c.Symptoms {
		check, option := k.SameAs(s.ID)
		if check == nil || s.State != rules.Present || s.Round != round || seen[check.ID] {
			continue
		}
		list = append(list, newLook(k, w, check.ID, check.Name, option.ID, option.Label, true))
	}
	return list
}

func newReading(k *kb.KB, w wiring, r casefile.Reading) finding {
	f := finding{id: r.Check, name: r.Name, shown: r.Shown, outcome: r.Window, judged: r.WindowName, verdict: unjudged}
	f.check = k.Check(r.Check)
	var window *kb.Window
	if f.check != nil {
		window = f.check.Window(r.Window)
	}
	switch {
	case r.Odd:
		f.verdict, f.judged = odd, say("odd")
	case r.Close:
		f.verdict, f.judged = closeRun, say("close", "window", r.WindowName)
	case window != nil && window.Healthy:
		f.verdict = good
	case window != nil:
		f.verdict = bad
	default:
		f.judged = say("unjudged")
	}
	f.place(k, w)
	return f
}

func newLook(k *kb.KB, w wiring, check, name, option, label string, counted bool) finding {
	f := finding{id: check, name: name, shown: label, outcome: option, verdict: unjudged}
	f.check = k.Check(check)
	if f.check != nil && counted {
		if o := f.check.Option(option); o != nil {
			f.verdict = bad
			if o.Healthy {
				f.verdict = good
			}
		}
	}
	f.place(k, w)
	return f
}

// place finds where on the line a finding belongs and what it says of it.
func (f *finding) place(k *kb.KB, w wiring) {
	if f.check == nil {
		return
	}
	l := f.check.Line
	if l == nil {
		f.link = acrossOf(k, w, f.check)
		return
	}
	for _, p := range append(append([]string{l.At}, l.Any...), l.All...) {
		if p != "" && w.has(p) {
			f.points = append(f.points, p)
		}
	}
	if f.against = l.Against; f.against != "" && !w.has(f.against) {
		f.against = ""
	}
	switch f.verdict {
	case good:
		if len(l.All) == 0 {
			f.state = "live"
		}
	case bad:
		if l.At != "" && !shownElse(k, f.check.ID, f.outcome) {
			f.state = stateOf(l, f.outcome)
		}
	}
}

// stateOf is the state of the line that an outcome most speaks for.
func stateOf(l *kb.LineReads, outcome string) string {
	best, state := 0.0, ""
	for _, s := range []string{"dead", "dragged", "weak", "lifted"} {
		if p := l.Reads[s][outcome]; p > best {
			best, state = p, s
		}
	}
	return state
}

// shownElse says whether something that is not the line's fault brings about
// this outcome as a rule, so that it alone does not tell where a voltage
// stops: a dead sensor gives no signal on a good supply.
func shownElse(k *kb.KB, check, outcome string) bool {
	for _, c := range k.Causes {
		if len(c.Line.Opens)+len(c.Line.Weakens)+len(c.Line.Shorts) > 0 {
			continue
		}
		for _, s := range c.Shows {
			if s.Of == check && s.Outcomes[outcome] >= 0.5 {
				return true
			}
		}
	}
	return false
}

// acrossOf is the link that a check without a point is about: the one that all
// causes open or weaken that the check shows up as a rule. "" when they differ.
func acrossOf(k *kb.KB, w wiring, check *kb.Check) string {
	found := ""
	for _, c := range k.Causes {
		shown := slices.ContainsFunc(c.Shows, func(s kb.Show) bool { return s.Of == check.ID && likely(s) >= 0.5 })
		if !shown {
			continue
		}
		for _, id := range slices.Concat(c.Line.Opens, c.Line.Weakens) {
			if _, ok := w.link(id); !ok {
				continue
			}
			if found != "" && found != id {
				return ""
			}
			found = id
		}
	}
	return found
}

// likely is how likely the likeliest outcome is that a cause speaks of.
func likely(s kb.Show) float64 {
	most := 0.0
	for _, p := range s.Outcomes {
		most = max(most, p)
	}
	return most
}

// suspect is a cause of a case with its place on the line.
type suspect struct {
	rank   int
	cause  casefile.Cause
	with   string // the other cause, of two at once
	chance float64
	links  []string
	points []string
}

func suspectsOf(k *kb.KB, w wiring, c *casefile.Case) []suspect {
	var list []suspect
	for i, s := range c.Suspects {
		for j, cause := range s.Causes {
			one := suspect{rank: i + 1, cause: cause, chance: s.Probability}
			if len(s.Causes) > 1 {
				one.with = s.Causes[(j+1)%len(s.Causes)].Name
			}
			one.place(k, w)
			list = append(list, one)
		}
	}
	return list
}

// place puts a suspect on the links it opens or weakens, on the points it
// shorts, or else where it shows as a fault of the line would: a dead sensor
// where no signal is read.
func (s *suspect) place(k *kb.KB, w wiring) {
	c := k.Cause(s.cause.ID)
	if c == nil {
		return
	}
	for _, id := range slices.Concat(c.Line.Opens, c.Line.Weakens) {
		if _, ok := w.link(id); ok && !slices.Contains(s.links, id) {
			s.links = append(s.links, id)
		}
	}
	for _, p := range c.Line.Shorts {
		if w.has(p) {
			s.points = append(s.points, p)
		}
	}
	if len(s.links)+len(s.points) > 0 {
		return
	}
	votes := map[string]int{}
	var points []string
	for _, show := range c.Shows {
		check := k.Check(show.Of)
		if check == nil || check.Line == nil || !w.has(check.Line.At) || !looksLike(check.Line, show) {
			continue
		}
		if votes[check.Line.At] == 0 {
			points = append(points, check.Line.At)
		}
		votes[check.Line.At]++
	}
	if len(points) > 0 {
		s.points = []string{slices.MaxFunc(points, func(a, b string) int { return cmp.Compare(votes[a], votes[b]) })}
	}
}

// looksLike says whether a cause brings about as a rule what a fault of the
// line brings about as a rule.
func looksLike(l *kb.LineReads, show kb.Show) bool {
	const rule = 0.3
	for outcome, p := range show.Outcomes {
		for _, reads := range l.Reads {
			if p >= rule && reads[outcome] >= rule {
				return true
			}
		}
	}
	return false
}
