package reading

import "math"

// rangeTo reads the second end of a range behind a. how is the word or sign
// that joins them, "" when there is no range.
func (p *parser) rangeTo(a single, i int) (b single, next int, how string) {
	j, how := p.joint(a, i)
	if how == "" {
		return single{}, i, ""
	}
	start := j
	b, next, ok := p.single(j)
	if !ok && how == "-" && p.at(j).kind == number && !p.at(j).odd && b.amount.part {
		return single{}, i, ""
	}
	if !ok || b.measure.unit == "" && !p.counts(b, next) && !p.samePair(a, b) {
		return single{}, i, ""
	}
	b.start = start
	if a.measure.unit != "" && b.measure.unit != "" && a.measure.unit != b.measure.unit {
		return single{}, i, ""
	}
	share(&a, &b)
	va, vb := quantity(a).Value, quantity(b).Value
	switch how {
	case "-":
		if vb < va && (a.whole || b.whole) && a.measure.unit == "" { // 12-05 is no range
			return single{}, i, ""
		}
		if b.neg && p.at(i).text == "-" && !p.at(i).glued && vb < va && p.at(j).glued {
			return single{}, i, ""
		}
	case "or":
		if math.Abs(va-vb) > 0.3*math.Max(math.Abs(va), math.Abs(vb))+1e-9 {
			return single{}, i, ""
		}
	case "to":
		if p.movesBefore(a.start) || va > 0 && vb > 2*va && !p.betweenBefore(a.start) && p.want != "" && !a.said {
			return single{}, i, "" // "fell from 54 to 38": two figures, no range
		}
	case "and":
		if !p.betweenBefore(a.start) {
			return single{}, i, ""
		}
	}
	return b, next, how
}

// samePair lets "3 to 4 ohms" through, whose first number has no unit yet.
func (p *parser) samePair(a, b single) bool { return a.measure.unit != "" && b.whole == a.whole }

// joint reads what can stand between the ends of a range.
func (p *parser) joint(a single, i int) (int, string) {
	t := p.at(i)
	switch t.text {
	case "-", "~":
		if p.numeric(i+1) || p.at(i+1).text == "-" {
			return i + 1, "-"
		}
	case ".":
		for j := i + 1; t.glued && !a.whole && j <= i+3 && p.at(j).glued; j++ { // 3.9..4.1
			if p.at(j).kind == number {
				return j, "to"
			}
			if p.at(j).text != "." {
				break
			}
		}
	case "to", "till", "until", "upto", "through", "or", "and", "til":
		j := i + 1
		how := t.text
		switch how {
		case "or", "and":
		default:
			how = "to"
		}
		if how == "and" && p.at(j).text == "a" { // "and a half" is part of a number
			return i, ""
		}
		if how == "or" || how == "and" {
			if k, ok := p.waver(j); ok {
				return k, "or"
			}
		}
		for how != "or" && p.vagueWord(j) {
			j++
		}
		return j, how
	case "/":
		if t.glued && p.at(i+1).glued && plainDigits(p.at(i+1)) && p.want == Volt && a.value > 10 {
			return i + 1, "or"
		}
	case ",", "sometimes", "maybe", "could", "perhaps", "then":
		if j, ok := p.waver(i); ok {
			return j, "or"
		}
	case "up", "down":
		if p.at(i+1).text == "to" {
			return i + 2, "to"
		}
	}
	return i, ""
}

// waver reads what joins two figures between which a meter or its reader
// wavers: "54.59 sometimes 54.61", "4.9, could be 4.8".
func (p *parser) waver(i int) (int, bool) {
	j := i
	if p.at(j).text == "," {
		j++
	}
	switch p.at(j).text {
	case "sometimes", "maybe", "perhaps", "even", "possibly", "rather":
		j++
	case "could", "might", "may":
		if p.at(j+1).text != "be" {
			return i, false
		}
		j += 2
	default:
		return i, false
	}
	return j, p.numeric(j)
}

// movesBefore looks back for a verb by which a figure goes from one to another.
func (p *parser) movesBefore(i int) bool {
	for j := i - 1; j >= i-3 && j >= p.taken; j-- {
		if moves[p.at(j).text] {
			return true
		}
	}
	return false
}

var moves = set(`falls fell falling fall drops dropped drop dropping sags sagged sag sagging sinks sank dips dipped dip goes went go going climbs climbed rises rose
	rise rising creeps crept collapses collapsed changes changed down up plunges plummets plummeted slides slid settles settled`)

// betweenBefore looks back for a word that makes "3 and 4" a range.
func (p *parser) betweenBefore(i int) bool {
	for j := i - 1; j >= i-5 && j >= p.taken; j-- {
		switch p.at(j).text {
		case "between", "betwen", "beetween", "betwean", "inbetween", "from", "bouncing", "jumping", "drifting", "jumps", "bounces", "drifts",
			"wandering", "wanders", "flickering", "flicking", "swinging", "swings", "moving", "moves", "hopping", "fluctuating", "fluctuates",
			"varies", "varying", "changes", "changing", "dancing", "hovering", "somewhere", "b/w", "going", "flips", "flipping", "toggles", "toggling", "alternating", "alternates":
			return true
		}
	}
	return false
}

// share gives both ends the unit that only one of them has.
func share(a, b *single) {
	switch {
	case a.measure.unit == "" && !(a.said && a.measure.scale != 1) && b.said:
		a.measure, a.said = b.measure, true
	case b.measure.unit == "" && !b.said && a.said:
		b.measure, b.said = a.measure, true
	}
	if a.measure.unit == "" {
		a.measure.unit = b.measure.unit
	}
	if b.measure.unit == "" {
		b.measure.unit = a.measure.unit
	}
	a.grouped = a.grouped && b.grouped
	b.grouped = a.grouped
}

func (p *parser) joined(a, b single, how string, next int) Quantity {
	share(&a, &b)
	qa, qb := quantity(a), quantity(b)
	q := qa
	q.Low, q.High = math.Min(qa.Value, qb.Value), math.Max(qa.Value, qb.Value)
	q.Decimals = max(qa.Decimals, qb.Decimals)
	// Rounding must not push the middle out of a very narrow range.
	q.Value = math.Min(q.High, math.Max(q.Low, clean((q.Low+q.High)/2, -1)))
	q.Approx = qa.Approx || qb.Approx || how == "or"
	if q.Unit == "" {
		q.Unit = qb.Unit
	}
	return q
}

// tolerance reads "± 0.1", "+/- 0.1", "plus or minus 0.1" behind a.
func (p *parser) tolerance(a single, i int) (single, int, bool) {
	j := i
	switch {
	case p.at(i).text == "±":
		j = i + 1
	case p.at(i).text == "+" && p.at(i+1).text == "/" && p.at(i+2).text == "-":
		j = i + 3
	case p.at(i).text == "+" && p.at(i+1).text == "-":
		j = i + 2
	case p.at(i).text == "plus" && (p.at(i+1).text == "or" || p.at(i+1).text == "/") && p.at(i+2).text == "minus":
		j = i + 3
	case p.at(i).text == "plus" && p.at(i+1).text == "minus":
		j = i + 2
	}
	if j == i {
		return single{}, i, false
	}
	b, n, ok := p.single(j)
	if !ok || b.neg {
		return single{}, i, false
	}
	if b.measure.unit == Percent && a.measure.unit != Percent {
		b.value *= math.Abs(quantity(a).Value) / 100
		b.decimals = -1
		b.measure = measure{unit: a.measure.unit, scale: 1}
	}
	share(&a, &b)
	return b, n, true
}
