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

var sentences = sync.OnceValue(func() map[string]string {
	all := map[string]map[string]string{}
	if err := yaml.Unmarshal(sentencesYAML, &all); err != nil {
		return nil // a test holds that it parses
	}
	return all["en"]
})

// say fills a sentence. Pairs are name, value, name, value. A sentence that is
// not there shows as its name, so that a slip is seen and nothing is lost.
func say(name string, pairs ...string) string {
	text, ok := sentences()[name]
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
func Name(colour string) string { return say(colour) }

// PinName is a pin's name for people; a gap in a row is said to be one.
func PinName(plug *kb.Plug, id string) string {
	if id == "" {
		return say("no-pin")
	}
	if pin := plug.Pin(id); pin != nil && pin.Name != "" {
		return pin.Name
	}
	return id
}

// Wire names the colour of a pin's wire.
func Wire(pin kb.Pin) string {
	if pin.Colour == "" {
		return say("any-colour")
	}
	return say("wire", "colour", pin.Colour)
}

// DrawnAs says from which side a plug is drawn, "" when it is not told.
func DrawnAs(plug *kb.Plug) string {
	if plug.Viewed == "" {
		return ""
	}
	return say("drawn-as", "viewed", plug.Viewed)
}

// Here says at which half of a plug, and how, the probes go in, "" when the
// check does not tell.
func Here(c *kb.Check) string {
	if c.Side == "" {
		return ""
	}
	return say("probe-side", "side", c.Side)
}

// Caveat says of a kit that stands for any other that its plugs are only how
// they mostly are; "" for a kit that is known, and where no plug is touched.
func Caveat(k *kb.KB, kit *kb.Kit, c *kb.Check) string {
	touched := func(p *kb.Probe) bool { return p != nil && p.Plug != "" }
	if kit == nil || kit.ID != k.About.Generic || !touched(c.Red) && !touched(c.Black) {
		return ""
	}
	return say("typical")
}
