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
	said, understood, without, right, wrong := 0, 0, 0, 0, 0
	for _, c := range base.Checks {
		q := Question{Check: c.ID, Kind: c.Kind, Unit: c.Unit, Asked: c.Asks}
		for _, o := range c.Options {
			q.Options = append(q.Options, Choice{ID: o.ID, Label: o.Label, Phrases: o.Phrases})
		}
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
				switch reader.Read(part, s).Choice {
				case o.ID:
					right++
				case "":
				default:
					wrong++
				}
			}
		}
	}
	t.Logf("own words %d/%d; with the phrase taken out: right %d, wrong %d, asked back %d of %d", understood, said, right, wrong, without-right-wrong, without)
	require.NotZero(t, without)
	assert.GreaterOrEqual(t, understood*100, said*98)
	assert.GreaterOrEqual(t, right*100, without*68)
	assert.LessOrEqual(t, wrong*100, without*12)
}
