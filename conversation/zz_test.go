package conversation

import (
	"fmt"
	"testing"
	"triagebot/kb"
)

func TestZZ(t *testing.T) {
	r, _ := NewReader()
	base, _ := kb.Load(kb.Embedded())
	for _, c := range base.Checks {
		if len(c.Options) == 0 {
			continue
		}
		q := Question{Check: c.ID, Kind: c.Kind, Unit: c.Unit, Asked: c.Asks}
		for _, o := range c.Options {
			q.Options = append(q.Options, Choice{ID: o.ID, Label: o.Label, Phrases: o.Phrases})
		}
		fmt.Printf("%-22s %q %d opts: yes=%s no=%s 'it does'=%s 'it didnt'=%s fine=%s\n", c.ID, c.Asks, len(q.Options), r.Read(q, "yes").Choice, r.Read(q, "no").Choice, r.Read(q, "it does").Choice, r.Read(q, "it didn't").Choice, r.Read(q, "all good").Choice)
	}
	qs := testQuestions(t)
	for _, s := range []string{"we get 4.98 at plug but pack is 52", "5v", "its 5v", "red 5.02 black 0", "i got 0.84 with key on and 0 with key off", "0.84 (multimeter on 20V)", "used the 20v setting: 0.84", "it was 4 yesterday now 0.8", "like 0.8 or 0.9", "between the 5v and ground i get 4.98", "is 0.8 ok?", "0.8 is that good", "nothing happens", "nothing on the meter", "meter is blank", "what", "huh?", "0.8 but I might be wrong", "0.8v 👍", "ok 0.8", "zero point eight four volts at rest", "it's 0", "0 volts", "nul", "none", "is zero", "0.8V not 8V", "it reads 0.8 not 5 like it should"} {
		fmt.Printf("%q -> %+v\n", s, r.Read(qs["throttle-rest"], s))
	}
}
