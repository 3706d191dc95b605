package conversation

import (
	"slices"
	"strings"

	"triagebot/kb"
)

// QuestionFor is the question that a check asks. What is given of ask, asked and
// labels goes before the check's own; c may be nil where no check is meant. A
// label of somebody else's wording is joined with the option of the check that
// it is nearest to, so that the phrases kept for that option help there too.
func (r *Reader) QuestionFor(c *kb.Check, ask, asked string, labels []string) Question {
	q := Question{Kind: ask, Asked: asked}
	var options []kb.Option
	if c != nil {
		q.Check, q.Unit, options = c.ID, c.Unit, c.Options
		if q.Kind == "" {
			q.Kind = c.Kind
		}
		if q.Asked == "" {
			q.Asked = c.Asks
		}
	}
	if labels == nil {
		for _, o := range options {
			q.Options = append(q.Options, Choice{ID: o.ID, Label: o.Label, Phrases: o.Phrases, Healthy: o.Healthy})
		}
		return q
	}
	near := r.nearest(labels, options)
	for i, label := range labels {
		choice := Choice{ID: label, Label: label}
		if k := near[i]; k >= 0 {
			o := options[k]
			choice.Healthy = o.Healthy
			choice.Phrases = append([]string{o.Label}, o.Phrases...)
		}
		q.Options = append(q.Options, choice)
	}
	return q
}

// nearest pairs each label with an option, the surest pairs first; -1 where
// nothing is near. What is left over of equal lists belongs together in order.
func (r *Reader) nearest(labels []string, options []kb.Option) []int {
	near := make([]int, len(labels))
	taken := make([]bool, len(options))
	type pair struct {
		label, option int
		fit           float64
	}
	var pairs []pair
	for i, label := range labels {
		near[i] = -1
		for k, o := range options {
			if fit := r.likeness(label, o, options); fit > 0 {
				pairs = append(pairs, pair{i, k, fit})
			}
		}
	}
	slices.SortStableFunc(pairs, func(a, b pair) int {
		switch {
		case a.fit > b.fit:
			return -1
		case a.fit < b.fit:
			return 1
		}
		return 0
	})
	for _, p := range pairs {
		if near[p.label] < 0 && !taken[p.option] && p.fit >= 0.3 {
			near[p.label], taken[p.option] = p.option, true
		}
	}
	if len(labels) != len(options) {
		return near
	}
	for i := range near {
		if k := slices.Index(taken, false); near[i] < 0 && k >= 0 {
			near[i], taken[k] = k, true
		}
	}
	return near
}

// likeness is how near a label is to an option, 0..1: what the label says is
// read as an answer to the option's own question.
func (r *Reader) likeness(label string, o kb.Option, all []kb.Option) float64 {
	if strings.EqualFold(o.Label, label) || o.ID == label {
		return 1
	}
	q := Question{}
	at := 0
	for k, other := range all {
		q.Options = append(q.Options, Choice{ID: other.ID, Label: other.Label, Phrases: other.Phrases})
		if other.ID == o.ID {
			at = k
		}
	}
	return r.hear(q, label).fit()[at]
}
