package casefile_test

import (
	"bytes"
	"encoding/json"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/require"

	"triagebot/casefile"
	"triagebot/conversation"
	"triagebot/kb"
)

// deaf hears nothing: the talks here are made of events by hand.
type deaf struct{}

func (deaf) Match(string) conversation.Heard { return conversation.Heard{} }

func engine(t require.TestingT) *conversation.Engine {
	k, found := kb.Open("testdata/kb")
	require.NotNil(t, k, "%v", found)
	e, err := conversation.New(k, deaf{})
	require.NoError(t, err)
	return e
}

// talk makes the events of a conversation, a minute apart.
type talk struct {
	events []conversation.Event
	now    time.Time
}

func newTalk() *talk {
	return &talk{now: time.Date(2026, 3, 2, 14, 0, 0, 0, time.UTC)}
}

func (t *talk) event(e conversation.Event) *talk {
	e.Time = t.now
	t.events = append(t.events, e)
	return t
}

func (t *talk) owner(msg string) *talk {
	t.now = t.now.Add(time.Minute)
	return t.event(conversation.Event{Kind: conversation.OwnerSaid, Text: msg})
}

func (t *talk) bot(lines ...string) *talk {
	return t.event(conversation.Event{Kind: conversation.BotSaid, Lines: lines})
}

func (t *talk) kit(id string) *talk {
	return t.event(conversation.Event{Kind: conversation.KitKnown, ID: id})
}

func (t *talk) notice(id string, yes bool, sure float64) *talk {
	return t.event(conversation.Event{Kind: conversation.Noticed, ID: id, Yes: yes, Sure: sure})
}

func (t *talk) ask(check string) *talk {
	return t.event(conversation.Event{Kind: conversation.Asked, Question: &conversation.PendingAsk{Kind: conversation.AskCheck, ID: check}})
}

func (t *talk) read(check string, value float64, decimals int, unit, given string) *talk {
	return t.owner(given).event(conversation.Event{Kind: conversation.Read, ID: check, Text: given,
		Reading: &conversation.Measured{Value: value, Unit: unit, Decimals: decimals}})
}

func (t *talk) see(check, option, given string) *talk {
	return t.owner(given).event(conversation.Event{Kind: conversation.Seen, ID: check, Outcome: option, Sure: 0.95, Text: given})
}

func (t *talk) id(kind conversation.EventKind, id string) *talk {
	return t.event(conversation.Event{Kind: kind, ID: id})
}

func (t *talk) state() *conversation.State { return conversation.Replay(t.events) }

// build makes the case of a talk and holds what holds for every case: it
// conforms to the schema, survives JSON, and comes out the same again.
func build(t require.TestingT, e *conversation.Engine, st *conversation.State) *casefile.Case {
	c, err := casefile.Build(e, st)
	require.NoError(t, err)
	holds(t, e, st, c)
	return c
}

func holds(t require.TestingT, e *conversation.Engine, st *conversation.State, c *casefile.Case) {
	data, err := json.Marshal(c)
	require.NoError(t, err)
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	require.NoError(t, err)
	require.NoError(t, schema(t).Validate(doc), "%s", data)

	var back casefile.Case
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	require.NoError(t, dec.Decode(&back))
	require.Equal(t, *c, back)
	require.Equal(t, c.Markdown(), back.Markdown())

	again, _ := casefile.Build(e, st)
	require.Equal(t, c, again)
}

var compiled *jsonschema.Schema

func schema(t require.TestingT) *jsonschema.Schema {
	if compiled != nil {
		return compiled
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(casefile.Schema()))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	require.NoError(t, c.AddResource("case.schema.json", doc))
	compiled, err = c.Compile("case.schema.json")
	require.NoError(t, err)
	return compiled
}
