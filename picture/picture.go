package picture

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"

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

// FileScale is the scale of the PNG files that [WriteAll] writes.
const FileScale = 2

// WriteAll writes every measurement's picture and the kit's line into dir, as
// SVG, PNG and text, and returns the names of the files.
func WriteAll(dir string, k *kb.KB, kit *kb.Kit) ([]string, error) {
	pictures, err := all(k, kit)
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fmt.Errorf("making the folder for the pictures of kit %q: %w", kit.ID, err)
	}
	var names []string
	for _, p := range pictures {
		for _, form := range forms {
			name := filepath.Join(dir, p.Name()+form.ending)
			if err := writeFile(name, p, form.write); err != nil {
				return names, fmt.Errorf("writing the picture %q of kit %q: %w", p.Name(), kit.ID, err)
			}
			names = append(names, name)
		}
	}
	return names, nil
}

func all(k *kb.KB, kit *kb.Kit) ([]*Picture, error) {
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

var forms = []struct {
	ending string
	write  func(*Picture, io.Writer) error
}{
	{".svg", (*Picture).SVG},
	{".png", func(p *Picture, w io.Writer) error { return p.PNG(w, FileScale) }},
	{".txt", writeText},
}

func writeText(p *Picture, w io.Writer) error {
	for _, line := range append(p.Text(), "", p.Alt()) {
		if _, err := fmt.Fprintln(w, line); err != nil {
			return err
		}
	}
	return nil
}

func writeFile(name string, p *Picture, write func(*Picture, io.Writer) error) error {
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	if err := write(p, f); err != nil {
		_ = f.Close() // the first error is the one that tells
		return err
	}
	return f.Close()
}
