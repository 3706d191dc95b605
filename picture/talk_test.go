package picture_test

import (
	"fmt"
	"maps"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"triagebot/casefile"
	"triagebot/conversation"
	"triagebot/kb"
)

// deaf hears nothing: the talks here are made of events by hand.
type deaf struct{}

func (deaf) Match(string) conversation.Heard { return conversation.Heard{} }

// embedded is the built-in knowledge base, read once: it is never changed.
func embedded(t testing.TB) *kb.KB {
	t.Helper()
	k, err := builtIn()
	require.NoError(t, err)
	return k
}

var builtIn = sync.OnceValues(func() (*kb.KB, error) {
	k, found := kb.Load(kb.Embedded())
	if kb.HasErrors(found) {
		return nil, fmt.Errorf("loading the knowledge base: %v", found)
	}
	return k, nil
})

// talk is what an owner noticed, measured and saw, as the events of a talk.
type talk []conversation.Event

func onKit(id string) talk { return talk{{Kind: conversation.KitKnown, ID: id}} }

func (t talk) notice(id string, present bool) talk {
	return append(t, conversation.Event{Kind: conversation.Noticed, ID: id, Yes: present, Sure: 0.95})
}

func (t talk) read(check string, value float64, decimals int, unit string) talk {
	return append(t, conversation.Event{Kind: conversation.Read, ID: check,
		Reading: &conversation.Measured{Value: value, Unit: unit, Decimals: decimals}})
}

func (t talk) see(check, option string) talk {
	return append(t, conversation.Event{Kind: conversation.Seen, ID: check, Outcome: option, Sure: 0.95})
}

// caseNamed is the case of one of the talks below, worked out once.
func caseNamed(t testing.TB, name string) *casefile.Case {
	t.Helper()
	list, err := allCases()
	require.NoError(t, err)
	require.Contains(t, list, name)
	return list[name]
}

var allCases = sync.OnceValues(func() (map[string]*casefile.Case, error) {
	k, err := builtIn()
	if err != nil {
		return nil, err
	}
	list := map[string]*casefile.Case{}
	for name, talk := range cases {
		c, err := talk.caseFile(k)
		if err != nil {
			return nil, err
		}
		list[name] = c
	}
	return list, nil
})

func (t talk) caseFile(k *kb.KB) (*casefile.Case, error) {
	e, err := conversation.New(k, deaf{})
	if err != nil {
		return nil, err
	}
	now := time.Date(2026, 3, 2, 14, 0, 0, 0, time.UTC)
	events := slices.Clone(t)
	for i := range events {
		events[i].Time = now.Add(time.Duration(i) * time.Minute)
	}
	return casefile.Build(e, conversation.Replay(events))
}

// cases are the talks whose pictures are looked at and tested.
var cases = map[string]talk{
	"empty": nil,
	"dead-throttle": onKit("sorrel-60").notice("no-drive", true).
		read("pack-volts", 65.3, 1, "V").see("look-display", "normal").see("look-inhibits", "clear").
		read("throttle-5v", 5.02, 2, "V").read("throttle-rest", 0.02, 2, "V").read("throttle-full", 0.02, 2, "V"),
	"breaker-off": onKit("yarrow-72").notice("dead", true).
		read("pack-volts", 79.2, 1, "V").read("feed-volts", 0, 1, "V").read("key-volts-in", 0, 1, "V"),
	"missing-ground": onKit("sorrel-60").notice("no-drive", true).see("look-display", "normal").
		read("pack-volts", 65.3, 1, "V").read("control-5v", 5.03, 2, "V").
		read("throttle-5v", 0.02, 2, "V").read("throttle-5v-pack-minus", 5.04, 2, "V"),
	"shorted": onKit("teasel-48").notice("no-drive", true).
		read("pack-volts", 52, 0, "V").read("throttle-5v", 0.6, 1, "V").read("brake-ohms-released", 140, 0, "Ω"),
	"blown-fuse": onKit("yarrow-72").notice("no-drive", true).see("look-display", "normal").
		read("pack-volts", 79.2, 1, "V").read("feed-volts", 0, 1, "V").read("fuse-continuity", 0.3, 1, "Ω"),
	"lights": onKit("teasel-48").notice("lights-dead", true).
		read("pack-volts", 52.1, 1, "V").read("converter-in-volts", 52.0, 1, "V").read("converter-out-volts", 12.4, 1, "V").read("lights-volts", 0, 1, "V").read("lights-volts-pack-minus", 12.3, 1, "V"),
	"odd-and-close": onKit("generic").notice("no-drive", true).
		read("pack-volts", 653, 0, "V").read("throttle-5v", 4.5, 2, "V"),
}

func caseNames() []string { return slices.Sorted(maps.Keys(cases)) }
