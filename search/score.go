package search

import "math"

// What the score of a fit is made of.
const (
	featBias       = iota
	featCover      // share of the phrase that is there
	featDense      // share of the words between that are the phrase's
	featWhole      // share of the clause that the phrase explains
	featHeft       // weight of what was found
	featOrder      // in the phrase's order
	featCross      // found in other clauses
	featEvidence   // the clause's words are the symptom's own
	featPool       // the symptom's phrases know the clause's words
	featClash      // it speaks of another part
	featMixed      // signs differ here and agree there
	featTurned     // all signs differ: the opposite is said
	featTurnedHead // and how much of what the phrase says is there then
	featSingle     // only one word was found
	featSquare     // cover times whole
	featHead       // share of what the phrase says of its parts
	featHeadless   // none of it
	featLeast      // the phrase's clause that is there least
	featHanging    // the clause only says when or why something else was
	featExact      // word for word
	features
)

// weights are those of what is told to be there, and of what is told not to be
// there: "goes" is a small part of "goes backwards". They were fitted by
// logistic regression on the phrases of the knowledge base, each taken out in
// turn and read as a message, and on testdata/dev.txt, within bounds that keep
// each of them of its sign (TestWeights in fit_test.go does it again).
var weights = [features]struct{ present, absent float64 }{
	featBias:       {-5.50, -6.43},
	featCover:      {1.88, 1.43},
	featDense:      {0.70, 0.70},
	featWhole:      {0.90, 0.90},
	featHeft:       {2.50, 1.38},
	featOrder:      {0.39, 0.65},
	featCross:      {-1.00, -1.00},
	featEvidence:   {2.20, 1.89},
	featPool:       {0.48, 0.58},
	featClash:      {-1.20, -1.20},
	featMixed:      {-2.50, -2.50},
	featTurned:     {-2.50, -2.50},
	featTurnedHead: {2.47, 2.29},
	featSingle:     {-0.91, -1.39},
	featSquare:     {-0.49, 0.46},
	featHead:       {0.50, 0.50},
	featHeadless:   {-1.50, -1.50},
	featLeast:      {1.80, 1.82},
	featHanging:    {-1.00, -1.30},
	featExact:      {1.00, 1.43},
}

// A finding that stands after choose has beaten its rivals: these bring its
// confidence to how often it was right on testdata/dev.txt.
const (
	surerBias  = 0.56
	surerSlope = 2.24
)

// heavy is the weight of found words beyond which more adds nothing.
const heavy = 8

// measures gives the features of a fit.
func (f *fit) measures() [features]float64 {
	return [features]float64{
		featBias:       1,
		featCover:      f.cover,
		featDense:      f.dense,
		featWhole:      f.whole,
		featHeft:       min(f.heft, heavy) / heavy,
		featOrder:      f.order,
		featCross:      f.cross,
		featEvidence:   f.evidence,
		featPool:       f.pool,
		featClash:      when(f.clash, 1),
		featMixed:      1 - math.Abs(2*f.agree-1),
		featTurned:     when(!f.same, 1),
		featTurnedHead: when(!f.same, f.head),
		featSingle:     when(f.lone, 1),
		featSquare:     f.cover * f.whole,
		featHead:       f.head,
		featHeadless:   when(f.headless, 1),
		featLeast:      f.least,
		featHanging:    when(f.hanging, 1),
		featExact:      when(f.same && f.cover > 0.98 && f.whole > 0.98, 1),
	}
}

// score says how surely the clause means what the phrase says, 0..1.
func score(f *fit, present bool) float64 {
	z := 0.0
	for i, v := range f.measures() {
		if present {
			z += v * weights[i].present
		} else {
			z += v * weights[i].absent
		}
	}
	return logistic(surerBias + surerSlope*z)
}

// otherTalk says how surely a clause is of other talk. There are few phrases
// of it, so these weights are set by hand.
func otherTalk(f *fit) float64 {
	return logistic(-7 + 6.5*f.cover + 1.2*f.dense + 1.2*f.whole + 1.5*min(f.heft, heavy)/heavy - 3*f.cross)
}

func logistic(z float64) float64 { return 1 / (1 + math.Exp(-z)) }
