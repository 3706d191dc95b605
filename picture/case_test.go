package picture_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile"
	"triagebot/kb"
	"triagebot/picture"
)

// rails are the links of a picture by how their rail is drawn.
func rails(t *testing.T, p *picture.Picture) map[string]string {
	list := map[string]string{}
	for _, g := range parse(t, p).groups(p, "link-") {
		list[strings.TrimPrefix(g.attr("id"), p.Name()+".link-")] = g.attr("data-rail")
	}
	return list
}

func caseOf(t *testing.T, name string) *picture.Picture {
	k := embedded(t)
	p, err := picture.Case(k, caseNamed(t, name))
	require.NoError(t, err)
	return p
}

func TestWhereTheVoltageStops(t *testing.T) {
	for name, want := range map[string]struct {
		stops  []string
		rails  map[string]string
		alt    string
		absent []string
	}{
		"dead-throttle": {alt: "comes through to the end", rails: map[string]string{
			"bms": "there", "isolator": "there", "throttle-plug": "there", "minus-wire": "there", "harness-ground": "there"}},
		"breaker-off": {stops: []string{"pack-plug", "isolator"}, alt: "one of these: the pack plug, the breaker", rails: map[string]string{
			"bms": "there", "main-fuse": "gone", "key-switch": "gone", "throttle-plug": "gone", "minus-wire": "unknown"}},
		"missing-ground": {stops: []string{"harness-ground"}, alt: "stops at the ground wire of the harness", rails: map[string]string{
			"throttle-plug": "there", "control-ground": "there"}},
		"blown-fuse": {stops: []string{"feed-wire", "minus-wire"}, rails: map[string]string{
			"main-fuse": "there", // 0.3 Ω across it
			"key-wire":  "there", "throttle-plug": "unknown"}},
		"lights": {stops: []string{"lights-ground"}, alt: "the lights' ground", rails: map[string]string{
			"lights-switch": "there", "feed-wire": "unknown"}},
		"shorted": {alt: "beyond the 5 V regulator: it is dragged down", rails: map[string]string{
			"regulator": "there", "control-plug": "dragged", "throttle-plug": "dragged"}},
		"odd-and-close": {alt: "Nothing sure", rails: map[string]string{"bms": "unknown", "throttle-plug": "unknown"}},
		"empty":         {alt: "Nothing sure", rails: map[string]string{"bms": "unknown"}},
	} {
		p := caseOf(t, name)
		got := rails(t, p)
		var stops []string
		for _, l := range kitOf(t, p).Line.Links {
			if got[l.ID] == "stops" {
				stops = append(stops, l.ID)
			}
		}
		assert.Equal(t, want.stops, stops, name)
		for link, rail := range want.rails {
			assert.Equal(t, rail, got[link], "%s: %s", name, link)
		}
		assert.Contains(t, p.Alt(), want.alt, name)
	}
}

func kitOf(t *testing.T, p *picture.Picture) *kb.Kit {
	kit := embedded(t).Kit(strings.TrimSuffix(p.Name(), "-case"))
	require.NotNil(t, kit)
	return kit
}

func TestReadingsStandAtTheirPlaces(t *testing.T) {
	for name, want := range map[string]map[string]string{ // group that holds the finding -> finding, verdict
		"dead-throttle":  {"point-pack": "pack-volts good", "point-throttle-5v": "throttle-rest bad", "point-display-supply": "look-display good"},
		"missing-ground": {"point-control-5v": "control-5v good", "point-throttle-5v": "throttle-5v bad"},
		"blown-fuse":     {"link-main-fuse": "fuse-continuity good", "point-b-plus": "feed-volts bad"},
		"odd-and-close":  {"point-pack": "pack-volts odd", "point-throttle-5v": "throttle-5v close"},
	} {
		p := caseOf(t, name)
		svg := parse(t, p)
		for place, finding := range want {
			check, verdict, _ := strings.Cut(finding, " ")
			groups := svg.groups(p, place)
			require.NotEmpty(t, groups, "%s: %s", name, place)
			found := groups[0].groups(p, "finding-"+check)
			require.NotEmpty(t, found, "%s: %s at %s", name, check, place)
			assert.Equal(t, verdict, found[0].attr("data-verdict"))
		}
	}
}

// Every figure and every suspect of a case is in its picture, its text and its
// description; none is lost for want of a place.
func TestNothingOfACaseIsLost(t *testing.T) {
	k := embedded(t)
	for _, name := range caseNames() {
		c := caseNamed(t, name)
		p, err := picture.Case(k, c)
		require.NoError(t, err)
		drawn := strings.Join(parse(t, p).texts(), " ")
		text := strings.Join(p.Text(), "\n")
		for _, r := range c.Readings {
			for _, where := range []string{drawn, text, p.Alt()} {
				assert.Contains(t, where, r.Shown, name)
				assert.Contains(t, strings.ToLower(where), strings.ToLower(r.Name), name)
			}
		}
		for _, s := range c.Suspects {
			for _, cause := range s.Causes {
				for _, where := range []string{drawn, text, p.Alt()} {
					assert.Contains(t, where, cause.Name, name)
				}
			}
		}
	}
}

func TestSuspectsAreMarkedOnTheirLinks(t *testing.T) {
	k := embedded(t)
	for _, name := range caseNames() {
		c := caseNamed(t, name)
		p, err := picture.Case(k, c)
		require.NoError(t, err)
		svg := parse(t, p)
		for _, s := range c.Suspects {
			for _, one := range s.Causes {
				cause := k.Cause(one.ID)
				require.NotNil(t, cause)
				for _, link := range append(append([]string{}, cause.Line.Opens...), cause.Line.Weakens...) {
					for _, g := range svg.groups(p, "link-"+link) {
						if strings.HasSuffix(g.attr("id"), "link-"+link) {
							assert.Contains(t, strings.Fields(g.attr("data-suspects")), cause.ID, "%s: %s", name, link)
						}
					}
				}
			}
		}
	}
}

// A line as it is shows every link once, the supply before the grounds.
func TestLineShowsEveryLinkOnce(t *testing.T) {
	k := embedded(t)
	for _, kit := range k.Kits {
		p, err := picture.Line(k, kit)
		require.NoError(t, err)
		got := rails(t, p)
		assert.Len(t, got, len(kit.Line.Links))
		for _, l := range kit.Line.Links {
			assert.Equal(t, "unknown", got[l.ID])
		}
	}
}

func TestFoldedBranchesAreNamed(t *testing.T) {
	p := caseOf(t, "dead-throttle")
	folded := parse(t, p).groups(p, "folded-converter-wire")
	require.Len(t, folded, 1)
	words := strings.Join(folded[0].texts(), " ")
	for _, part := range []string{"converter", "12 V fuse", "lights switch", "horn button"} {
		assert.Contains(t, words, part)
	}
	assert.Contains(t, words, "not measured")
}

// A branch that is known to be good is not said to be unmeasured.
func TestFoldedBranchSaysWhatIsKnownOfIt(t *testing.T) {
	k := embedded(t)
	c, err := onKit("sorrel-60").notice("no-drive", true).
		read("hall-5v", 5.01, 2, "V").read("throttle-5v", 0.03, 2, "V").caseFile(k)
	require.NoError(t, err)
	p, err := picture.Case(k, c)
	require.NoError(t, err)
	folded := parse(t, p).groups(p, "folded-hall-ground")
	require.Len(t, folded, 1)
	assert.Equal(t, []string{"voltage arrives: ground wire of the hall plug"}, folded[0].texts())
}

// A case is drawn with whatever it holds: of another knowledge base, a kit not
// known, checks and causes not known, a line that runs in a circle.
func TestCaseOfAnotherKnowledgeBase(t *testing.T) {
	k := embedded(t)
	v := 3.0
	c := &casefile.Case{
		Kit:      casefile.Kit{ID: "gone"},
		Readings: []casefile.Reading{{Check: "gone", Name: "gone check", Shown: "3 V", Value: &v, Unit: "V"}},
		Looks:    []casefile.Look{{Check: "gone-too", Name: "a look", Option: "x", Label: "seen"}},
		Suspects: []casefile.Suspect{{Causes: []casefile.Cause{{ID: "gone", Name: "a cause"}, {ID: "gone2", Name: "another"}}, Probability: 0.999}},
	}
	p, err := picture.Case(k, c)
	require.NoError(t, err)
	requireLegible(t, p)
	for _, said := range []string{"3 V", "seen", "a cause", "over 99 %"} {
		assert.Contains(t, p.Alt(), said)
	}

	_, err = picture.Case(&kb.KB{}, c)
	assert.ErrorContains(t, err, `"gone"`)
	_, err = picture.Case(nil, nil)
	assert.ErrorContains(t, err, "missing")
	_, err = picture.Line(k, nil)
	assert.ErrorContains(t, err, "missing")

	circle := &kb.Kit{ID: "circle", Line: kb.Line{Source: "a", Links: []kb.Link{{ID: "1", From: "a", To: "b"}, {ID: "2", From: "b", To: "a"}, {ID: "3", From: "b", To: "b"}}}}
	_, err = picture.Line(k, circle)
	assert.NoError(t, err)
}
