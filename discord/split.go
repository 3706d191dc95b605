package discord

import (
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// mostText is what fits into one message, with room for what is added when a
// button is pressed. The platform counts characters; those outside the basic
// plane are counted double here, to be safe.
const (
	mostText  = 1900
	longest   = 2000 // of the platform
	tailroom  = longest - mostText
	codeFence = "```"
)

func size(s string) int {
	n := 0
	for _, r := range s {
		n += utf16.RuneLen(max(r, 0))
	}
	return n
}

// split cuts lines into messages: between lines where it can, else at the end of
// a sentence, else between words, else wherever it must. Lines drawn in
// characters are put into a fence, so that they keep their columns.
func split(lines []string, most int) []string {
	var (
		parts []string
		now   strings.Builder
		used  int
	)
	flush := func() {
		if s := strings.Trim(now.String(), "\n"); s != "" {
			parts = append(parts, s)
		}
		now.Reset()
		used = 0
	}
	put := func(s string) {
		n := size(s)
		if used > 0 && used+1+n > most {
			flush()
		}
		if used > 0 {
			now.WriteByte('\n')
			used++
		}
		now.WriteString(s)
		used += n
	}
	for _, block := range blocks(lines) {
		for size(block) > most {
			head, tail := cut(block, most)
			put(head)
			flush()
			block = tail
		}
		if strings.TrimSpace(block) != "" {
			put(block)
		}
	}
	flush()
	return parts
}

// drawn are the characters that drawings are made of.
const drawn = "┌┬┐├┼┤└┴┘│─"

func isDrawn(s string) bool { return strings.ContainsAny(s, drawn) }

// blocks puts lines drawn in characters together in a fence.
func blocks(lines []string) []string {
	var out, fence []string
	end := func() {
		if len(fence) > 0 {
			out = append(out, codeFence+"\n"+strings.Join(fence, "\n")+"\n"+codeFence)
		}
		fence = nil
	}
	for _, l := range lines {
		if isDrawn(l) {
			fence = append(fence, strings.ReplaceAll(l, codeFence, "'''"))
			continue
		}
		end()
		out = append(out, l)
	}
	end()
	return out
}

// cut splits a text so that the head has no more than so many characters.
func cut(s string, most int) (head, tail string) {
	limit, n := 0, 0
	for i, r := range s {
		n += utf16.RuneLen(max(r, 0))
		if n > most {
			break
		}
		limit = i + utf8.RuneLen(r)
	}
	at := limit
	if i := sentenceEnd(s[:limit]); i > limit/2 {
		at = i
	} else if i := strings.LastIndexAny(s[:limit], " \n\t"); i > limit/2 {
		at = i
	}
	return strings.TrimRight(s[:at], " \n\t"), strings.TrimLeft(s[at:], " \n\t")
}

// sentenceEnd is where the last whole sentence of a text ends, 0 for nowhere.
// "4.8 V" ends none.
func sentenceEnd(s string) int {
	for i := len(s) - 1; i > 0; i-- {
		if (s[i] == ' ' || s[i] == '\n') && strings.IndexByte(".!?:", s[i-1]) >= 0 {
			return i
		}
	}
	return 0
}
