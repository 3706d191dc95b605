package casefile

import (
	"strconv"
	"strings"
)

// page writes Markdown. Its methods take plain text and escape it, so that no
// text can become form.
type page struct{ b strings.Builder }

func (p *page) line(form, text string) {
	p.b.WriteString(form + escape(text) + "\n")
}

// heading begins a section; the first is the title.
func (p *page) heading(level int, text string) {
	if p.b.Len() > 0 && !strings.HasSuffix(p.b.String(), "\n\n") {
		p.b.WriteString("\n")
	}
	p.line(strings.Repeat("#", level)+" ", text)
	p.b.WriteString("\n")
}

func (p *page) bullet(text string) { p.line("- ", text) }

func (p *page) subBullet(text string) { p.line("  - ", text) }

func (p *page) item(n int, text string) { p.line(strconv.Itoa(n)+". ", text) }

// paragraph is text on its own; strong sets it in bold.
func (p *page) paragraph(text string) {
	p.line("", text)
	p.b.WriteString("\n")
}

func (p *page) strong(text string) {
	p.b.WriteString("**" + strings.TrimSpace(escape(text)) + "**\n\n")
}

// boldBullet is a bullet with a bold beginning.
func (p *page) boldBullet(bold, text string) {
	p.b.WriteString("- **" + strings.TrimSpace(escape(bold)) + "** " + escape(text) + "\n")
}

// row is one row of a table; an empty cell shows as a dash.
func (p *page) row(cells ...string) {
	for _, c := range cells {
		c = escape(c)
		if c == "" {
			c = "–"
		}
		p.b.WriteString("| " + c + " ")
	}
	p.b.WriteString("|\n")
}

func (p *page) rule(columns int) {
	p.b.WriteString(strings.Repeat("|---", columns) + "|\n")
}
