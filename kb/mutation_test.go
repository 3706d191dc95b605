package kb_test

import (
	"fmt"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"
	"gopkg.in/yaml.v3"

	"triagebot/kb"
)

// Bytes changed at random seldom get past the YAML parser. These changes do:
// every value of a whole knowledge base is replaced in turn, every key and
// item taken away or doubled, and the loader must end in an error or in a
// knowledge base without loose ends.
func TestEveryValueChanged(t *testing.T) {
	text := oneFile(t, "testdata/good/lamp")
	var root yaml.Node
	require.NoError(t, yaml.Unmarshal(text, &root))
	tried, refused := 0, 0
	try := func(what string) {
		b, err := yaml.Marshal(&root)
		require.NoError(t, err)
		k, found := kb.Load(fstest.MapFS{"a.yaml": {Data: b}})
		tried++
		if k == nil {
			refused++
			require.True(t, kb.HasErrors(found), what)
			return
		}
		require.Empty(t, looseEnds(k), what)
	}
	odd := []yaml.Node{
		{Kind: yaml.ScalarNode, Value: "", Style: yaml.DoubleQuotedStyle},
		{Kind: yaml.ScalarNode, Value: "-1"},
		{Kind: yaml.ScalarNode, Value: "dark"},
		{Kind: yaml.SequenceNode},
		{Kind: yaml.MappingNode},
		{Kind: yaml.ScalarNode, Tag: "!!null", Value: "null"},
	}
	turn := 0
	var visit func(n *yaml.Node)
	visit = func(n *yaml.Node) {
		for i, c := range n.Content {
			if n.Kind == yaml.SequenceNode && i > 1 && c.Kind == yaml.ScalarNode {
				break // the rest of a list of phrases is like the first two
			}
			what := fmt.Sprintf("line %d", c.Line)
			// Two of the odd values each, in turn, keep the test short.
			for range 2 {
				turn = (turn + 1) % len(odd)
				n.Content[i] = &odd[turn]
				try(fmt.Sprintf("%s: value %d", what, turn))
			}
			n.Content[i] = c
			visit(c)
		}
		step := 1
		if n.Kind == yaml.MappingNode {
			step = 2
		}
		whole := n.Content
		for i := 0; i+step <= len(whole); i += step {
			n.Content = append(append([]*yaml.Node{}, whole[:i]...), whole[i+step:]...)
			try(fmt.Sprintf("line %d: taken away", whole[i].Line))
			n.Content = append(append([]*yaml.Node{}, whole...), whole[i:i+step]...)
			try(fmt.Sprintf("line %d: doubled", whole[i].Line))
		}
		n.Content = whole
	}
	visit(root.Content[0])
	require.Greater(t, refused, tried/2)
}
