package search

import (
	"testing"

	"github.com/stretchr/testify/require"

	"triagebot/kb"
)

// coffee is a knowledge base of another trade: the matcher must know no bikes.
func coffee() *kb.KB {
	return &kb.KB{
		About: kb.About{Thing: "machine", Generic: "other"},
		Kits: []*kb.Kit{
			{ID: "ristretto-2", Words: []string{"ristretto", "ristretto 2", "ristreto"}, Parts: []string{"boiler", "pump", "grinder", "steam-wand", "lamp"}},
			{ID: "lungo-4", Words: []string{"lungo", "the big machine"}, Parts: []string{"boiler", "pump", "lamp"}},
			{ID: "other"},
		},
		Symptoms: []*kb.Symptom{
			{ID: "no-heat", Family: "water", Excludes: []string{"heat-normal"},
				Phrases: []string{"the water stays cold", "boiler does not heat up", "coffee comes out cold", "it does not get warm", "no heat at all", "boiler is dead"},
				Absent:  []string{"it heats up fine", "the water gets hot", "boiler works"}},
			{ID: "heat-normal", Family: "water",
				Phrases: []string{"the coffee is as hot as always", "temperature is right"}},
			{ID: "no-pump", Family: "water",
				Phrases: []string{"no water comes out", "pump is silent", "the pump does not run", "nothing comes out of the spout", "press the button and nothing comes out"},
				Absent:  []string{"the pump runs", "water comes out fine"}},
			{ID: "leaks", Family: "water",
				Phrases: []string{"it leaks", "water drips from the bottom", "puddle under the machine", "there is a leak at the boiler"},
				Absent:  []string{"it is dry underneath"}},
			{ID: "grinder-loud", Family: "body",
				Phrases: []string{"the grinder screeches", "grinder makes a horrible noise", "loud grinding noise from the grinder"},
				Absent:  []string{"grinder is quiet"}},
			{ID: "lamp-dead", Family: "body",
				Phrases: []string{"the lamp stays dark", "lamp does not light up", "lamp is out"},
				Absent:  []string{"the lamp is on", "lamp works"}},
			{ID: "after-descaling", Family: "history",
				Phrases: []string{"since i descaled it", "after descaling", "descaled it yesterday"}},
			{ID: "smoke", Family: "danger", Danger: "unplug",
				Phrases: []string{"smoke comes out", "it is smoking", "there is smoke from the boiler", "i see smoke", "smoke rising from the back"},
				Absent:  []string{"no smoke"}},
		},
		Causes: []*kb.Cause{{ID: "pump-failed", Part: "pump"}, {ID: "heater-failed", Part: "boiler"}},
		Checks: []*kb.Check{
			{ID: "boiler-ohms", Kind: "measure", Name: "boiler resistance", Unit: "Ω", Phrases: []string{"ohms of the boiler", "boiler element reads"}},
			{ID: "pump-volts", Kind: "measure", Name: "volts at the pump", Unit: "V", Phrases: []string{"pump voltage", "pump gets"}},
			{ID: "water-temp", Kind: "measure", Name: "water temperature", Unit: "°C", Phrases: []string{"water in the cup", "coffee temperature"}},
			{ID: "look-lamp", Kind: "look", Options: []kb.Option{{ID: "normal", Healthy: true, Symptom: "heat-normal"}}},
		},
		Words: kb.Words{
			Same:     [][]string{{"lamp", "light", "pilot lamp"}, {"pump", "water pump"}},
			Spelling: map[string]string{"boyler": "boiler"},
			Parts:    []string{"boiler", "pump", "grinder", "descaler"},
			OffTopic: []string{"which beans should i buy", "my bicycle has a puncture"},
			Tools:    map[string][]string{"meter": {"multimeter", "meter"}},
		},
	}
}

func small(t testing.TB) *Index {
	t.Helper()
	x, err := New(coffee())
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, x.Close()) })
	return x
}
