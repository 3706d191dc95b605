package kb

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gopkg.in/yaml.v3"
)

// linker checks that all parts of a knowledge base fit together.
type linker struct {
	*KB
	out   *findings
	known map[string][]string // "check" -> the ids of all checks, sorted
}

// checkReferences runs every rule that needs more than one place of the files.
func (k *KB) checkReferences(out *findings) {
	l := &linker{k, out, map[string][]string{}}
	l.known["kit"] = sortedIDs(k.index.kits)
	l.known["symptom"] = sortedIDs(k.index.symptoms)
	l.known["cause"] = sortedIDs(k.index.causes)
	l.known["remedy"] = sortedIDs(k.index.remedies)
	l.known["check"] = sortedIDs(k.index.checks)
	l.known["caution"] = sortedIDs(k.index.cautions)
	l.known["access"] = sortedIDs(k.index.access)
	l.known["table"] = sortedIDs(k.index.tables)
	l.known["tool"] = sortedIDs(k.Words.Tools)
	for _, kit := range k.Kits {
		l.known["part"] = append(l.known["part"], kit.Parts...)
		l.known["point"] = append(l.known["point"], kit.Line.Points()...)
		for _, link := range kit.Line.Links {
			l.known["link"] = append(l.known["link"], link.ID)
		}
	}
	for _, kind := range []string{"part", "point", "link"} {
		slices.Sort(l.known[kind])
		l.known[kind] = slices.Compact(l.known[kind])
	}
	l.about()
	l.meters()
	for _, kit := range k.Kits {
		l.kit(kit)
	}
	for _, s := range k.Symptoms {
		l.symptom(s)
	}
	l.contradictions()
	for _, c := range k.Causes {
		l.cause(c)
	}
	for _, r := range k.Remedies {
		l.refs("caution", r.Cautions, r, "cautions")
		for i, n := range r.Proof {
			l.need(n, r, "proof", strconv.Itoa(i))
		}
		if r.Again != "" {
			l.ref("check", r.Again, r, "again")
		}
		l.due("remedy", r.ID, r, nil, nil, "", r.Cautions)
	}
	for _, c := range k.Checks {
		l.check(c)
	}
	l.sameObservation()
	l.order()
	l.rareStates()
	l.cautions()
	l.tables()
	l.phrases()
	l.words()
	l.patterns()
	l.cases()
	l.unused()
}

// unique keeps the first of each, in the order given.
func unique(words []string) []string {
	var all []string
	for _, w := range words {
		if !slices.Contains(all, w) {
			all = append(all, w)
		}
	}
	return all
}

func sortedIDs[T any](m map[string]T) []string {
	ids := make([]string, 0, len(m))
	for id := range m {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	return ids
}

// ref reports an id that nothing has; the path leads to where it stands in e.
func (l *linker) ref(kind, id string, e any, path ...string) bool {
	if id == "" {
		return false // reported as missing or ill-formed when it was read
	}
	if _, ok := slices.BinarySearch(l.known[kind], id); ok {
		return true
	}
	l.unknown(kind, id, l.known[kind], l.at(e, path...))
	return false
}

func (l *linker) refs(kind string, ids []string, e any, path ...string) bool {
	all := true
	for _, id := range ids {
		all = l.ref(kind, id, e, append(slices.Clone(path), id)...) && all
	}
	return all
}

func (l *linker) unknown(kind, id string, known []string, pos Pos) {
	if l.out.full() {
		return
	}
	l.out.error(pos, "unknown-id", didYouMean(kind, id, known), "there is no %s %q", kind, id)
}

func didYouMean(kind, id string, known []string) string {
	known = unique(known)
	if near := Likely(id, known); near != "" {
		return fmt.Sprintf("did you mean %q?", near)
	}
	switch {
	case len(known) == 0:
		return fmt.Sprintf("no %s is known here; add it", kind)
	case len(known) <= 10:
		return "known are " + strings.Join(known, ", ")
	}
	return "add it, or give the id of one that is there"
}

// given says whether a key has a value in an entity's mapping, and where.
func (l *linker) given(e any, key string) (Pos, bool) {
	p, ok := l.index.places.entities[e]
	if !ok {
		return Pos{}, false
	}
	n := child(follow(p.node), key)
	if n == nil || n.Kind == yaml.ScalarNode && n.Value == "" {
		return p.pos(), false
	}
	return Pos{p.file, n.Line, n.Column}, true
}

// having lists the kits that have all of these parts, and reports parts that
// no kit has, or that no kit has together.
func (l *linker) having(parts []string, e any) []*Kit {
	known := l.refs("part", parts, e, "parts")
	var kits []*Kit
	for _, kit := range l.Kits {
		if kit.Has(parts) {
			kits = append(kits, kit)
		}
	}
	if known && len(kits) == 0 && len(l.Kits) > 0 {
		l.out.error(l.at(e, "parts"), "no-kit", "take one away, or add it to a kit",
			"no kit has all of the parts %s", strings.Join(parts, ", "))
	}
	return kits
}

// onSome reports a point or link of the line that none of these kits has.
func (l *linker) onSome(kind, id string, kits []*Kit, has func(*Kit, string) bool, e any, path ...string) {
	if !l.ref(kind, id, e, path...) || len(kits) == 0 {
		return
	}
	for _, kit := range kits {
		if has(kit, id) {
			return
		}
	}
	l.out.error(l.at(e, path...), "no-kit", "use one of their own, or change the parts",
		"%s %q exists, but on none of the kits this is for (%s)", kind, id, kitNames(kits))
}

func hasPoint(kit *Kit, id string) bool { return slices.Contains(kit.Line.Points(), id) }

func hasLink(kit *Kit, id string) bool {
	return slices.ContainsFunc(kit.Line.Links, func(l Link) bool { return l.ID == id })
}

func kitNames(kits []*Kit) string {
	var ids []string
	for _, k := range kits {
		ids = append(ids, k.ID)
	}
	return strings.Join(ids, ", ")
}

// sum reports probabilities that add up to more than one.
func (l *linker) sum(p map[string]float64, pos Pos, what string) {
	total := 0.0
	for _, id := range sortedIDs(p) {
		total += p[id]
	}
	if total > 1+1e-9 {
		l.out.error(pos, "sum", "lower them: what is left goes to the healthy outcome",
			"the probabilities of %s add up to %.4g, more than 1", what, total)
	}
}
