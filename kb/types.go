package kb

// KB is a whole knowledge base: what owners notice, what can be wrong, what
// can be asked, and how the kits are wired. It is read-only once loaded and
// safe for concurrent use.
type KB struct {
	About    About
	Kits     []*Kit
	Symptoms []*Symptom
	Causes   []*Cause
	Remedies []*Remedy
	Checks   []*Check
	Cautions []*Caution
	Access   []*Access
	Tables   []*Table
	Words    Words
	Cases    []*Case

	// Version names this exact content: the first 12 hex digits of a hash over
	// all files, so that a case can say by which rules it was judged.
	Version string
	// Language is the code of the language of the texts; "" for the base language,
	// in which the knowledge base is written.
	Language string

	index   index
	tongues tongues
}

// About is kb.yaml: what the knowledge base is about, and its few constants.
type About struct {
	Name    string // for people: "Saltmarsh Wheelers, converted bikes"
	Thing   string // what an owner calls what is broken: "bike"
	Person  string // who takes cases over: "a volunteer"
	Generic string // id of the kit used when the owner's kit is unknown
	Belief  BeliefSettings
	Cost    CostSettings
	Meters  map[string]Meter // per unit: V, A, Ω, °C, Hz, %
	// States says in words what a check's states ask of the owner; one without
	// words goes unsaid.
	States map[string]string
}

// BeliefSettings are the prior masses of what is not a single listed cause,
// and the rates of small slips. All are probabilities in 0..1.
type BeliefSettings struct {
	Pairs        float64 // two causes at once; shared over all pairs by their priors
	Unlisted     float64 // something these rules do not know
	NothingWrong float64 // behaves as it should
	Slip         float64 // a check shows something else than what the cause says
}

// CostSettings are in minutes of an owner's time.
type CostSettings struct {
	HandOver float64 // what it costs everybody when a person takes over unfinished
	Sure     float64 // probability from which a remedy is named as the one
}

// Meter says how well a hand meter knows a reading of one unit:
// ±(Percent of reading + Digits counts), with Counts on the display.
type Meter struct {
	Percent float64
	Digits  float64
	Counts  float64 // 6000 means 5.999 then 59.99 then 599.9
	Source  string
}

// Kit is a kind of bike as built.
type Kit struct {
	ID      string
	Name    string
	Summary string
	Words   []string // how owners name it, for recognising it in a message
	// Figures are named numbers that limits may use: full, nominal, empty,
	// series, current ... A figure is a number or an expression over figures
	// named before it in the file and over Ask.
	Figures Figures
	// Ask lists figures that only the owner knows (the generic kit's label
	// voltage); each is asked once and then counts as a figure.
	Ask    []Ask
	Parts  []string           // what this kit has; causes, checks and symptoms may need parts
	Priors map[string]float64 // cause id -> factor on the cause's prior, for this kit
	Plugs  []*Plug
	Line   Line
	Pos    Pos
}

// Figures keeps the order of the file, because later ones may use earlier ones.
type Figures []Figure

// Figure is one named number; Expr is its source text.
type Figure struct {
	Name string
	Expr string
	Pos  Pos
}

// Ask is a figure to ask the owner for.
type Ask struct {
	Figure   string
	Question string
	Unit     string
	From, To float64 // the plausible range; outside is asked once more
	Default  float64 // used when the owner does not know
	Pos      Pos
}

// Plug is a connector with its face.
type Plug struct {
	ID       string
	Name     string
	Where    string     // where to find it on this kit
	Viewed   string     // from which side one looks at Rows: "from the wire side, latch up"
	Rows     [][]string // pin ids as they lie, row by row; "" leaves a gap
	Pins     []Pin
	Pos      Pos
	ViewedIn string `yaml:"-"` // Viewed in the language of the knowledge base, "" in the base
}

// Pin is one terminal of a plug.
type Pin struct {
	ID       string
	Name     string
	Colour   string // colour of the wire, "" when it differs
	Pos      Pos
	ColourIn string `yaml:"-"` // Colour in the language of the knowledge base, "" in the base
}

// Line is the wiring as a forest: each link takes a supply, or a ground, from
// one point to the next. What a broken link, a short or a missing ground does
// to every point follows from it (package rules).
type Line struct {
	Source string // the point where the supply begins
	Ground string // the point every ground comes back to
	Links  []Link
}

// Link joins two points. Points exist by being named here.
type Link struct {
	ID        string // also the name of the part for people, unless Name is given
	Name      string
	From, To  string
	Ground    bool   // a ground (return) link: From is nearer to Line.Ground
	Regulates bool   // beyond it begins a supply of its own that a short drags down
	Return    string // the ground point a regulating link works against; "" is the line's ground
	Pos       Pos
}

// Symptom is something an owner notices: true, false or unknown.
type Symptom struct {
	ID     string
	Name   string
	Family string   // supply, drive, body, history, danger
	Say    string   // as a clause after "I understood:" - "the throttle does nothing"
	Denied string   // the same when the owner says it is not so
	Ask    string   // a yes/no question
	Danger string   // caution id; the talk stops measuring at once when it is present
	Parts  []string // only on kits that have all of these
	// Phrases are how owners say it; Absent how they say that it is not so.
	Phrases  []string
	Absent   []string
	Excludes []string // symptoms that cannot be true with it: present here means absent there
	Implies  []string // symptoms that are then true as well
	// Rate is how often an owner says this when no cause speaks of it.
	Rate float64
	Line *LineReads // what the state of the supply line does to it
	Pos  Pos
}

// Cause is one thing that is wrong, with its part and its remedy.
type Cause struct {
	ID     string
	Name   string
	Part   string
	Parts  []string // only on kits that have all of these
	Prior  float64  // cases in a thousand
	Remedy string
	// Line says what it does to the wiring: ids of links.
	Line CauseLine
	// Shows maps a symptom id to the probability that it is present, or a
	// check id to the probabilities of its outcomes. What is not mentioned
	// stays healthy, but for what follows from the line.
	Shows []Show
	// Forms are the ways in which it comes, where what it shows at one place goes
	// with what it shows at another: a wire that is cut, or only touches now and then.
	Forms []Form
	// Twins are causes that no check of an owner tells from this one.
	Twins  []Twin
	Source string
	Pos    Pos
}

// Form is one way in which a cause comes. What it says goes before what the
// cause says of the same; a line of its own stands in place of the cause's.
type Form struct {
	Name  string
	Share float64 // of the cause's cases; the shares of all forms are scaled to one
	Line  *CauseLine
	Shows []Show
	Pos   Pos
}

// CauseLine names links of the kits' lines.
type CauseLine struct {
	Opens   []string // nothing gets through
	Weakens []string // gets through, sags under load; on a ground, lifts it
	Shorts  []string // points drawn to ground
}

// Show is one entry of Cause.Shows. Exactly one of Present and Outcomes is set.
type Show struct {
	Of       string
	Present  float64            // for a symptom
	Outcomes map[string]float64 // for a check: outcome id -> probability; what is left goes to the healthy ones
	Pos      Pos
}

// Twin says what parts two causes that no check here can part.
type Twin struct {
	Cause    string
	PartedBy string
	Pos      Pos
}

// Remedy is what mends a cause; several causes may share one.
type Remedy struct {
	ID      string
	Name    string   // "replace the throttle"
	Steps   []string // in the order of the hands
	Verify  string   // how to see that it is cured
	Minutes float64  // to carry it out
	Wrong   float64  // minutes lost when it was not that: money and a wrong part counted in minutes
	By      string   // owner, workshop or specialist
	// Again is a check to be done anew after it, for a remedy that mends the
	// measuring and not the fault: then that is asked, not whether the fault is gone.
	Again string
	// Proof are checks of which one is done before it is named, where the owner
	// can: a part is proved before it is bought. After another outcome than these
	// it is not named at all.
	Proof    []Need
	Cautions []string
	Pos      Pos
}

// Check is one question to the owner.
type Check struct {
	ID   string
	Kind string // look, try, measure or talk
	Name string
	Asks string // the question itself, one sentence
	// Phrases are how owners name what is measured or looked at, so that a
	// figure given unasked finds its check: "pack voltage", "battery reads".
	Phrases []string
	How     []string // what to do, in the order of the hands
	// Where it is measured; nil for looks and tries.
	Red, Black *Probe
	Side       string   // "back-probed, plugged in"
	Meter      string   // the meter's setting: "DC volts, 20 V range"
	State      []string // state ids the bike must be in: battery-in, key-on, wheel-up ...
	Tools      []string // tool ids the owner must have
	Minutes    float64
	Access     []string // what must be open first; paid once
	Cannot     float64  // how often an owner cannot do it
	Risk       float64  // minutes a technician would give not to have an owner do it
	First      []string // checks to be done before this one, once
	Needs      []Need   // only when an earlier check gave one of these outcomes
	Parts      []string // only on kits that have all of these
	Cautions   []string
	Unit       string // of a measure
	Windows    []Window
	Options    []Option
	Possible   *Range // readings outside are odd
	Odd        []OddNote
	Line       *LineReads
	Why        string // what it is for, one sentence, for an owner who asks why
	Cures      string // a try that, when it answers with this option, shows the fault gone
	Source     string
	Pos        Pos
	SideIn     string `yaml:"-"` // Side in the language of the knowledge base, "" in the base
	MeterIn    string `yaml:"-"` // Meter likewise
}

// Probe is where a probe goes: a plug's pin, or a place in words.
type Probe struct {
	Plug, Pin string
	Place     string
	Pos       Pos
}

// Need is a precondition: Check must have come out as one of Outcomes.
type Need struct {
	Check    string
	Outcomes []string
	Pos      Pos
}

// Window is a named range of a check's readings. From and To are numbers or
// expressions; From is inside, To is not, so that windows meet without a gap.
type Window struct {
	ID       string
	Name     string // "dragged down"
	From, To string
	Healthy  bool
	Means    string // one sentence for owner and volunteer
	Pos      Pos
}

// Option is an answer of a look or a try.
type Option struct {
	ID      string
	Label   string // as offered
	Phrases []string
	Healthy bool
	Symptom string // this answer says the same as this symptom
	Means   string
	// Parts: offered only on kits that have all of these.
	Parts []string
	// ToldBy: who told of one of these symptoms has answered so already.
	ToldBy []string
	Pos    Pos
}

// Range is a pair of limits like a Window's.
type Range struct {
	From, To string
	Pos      Pos
}

// OddNote says what an odd reading usually comes from. The first whose When
// holds is said.
type OddNote struct {
	When string // expression over value
	Say  string
	Pos  Pos
}

// LineReads says how the state of the supply line at a point shows in an
// observation. States are live, weak (sags when loaded), lifted (its ground is
// lifted), dragged (shorted to low volts) and dead.
type LineReads struct {
	At      string   // the point of the red probe; or
	Any     []string // dead when any of these is, or
	All     []string // dead when all of these are
	Against string   // the point of the black probe; "" is the line's ground
	// Reads maps a state to outcome probabilities (for a symptom the single
	// outcome "present"). States not named read as live.
	Reads map[string]map[string]float64
	Pos   Pos
}

// Caution is what is said before a hand moves.
type Caution struct {
	ID   string
	Text []string // one instruction a line
	// Due says when checks and remedies must carry it; all given parts must hold.
	Due []Due
	// Danger cautions are said when a danger symptom stops the talk.
	Danger bool
	Source string
	Pos    Pos
}

// Due is one condition under which a caution must be carried.
type Due struct {
	State []string // any of these states
	Tools []string // any of these tools
	Units []string // any of these units
	When  string   // expression over the kit's figures; said only on kits where it holds
	Pos   Pos
}

// Access is something to be opened first, such as a cover.
type Access struct {
	ID      string
	Name    string
	How     string
	Minutes float64
	Pos     Pos
}

// Table is a curve that limits may read: table("ntc-10k", 20).
type Table struct {
	ID     string
	Source string
	Points [][2]float64 // x ascending; linear between, Log on log y
	Log    bool
	Pos    Pos
}

// Words is what the matcher knows of the language beside the phrases.
type Words struct {
	Same     [][]string          // groups of words that mean the same here; the first is the one kept
	Spelling map[string]string   // wrong -> right
	Parts    []string            // trade words that spelling repair may aim at
	OffTopic []string            // phrases of what is not ours
	Tools    map[string][]string // tool id -> words owners use for it
	// Kinds are named lists of words that patterns speak of as <name>; Told and
	// Denied are patterns that tell of a symptom (or of off-topic) and that tell
	// that it is not so. The matcher knows what a pattern may be.
	Kinds  map[string][]string
	Told   map[string][]string
	Denied map[string][]string
	// Figures are patterns that say to which check a number belongs.
	Figures map[string][]string
	// Seen are patterns that say what a look or a try shows, under check=option.
	Seen map[string][]string
}

// OffTopicWords is the name under which Told holds patterns of other talk.
const OffTopicWords = "off-topic"

// Case is a rule author's test.
type Case struct {
	Name     string
	Kit      string
	Says     string            // words -> Symptoms, Danger
	Symptoms map[string]bool   // expected; true present, false absent
	Readings map[string]string // check id -> "0.02 V" or option id
	Suspect  string            // expected leading suspect
	Next     string            // expected next check, optional
	Pos      Pos
}
