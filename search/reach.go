package search

// reach gives the clauses near k whose words may complete a phrase, with how
// much they count.
type reach struct {
	from, to int       // tokens
	count    []float64 // per clause from first
	first    int
}

func (t *text) reachOf(k int) reach {
	r := reach{first: max(0, k-2)}
	last := min(len(t.clauses)-1, k+2)
	r.count = make([]float64, last-r.first+1)
	r.count[k-r.first] = 1
	for j := k - 1; j >= r.first; j-- {
		r.count[j-r.first] = r.count[j+1-r.first] * jointCount(t.clauses[j+1])
	}
	for j := k + 1; j <= last; j++ {
		r.count[j-r.first] = r.count[j-1-r.first] * jointCount(t.clauses[j])
	}
	r.from, r.to = t.clauses[r.first].from, t.clauses[last].to
	return r
}

func jointCount(c clause) float64 {
	if c.hard {
		return hardJoint
	}
	return softJoint
}
