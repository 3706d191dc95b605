package picture_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/picture"
)

// Other languages use more letters: their words must fit the same fields.
func TestPicturesOfOtherLanguagesAreLegible(t *testing.T) {
	t.Parallel()
	k := embedded(t)
	require.NotEmpty(t, k.Languages())
	for _, code := range k.Languages() {
		own := k.In(code)
		for _, kit := range own.Kits {
			for _, id := range []string{"throttle-rest", "throttle-5v", "hall-5v", "brake-ohms-released", "pack-volts", "phase-to-case", "display-supply-volts"} {
				c := own.Check(id)
				if !picture.Drawable(kit, c) {
					continue
				}
				p, err := picture.Check(own, kit, c)
				require.NoError(t, err)
				requirePanel(t, p, requireLegible(t, p))
			}
		}
	}
}

func TestPicturesSpeakTheOwnersLanguage(t *testing.T) {
	es := embedded(t).In("es")
	p, err := picture.Check(es, es.Kit("sorrel-60"), es.Check("throttle-rest"))
	require.NoError(t, err)
	var says []string
	for _, x := range p.Sheet().Texts() {
		says = append(says, x.Says)
	}
	all := strings.Join(says, " ")
	for _, word := range []string{"ROJA", "NEGRA", "señal", "masa", "verde", "pestaña", "MULTÍMETRO"} {
		assert.Contains(t, all, word)
	}
	for _, word := range []string{"RED", "BLACK", "signal", "ground", "latch", "METER"} {
		assert.NotContains(t, says, word)
	}
}
