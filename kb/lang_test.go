package kb

import (
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const smallBase = `
about: {name: Pump house, thing: pump, person: a warden, generic: any, states: {on: pump on}}
kits:
  - id: any
    name: any pump
    plugs:
      - {id: plug, name: round plug, viewed: "from the wire side, latch up", rows: [[a, b]], pins: [{id: a, name: plus, colour: red}, {id: b, name: minus}]}
    line: {source: mains, ground: earth, links: [{id: cord, from: mains, to: pump}]}
symptoms:
  - {id: silent, name: silent, family: drive, say: it is silent, denied: it hums, ask: "Is it silent?", phrases: [no sound, silent]}
causes:
  - {id: cord-cut, name: cut cord, part: cord, prior: 5, remedy: mend-cord, shows: {silent: 0.9, look-cord: {cut: 0.9}}}
  - {id: stuck, name: stuck wheel, part: wheel, prior: 5, remedy: free-wheel, shows: {silent: 0.9}}
remedies:
  - {id: mend-cord, name: mend the cord, steps: [Unplug it., Mend it.], verify: It hums., minutes: 5, wrong: 5, by: owner}
  - {id: free-wheel, name: free the wheel, steps: [Turn it.], verify: It hums., minutes: 5, wrong: 5, by: owner}
checks:
  - id: look-cord
    kind: look
    name: cord
    asks: How is the cord?
    why: A cut cord is seen.
    minutes: 1
    options: [{id: whole, label: whole, healthy: true, means: It is whole.}, {id: cut, label: cut, phrases: [cut through], means: It is cut.}]
cautions: []
access: []
tables: []
cases: []
`

const smallSpanish = `
about: {thing: bomba, person: un guarda, states: {on: bomba encendida}}
terms: {round plug: enchufe redondo, "from the wire side, latch up": "desde los cables, pestaña arriba", plus: más, red: rojo, minus: menos, cord: cable, wheel: rueda}
kits: {any: {name: cualquier bomba, words: [bomba]}}
symptoms:
  silent: {name: muda, say: no suena, denied: zumba, ask: "¿Está muda?", phrases: [no suena, muda]}
causes: {cord-cut: {name: cable cortado}, stuck: {name: rueda trabada}}
remedies: {mend-cord: {name: reparar el cable, steps: [Desenchúfala., Repáralo.], verify: Zumba.}, free-wheel: {name: liberar la rueda, steps: [Gírala.], verify: Zumba.}}
checks:
  look-cord: {name: cable, asks: "¿Cómo está el cable?", why: Se ve., options: {whole: {label: entero, means: Está entero.}, cut: {label: cortado, phrases: [cortado del todo], means: Está cortado.}}}
`

func inFolder(files map[string]string) fstest.MapFS {
	m := fstest.MapFS{}
	for name, text := range files {
		m[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return m
}

func TestLanguageStandsInForTheBase(t *testing.T) {
	k, found := Load(inFolder(map[string]string{"kb.yaml": smallBase, "lang/es/all.yaml": smallSpanish, "lang/es/recognise.yaml": "recognise: [bomba]"}))
	require.NotNil(t, k, "%v", found)
	assert.Equal(t, []string{"es"}, k.Languages())
	assert.Equal(t, []string{"bomba"}, k.Recognised("es"))
	es := k.In("es")
	assert.Empty(t, k.CheckLanguage("es"))
	assert.Equal(t, "es", es.Language)
	assert.Same(t, es, k.In("es"))
	assert.Same(t, k, es.In(""))
	assert.Same(t, k, k.In("fr"), "a language that is not there is the base")
	assert.Equal(t, "bomba", es.About.Thing)
	assert.Equal(t, "no suena", es.Symptom("silent").Say)
	assert.Equal(t, []string{"no suena", "muda"}, es.Symptom("silent").Phrases)
	assert.Equal(t, "it is silent", k.Symptom("silent").Say, "the base is as it was")
	c := es.Check("look-cord")
	assert.Equal(t, "cortado", c.Option("cut").Label)
	assert.True(t, c.Option("whole").Healthy)
	assert.Equal(t, "cable", es.Cause("cord-cut").Part)
	plug := es.Kit("any").Plug("plug")
	assert.Equal(t, "from the wire side, latch up", plug.Viewed)
	assert.Equal(t, "desde los cables, pestaña arriba", plug.ViewedSaid())
	assert.Equal(t, "rojo", plug.Pin("a").ColourSaid())
	assert.Equal(t, "lang/es/all.yaml", es.At("symptoms", "silent", "phrases", "0").File)
}

func TestLanguageChecked(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"symptoms: {silnt: {say: no suena}}", `lang/es/a.yaml:1:12: error: there is no symptom "silnt" in the base language; did you mean "silent"? use an id of the base language [unknown-id]`},
		{"checks:\n  look-cord: {options: {cutt: {label: cortado}}}", `lang/es/a.yaml:2:31: error: there is no option "cutt" in the base language; did you mean "cut"? use an id of the base language [unknown-id]`},
		{"symptoms: {silent: {sya: no suena}}", `lang/es/a.yaml:1:21: error: unknown key "sya" in "silent" of section symptoms; did you mean "say"? allowed are absent, ask, denied, name, phrases, say [unknown-key]`},
		{"terms: {rde: rojo}", `lang/es/a.yaml:1:9: warning: the term "rde" stands nowhere in the base language; write it as the base has it, or take it away [unused]`},
		{"causes: {stuck: {name: x}}\nremedies: {}", `kb.yaml:10:24: warning: language "es" has no text for symptoms: silent: name; add it to a file in lang/es; terms serve for short texts that stand in many places [untranslated]`},
		{"words: {told: {silnt: [a b]}}", `lang/es/a.yaml:1:23: error: there is no id "silnt" in the base language; did you mean "silent"? use an id of the base language [unknown-id]`},
	} {
		k, _ := Load(inFolder(map[string]string{"kb.yaml": smallBase, "lang/es/a.yaml": c.text}))
		require.NotNil(t, k)
		var lines []string
		for _, d := range k.CheckLanguage("es") {
			lines = append(lines, d.String())
		}
		assert.Contains(t, lines, c.want)
	}
}
