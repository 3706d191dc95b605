package probe

import (
	_ "embed"
	"strings"
	"sync"

	"gopkg.in/yaml.v3"

	"triagebot/kb"
)

//go:embed sentences.yaml
var sentencesYAML []byte

// Words are the sentences about probes in one language.
type Words map[string]string

var sentences = sync.OnceValue(func() map[string]Words {
	all := map[string]Words{}
	if err := yaml.Unmarshal(sentencesYAML, &all); err != nil {
		return nil // a test holds that it parses
	}
	return all
})

// In gives the words of a language by its code; those of English where it has
// none. "" is English.
func In(code string) Words {
	if w, ok := sentences()[code]; ok {
		return w
	}
	return sentences()["en"]
}

// say fills a sentence. Pairs are name, value, name, value. A sentence that is
// not there shows as its name, so that a slip is seen and nothing is lost.
func (w Words) say(name string, pairs ...string) string {
	text, ok := w[name]
	if !ok {
		text, ok = sentences()["en"][name]
	}
	if !ok {
		return name
	}
	fill := make([]string, 0, len(pairs))
	for i := 0; i+1 < len(pairs); i += 2 {
		fill = append(fill, "{"+pairs[i]+"}", pairs[i+1])
	}
	return strings.NewReplacer(fill...).Replace(text)
}

// Name is what is written on a probe: its colour as a word, because colour may
// not be seen.
func (w Words) Name(colour string) string { return w.say(colour) }

// PinName is a pin's name for people; a gap in a row is said to be one.
func (w Words) PinName(plug *kb.Plug, id string) string {
	if id == "" {
		return w.say("no-pin")
	}
	if pin := plug.Pin(id); pin != nil && pin.Name != "" {
		return pin.Name
	}
	return id
}

// Wire names the colour of a pin's wire.
func (w Words) Wire(pin kb.Pin) string {
	if pin.Colour == "" {
		return w.say("any-colour")
	}
	return w.say("wire", "colour", pin.ColourSaid())
}

// DrawnAs says from which side a plug is drawn, "" when it is not told.
func (w Words) DrawnAs(plug *kb.Plug) string {
	if plug.Viewed == "" {
		return ""
	}
	return w.say("drawn-as", "viewed", plug.ViewedSaid())
}

// Here says at which half of a plug, and how, the probes go in, "" when the
// check does not tell.
func (w Words) Here(c *kb.Check) string {
	if c.Side == "" {
		return ""
	}
	return w.say("probe-side", "side", c.SideSaid())
}

// Caveat says of a kit that stands for any other that its plugs are only how
// they mostly are; "" for a kit that is known, and where no plug is touched.
func (w Words) Caveat(k *kb.KB, kit *kb.Kit, c *kb.Check) string {
	touched := func(p *kb.Probe) bool { return p != nil && p.Plug != "" }
	if kit == nil || kit.ID != k.About.Generic || !touched(c.Red) && !touched(c.Black) {
		return ""
	}
	return w.say("typical")
}
