package picture

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"triagebot/kb"
	"triagebot/picture/drawing"
)

// Picture is one finished drawing.
type Picture struct {
	sheet *drawing.Sheet
	text  []string
}

// Name is a name for its file, without an ending.
func (p *Picture) Name() string { return p.sheet.Name }

// Title is its heading.
func (p *Picture) Title() string { return p.sheet.Title }

// Alt describes it to those who do not see it.
func (p *Picture) Alt() string { return p.sheet.Desc }

// Text is the picture in characters of one width, line by line.
func (p *Picture) Text() []string { return slices.Clone(p.text) }

// Size is its width and height in pixels at scale 1.
func (p *Picture) Size() (width, height float64) { return p.sheet.Width, p.sheet.Height }

// SVG writes it for browsers.
func (p *Picture) SVG(w io.Writer) error { return p.sheet.SVG(w) }

// PNG writes it as an image; scale 2 suits phones and chats.
func (p *Picture) PNG(w io.Writer, scale float64) error { return p.sheet.PNG(w, scale) }

// FileScale is the scale of PNG files that suits phones and chats.
const FileScale = 2

// Form is a kind of file that a picture can be written as.
type Form string

// The forms.
const (
	SVG  Form = "svg"
	PNG  Form = "png"
	Text Form = "text"
)

// Forms lists them all.
func Forms() []Form { return []Form{SVG, PNG, Text} }

// Ending is how the name of a file of this form ends.
func (f Form) Ending() string {
	if f == Text {
		return ".txt"
	}
	return "." + string(f)
}

// Write writes the picture in one form.
func (p *Picture) Write(w io.Writer, f Form) error {
	switch f {
	case SVG:
		return p.SVG(w)
	case PNG:
		return p.PNG(w, FileScale)
	case Text:
		_, err := io.WriteString(w, strings.Join(p.text, "\n")+"\n")
		return err
	}
	return fmt.Errorf("writing the picture %q: there is no form %q; choose one of %q", p.Name(), f, Forms())
}

// WriteFile writes the picture into a file. A picture that cannot be drawn
// leaves none.
func (p *Picture) WriteFile(name string, f Form) error {
	var b bytes.Buffer
	if err := p.Write(&b, f); err != nil {
		return err
	}
	if err := os.WriteFile(name, b.Bytes(), 0o644); err != nil {
		return fmt.Errorf("writing the picture %q: %w", p.Name(), err)
	}
	return nil
}

// All draws a kit's line and every measurement that has a picture on it.
func All(k *kb.KB, kit *kb.Kit) ([]*Picture, error) {
	line, err := Line(k, kit)
	if err != nil {
		return nil, err
	}
	pictures := []*Picture{line}
	for _, c := range k.Checks {
		if !Drawable(kit, c) {
			continue
		}
		p, err := Check(k, kit, c)
		if err != nil {
			return nil, err
		}
		pictures = append(pictures, p)
	}
	return pictures, nil
}
