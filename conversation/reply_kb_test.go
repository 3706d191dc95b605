package conversation

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
)

// The options of the shipped knowledge base were worded without a look at the
// reader. Said in their own words they must be understood; with the very phrase
// taken out of the knowledge base, most should be, and few misunderstood.
func TestOptionsOfTheKnowledgeBase(t *testing.T) {
	base, found := kb.Load(kb.Embedded())
	require.False(t, kb.HasErrors(found), "%v", found)
	reader := testReader(t)
	said, understood, without, right, wrong, sure, misled := 0, 0, 0, 0, 0, 0, 0
	for _, c := range base.Checks {
		q := reader.QuestionFor(c, "", "", nil)
		for i, o := range q.Options {
			for _, s := range append([]string{o.Label}, o.Phrases...) {
				said++
				got := reader.Read(q, s)
				if got.Choice == o.ID {
					understood++
				} else {
					t.Logf("%s, option %s: %q is read as %s %s", c.ID, o.ID, s, got.Intent, got.Choice)
				}
			}
			for j, s := range o.Phrases {
				part := q
				part.Options = append([]Choice{}, q.Options...)
				part.Options[i].Phrases = append(append([]string{}, o.Phrases[:j]...), o.Phrases[j+1:]...)
				without++
				got := reader.Read(part, s)
				taken := got.Confidence >= plainEnough
				switch got.Choice {
				case o.ID:
					right++
					if taken {
						sure++
					}
				case "":
				default:
					wrong++
					if taken {
						misled++
					}
				}
			}
		}
	}
	t.Logf("own words %d/%d; with the phrase taken out: right %d (%d of them taken), wrong %d (%d taken), asked back %d of %d", understood, said, right, sure, wrong, misled, without-right-wrong, without)
	require.NotZero(t, without)
	assert.GreaterOrEqual(t, understood*100, said*98)
	assert.GreaterOrEqual(t, right*100, without*87)
	assert.GreaterOrEqual(t, sure*100, without*82)
	assert.LessOrEqual(t, misled*100, without*4)
}
