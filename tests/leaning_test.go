package tests

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// leaning says what a package may import of this module, and why no more.
var leaning = map[string]struct {
	may []string
	why string
}{
	"kb":                 {nil, "the leaf: data, types and loading, which everything else reads"},
	"language":           {[]string{"commonwords"}, "which languages there are; no word of any trade"},
	"reading":            {[]string{"language"}, "numbers with units are plain text work, used by search and conversation alike"},
	"commonwords":        {nil, "a word list: what is plain English is no slip of a trade word"},
	"rules":              {[]string{"kb"}, "pure computation over the knowledge base"},
	"search":             {[]string{"commonwords", "kb", "language", "reading"}, "from words to observations; knows no belief and no talk"},
	"probe":              {[]string{"kb"}, "where probes go on a kit: the talk and the pictures show the same"},
	"conversation":       {[]string{"commonwords", "kb", "language", "probe", "reading", "rules"}, "asks for a matcher through an interface of its own"},
	"hearing":            {[]string{"conversation", "kb", "search"}, "joins index and talk, which do not know each other"},
	"casefile":           {[]string{"conversation", "kb", "rules"}, "the record of a talk"},
	"casefile/store":     {[]string{"conversation"}, "keeps events and the life of a case; what is in them is not its business"},
	"casefile/turns":     {[]string{"casefile/store", "conversation"}, "from a message to its answer; engine, chat and clock are given to it"},
	"desk":               {[]string{"casefile", "casefile/store", "casefile/turns", "conversation", "kb"}, "people at their cases; chats, pages and the network stand over it"},
	"api":                {[]string{"casefile", "casefile/store", "casefile/turns", "conversation", "desk"}, "the desk over HTTP; stands beside the chats and knows none"},
	"config":             {[]string{"desk", "kb"}, "what serve goes by; opens nothing but the files of tokens"},
	"checker":            {[]string{"kb", "reading", "rules", "search"}, "checks rules by the matcher and the computation, not by a talk"},
	"picture":            {[]string{"casefile", "kb", "picture/drawing", "probe", "rules"}, "what a check and a case look like"},
	"picture/drawing":    {nil, "shapes and type on SVG and PNG; knows no bike"},
	"bench":              {nil, "bikes by physics: an independent witness, which must not lean on the rules"},
	"mining":             {[]string{"casefile", "kb", "mining/stats", "rules"}, "statistics over closed cases; the limits of windows are worked out by the rules"},
	"mining/stats":       {nil, "plain statistics; knows no case"},
	"mining/plots":       {[]string{"mining", "mining/stats"}, "draws a report, and works nothing out but curves"},
	"mining/demo":        {[]string{"kb", "mining"}, "invents closed cases; nothing leans on it"},
	"rehearsal":          {[]string{"bench", "conversation", "kb", "rules"}, "owners with simulated bikes talk to the whole bot; the index reaches it inside the engine"},
	"cmd/triagebot":      {[]string{"api", "casefile", "casefile/store", "casefile/turns", "checker", "config", "conversation", "demostore", "desk", "discord", "hearing", "kb", "language", "learning", "mining", "mining/feed", "mining/plots", "picture", "reading", "rehearsal", "rules", "search", "web", "web/account"}, "the only place that knows all"},
	"discord":            {[]string{"casefile", "casefile/store", "casefile/turns", "conversation", "desk", "kb", "picture"}, "one chat; what a talk or a case is it asks of others"},
	"tests/fakeplatform": {nil, "the platform on loopback; knows nothing of the bot it holds"},
	"mining/feed":        {[]string{"casefile", "casefile/store", "conversation", "mining", "mining/plots"}, "makes records of a store's ended talks and counts them; the statistics themselves know no store"},
	"demostore":          {[]string{"bench", "casefile", "casefile/store", "conversation", "kb", "mining", "mining/demo", "mining/feed", "rehearsal"}, "simulated owners talk to the whole bot and their talks are kept as real ones are"},
	"web":                {[]string{"casefile", "casefile/store", "casefile/turns", "conversation", "desk", "kb", "learning", "mining", "mining/feed", "mining/stats", "picture", "rules", "web/account"}, "pages over what the others work out; knows no other adapter"},
	"web/account":        {[]string{"desk"}, "who may sign in, with the desk's roles; the store is behind Settings"},
	"learning":           {[]string{"kb", "mining"}, "versions of learned priors and who switched them; the store is behind Settings"},
}

// barred are packages of others that a package must not lean on.
var barred = []struct{ dir, path, why string }{
	{"conversation", "github.com/blevesearch", "the index is behind Matcher"},
	{"conversation", "go.etcd.io/bbolt", "a talk is a fold; where events are kept is not its business"},
	{"conversation", "github.com/bwmarrin/discordgo", "a talk knows no chat"},
	{"conversation", "net/http", "a talk knows no network"},
	{"conversation", "os", "a talk does no I/O"},
	{"casefile", "go.etcd.io/bbolt", "a case is worked out from a state; where it is kept is the store's business"},
	{"casefile/store", "net", "one file, no network"},
	{"casefile/store", "math/rand", "the same changes give the same file"},
	{"casefile/turns", "go.etcd.io/bbolt", "the file is behind the store"},
	{"casefile/turns", "github.com/bwmarrin/discordgo", "the chat is behind Sender"},
	{"casefile/turns", "net/http", "turns know no network"},
	{"casefile/turns", "math/rand", "jitter is passed in"},
	{"desk", "net/http", "the desk knows no network; api, web and discord stand over it"},
	{"desk", "github.com/bwmarrin/discordgo", "the desk knows no chat"},
	{"desk", "go.etcd.io/bbolt", "the file is behind the store"},
	{"rules", "os", "pure"},
	{"rules", "net", "pure"},
	{"rules", "time", "the computation knows no clock"},
	{"rules", "math/rand", "the same input gives the same answer"},
	{"mining", "os", "reads and writes what it is given"},
	{"mining/stats", "time", "the statistics know no clock"},
	{"mining/stats", "math/rand", "the same input gives the same answer"},
	{"mining", "math/rand", "the same input gives the same answer"},
	{"kb", "time", "the rules know no clock"},
	{"kb", "net", "the rules come from a folder"},
}

func TestLeaning(t *testing.T) {
	const module = "triagebot/"
	root := ".."
	seen := map[string]bool{}
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && strings.HasPrefix(d.Name(), ".") && path != root {
			return filepath.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		dir := filepath.ToSlash(strings.TrimPrefix(filepath.Dir(path), root+string(filepath.Separator)))
		seen[dir] = true
		rule, ok := leaning[dir]
		if !assert.True(t, ok, "%s is not in the table of leaning: say what it may import, and why", dir) {
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		require.NoError(t, err)
		for _, spec := range f.Imports {
			imported, err := strconv.Unquote(spec.Path.Value)
			require.NoError(t, err)
			if own, ok := strings.CutPrefix(imported, module); ok {
				assert.Contains(t, rule.may, own, "%s: %s", path, rule.why)
			}
			for _, b := range barred {
				if b.dir == dir {
					assert.False(t, imported == b.path || strings.HasPrefix(imported, b.path+"/"), "%s imports %s: %s", path, imported, b.why)
				}
			}
		}
		return nil
	})
	require.NoError(t, err)
	for dir := range leaning {
		assert.True(t, seen[dir], "%s is in the table but not in the tree", dir)
	}
}

// Rules of the house that a person would forget.
func TestHouse(t *testing.T) {
	err := filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") {
			return err
		}
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.LessOrEqual(t, strings.Count(string(data), "\n"), 600, "%s: more than one subject?", path)
		if !strings.HasSuffix(path, "_test.go") && !strings.Contains(path, "/cmd/") {
			assert.NotContains(t, string(data), "os.Stdout", "%s: what is written goes to a writer given", path)
			assert.NotContains(t, string(data), "time.Now()", "%s: the time is passed in", path)
		}
		return nil
	})
	require.NoError(t, err)
}
