package casefile_test

import (
	"bytes"
	"html"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	extensions "github.com/yuin/goldmark/extension/ast"
	"github.com/yuin/goldmark/text"
	"pgregory.net/rapid"

	"triagebot/conversation"
)

var markdown = goldmark.New(goldmark.WithExtensions(extension.GFM))

// shape counts what a page is made of.
func shape(page string) map[string]int {
	n := map[string]int{}
	root := markdown.Parser().Parse(text.NewReader([]byte(page)))
	_ = ast.Walk(root, func(x ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering {
			n[x.Kind().String()]++
		}
		return ast.WalkContinue, nil
	})
	return n
}

// forbidden are the forms that only an owner's text could bring in.
var forbidden = []ast.NodeKind{
	ast.KindLink, ast.KindImage, ast.KindAutoLink, ast.KindRawHTML, ast.KindHTMLBlock, ast.KindCodeSpan, ast.KindCodeBlock,
	ast.KindFencedCodeBlock, ast.KindBlockquote, ast.KindThematicBreak, extensions.KindStrikethrough, extensions.KindTaskCheckBox,
}

func inert(t require.TestingT, page string) {
	n := shape(page)
	for _, k := range forbidden {
		assert.Zero(t, n[k.String()], "%s in\n%s", k, page)
	}
	// No @ that could call somebody.
	assert.NotRegexp(t, regexp.MustCompile("@[^\u200b]"), page)
	for _, r := range page {
		assert.False(t, r < ' ' && r != '\n' || r == '\u202e' || r == '\u2066', "control character %q", r)
	}
}

func TestHostileTextIsInert(t *testing.T) {
	e := engine(t)
	page := build(t, e, talks["hostile"]().state()).Markdown()
	inert(t, page)

	// The same talk in harmless words has the same shape.
	tame := talks["hostile"]()
	for i := range tame.events {
		if ev := &tame.events[i]; ev.Text != "" && strings.TrimSpace(ev.Text) != "" {
			ev.Text = "word"
		}
	}
	want, got := shape(build(t, e, tame.state()).Markdown()), shape(page)
	for kind, n := range want {
		if kind != "Text" && kind != "TextBlock" {
			assert.Equal(t, n, got[kind], kind)
		}
	}
}

// What was typed is what is read, but for spaces.
func TestTextSurvives(t *testing.T) {
	e := engine(t)
	for _, s := range append(hostile, "5,02 V (0.3?) it's \"fine\" - I think... 100%! a_b c*d x|y") {
		if strings.TrimSpace(s) == "" {
			continue
		}
		page := build(t, e, newTalk().owner(s).state()).Markdown()
		inert(t, page)
		assert.Contains(t, rendered(t, page), normal(s), "%s", page)
	}
}

var tags = regexp.MustCompile(`<[^>]*>`)

func rendered(t require.TestingT, page string) string {
	var b bytes.Buffer
	require.NoError(t, markdown.Convert([]byte(page), &b))
	return normal(html.UnescapeString(tags.ReplaceAllString(b.String(), "")))
}

func normal(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\u200b', r == '\u202e', r == '\u2066', r == '\u2069':
			return -1
		case r < ' ':
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "\ufffd"))
	return strings.Join(strings.Fields(s), " ")
}

func TestAnyTextIsInert(t *testing.T) {
	e := engine(t)
	rapid.Check(t, func(r *rapid.T) {
		s := rapid.StringOfN(rapid.RuneFrom([]rune("ab 1.)(-+*_`~|#<>&@[]!\\:/w=\n\t{}\"'$^é✓\u202e\x00")), 0, 40, -1).Draw(r, "text")
		st := newTalk().owner(s).
			event(conversation.Event{Kind: conversation.CannotDo, ID: "pack-volts", Text: s}).state()
		inert(r, build(r, e, st).Markdown())
	})
}

func TestPageOrder(t *testing.T) {
	page := build(t, engine(t), talks["danger"]().state()).Markdown()
	last := -1
	for _, part := range []string{"**Danger: there is smoke.**", "Stop. Do not measure", "## What is wrong", "## What was measured",
		"Nothing was measured.", "## What that rules out", "## What is left", "## What to do next", "See to the danger", "## Cautions given", "## Transcript"} {
		at := strings.Index(page, part)
		assert.Greater(t, at, last, part)
		last = at
	}
}
