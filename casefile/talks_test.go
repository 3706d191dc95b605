package casefile_test

import (
	"time"

	"triagebot/conversation"
)

// talks are the conversations whose cases are kept as golden files.
var talks = map[string]func() *talk{
	"empty": func() *talk { return &talk{} },

	"handed-over-unmeasured": func() *talk {
		return newTalk().owner("my bike does nothing, can somebody come").
			notice("no-drive", true, 0.9).notice("display-blank", true, 0.9).notice("weak-power", false, 0.8).
			id(conversation.HandedOver, conversation.ReasonPerson).
			bot("I hand you over to a volunteer.")
	},

	// A correction, an odd figure measured again, a look, a symptom by answer,
	// a missing tool, and a check the owner cannot do.
	"dead-throttle": func() *talk {
		return newTalk().
			owner("Sorrel here, throttle does nothing since the rain. display fine").
			kit("sorrel-60").notice("no-drive", true, 0.93).notice("after-rain", true, 0.9).notice("display-blank", false, 0.9).
			id(conversation.Warned, "meter-jack").id(conversation.Warned, "class-b").
			bot("Caution: Red lead in the V jack, before any volts.", "What does the pack read?").ask("pack-volts").
			read("pack-volts", 653, 0, "V", "653").id(conversation.OddAsked, "pack-volts").
			bot("653 V is odd: No pack of this kit can give that. Please measure once more.").
			read("pack-volts", 65.3, 1, "V", "65.3 sorry").
			bot("65.3 V: the pack gives its voltage.").ask("look-display").
			see("look-display", "normal", "it is normal").ask("throttle-5v").
			read("throttle-5v", 0.3, 1, "V", "0.3").id(conversation.Opened, "handlebar-cover").
			read("throttle-5v", 5.02, 2, "V", "no wait, wrong pin: 5.02 V").ask("throttle-rest").
			read("throttle-rest", 0.02, 2, "V", "0.02").ask("fuse-continuity").
			owner("cant get at the fuse, no screwdriver").
			event(conversation.Event{Kind: conversation.CannotDo, ID: "fuse-continuity", Text: "cant get at the fuse, no screwdriver"}).
			owner("and no spare throttle").id(conversation.ToolLacking, "known-good-throttle").
			id(conversation.Warned, "before-plugs").id(conversation.Named, "replace-throttle").
			bot("Most likely: the throttle's sensor is dead.")
	},

	"twins": func() *talk {
		return newTalk().owner("sorrel does nothing").kit("sorrel-60").notice("no-drive", true, 0.95).
			see("look-display", "normal", "normal").
			read("pack-volts", 64, 0, "V", "64").
			read("throttle-5v", 0.02, 2, "V", "0.02 V").
			id(conversation.Named, "seat-plug").owner("did that, still nothing").
			event(conversation.Event{Kind: conversation.Remedied, ID: "seat-plug"}).
			id(conversation.HandedOver, conversation.ReasonTwins)
	},

	"danger": func() *talk {
		return newTalk().owner("it is dead and now there is smoke").notice("no-drive", true, 0.9).
			notice("smoke", true, 0.95).id(conversation.Warned, "fire-and-pack").id(conversation.Danger, "smoke").
			id(conversation.Danger, "").
			bot("there is smoke: that is a danger.", "Caution: Stop. Do not measure or ride or charge.")
	},

	"cured": func() *talk {
		return newTalk().owner("pulls weakly").kit("sorrel-60").notice("weak-power", true, 0.95).
			read("pack-volts", 50.1, 1, "V", "50.1 volts").
			id(conversation.Named, "charge-pack").owner("yes that was it").
			event(conversation.Event{Kind: conversation.Remedied, ID: "charge-pack", Yes: true}).
			id(conversation.Closed, conversation.ReasonCured)
	},

	// The odd figure stands; the kit is the generic one with a figure asked; the
	// meter was mended in between.
	"odd-stands": func() *talk {
		return newTalk().owner("weak").notice("weak-power", true, 0.6).kit("generic").
			event(conversation.Event{Kind: conversation.FigureKnown, ID: "nominal", Value: 36}).
			read("meter-check", 2.4, 1, "V", "2.4").
			id(conversation.Named, "change-meter-battery").
			event(conversation.Event{Kind: conversation.Remedied, ID: "change-meter-battery"}).
			read("meter-check", 1.56, 2, "V", "1.56 now").
			read("throttle-5v", 42, 0, "V", "42").id(conversation.OddAsked, "throttle-5v").
			read("throttle-5v", 42.1, 1, "V", "42.1 again").
			id(conversation.HandedOver, conversation.ReasonOdd)
	},

	// A figure near a limit, and overload.
	"close-and-overload": func() *talk {
		t := newTalk().owner("sorrel, dead").kit("sorrel-60").notice("no-drive", true, 0.9).
			read("pack-volts", 53.3, 1, "V", "53.3").
			see("look-display", "normal", "its on").see("look-display", "dark", "no, dark").notice("display-blank", true, 0.95).
			owner("OL").event(conversation.Event{Kind: conversation.Read, ID: "fuse-continuity", Text: "OL",
			Reading: &conversation.Measured{Overload: true, Unit: "Ω", Decimals: -1}})
		t.now = t.now.Add(26 * time.Hour)
		return t.owner("stop").id(conversation.Closed, conversation.ReasonLeft)
	},

	"hostile": func() *talk {
		t := newTalk()
		for _, s := range hostile {
			t.owner(s)
		}
		return t.kit("sorrel-60").notice("no-drive", true, 0.9).
			see("look-display", "normal", hostile[0]).
			read("throttle-5v", 5, 0, "V", hostile[1]).
			event(conversation.Event{Kind: conversation.CannotDo, ID: "pack-volts", Text: hostile[2]}).
			event(conversation.Event{Kind: conversation.CannotDo, ID: "gone | from ` the rules", Text: hostile[3]}).
			id(conversation.Warned, "**made up**").id(conversation.Named, "<b>remedy</b>").
			notice("# no such symptom", true, 0.9).id(conversation.ToolLacking, "@hammer")
	},
}

// hostile is what an owner may type to break a page or call somebody.
var hostile = []string{
	"| a | b |\n|---|---|\n# heading\n\n- list\n1. one",
	"`code` ```\nfence\n``` ~~~ **bold** __bold__ *i* _i_ ~~gone~~ \\",
	"<script>alert(1)</script> <!-- <img src=x onerror=1> &lt; &#35; &amp;",
	"[link](http://a.example) ![pic](https://a.example/x.png) <https://a.example> www.a.example a@b.example [1]: x",
	"@everyone @here <@123> <@&456> <#789> #12",
	"\u202egnp.exe \u200bx\x00y\x1b[31m \u2066z\u2069",
	"{name} {text} %s $x^2$ ||spoiler|| : x",
	"> quote\r\n---\r\n===\r\n    indented",
	"- minus", "+ plus", "12) twelve", "3. three", "=== ", "--- ", "\t\ttabs", "", "   ",
	"bad \xff\xfe bytes",
}
