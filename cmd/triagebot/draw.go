package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"triagebot/casefile"
	"triagebot/kb"
	"triagebot/picture"
)

type drawOptions struct {
	dir, kit, check, file, as, to, language string
	line                                    bool
}

func drawCommand(s streams) *cobra.Command {
	var o drawOptions
	c := &cobra.Command{
		Use:   "draw",
		Short: "Draws where the probes go, and where the voltage of a case stops",
		Long: "Draws one check of a kit, the supply line of a kit, all of a kit (--kit alone), or a case.\n" +
			"SVG and PNG go into files, text to the terminal, unless --to says otherwise.",
		Example: "  triagebot draw --kit sorrel-60 --check throttle-rest\n" +
			"  triagebot draw --kit sorrel-60 --check throttle-rest --as text\n" +
			"  triagebot draw --kit sorrel-60 --line --as png\n" +
			"  triagebot draw --kit sorrel-60 --to pictures\n" +
			"  triagebot draw --case 2026-03-02-140000.json",
		Args: noMore,
		RunE: func(*cobra.Command, []string) error { return draw(s, o) },
	}
	f := c.Flags()
	f.StringVar(&o.dir, "kb", "", "folder of the knowledge base (default: the built-in one)")
	f.StringVar(&o.kit, "kit", "", "the kit")
	f.StringVar(&o.language, "language", "", "code of the language of an owner's pictures, such as es (default: English)")
	f.StringVar(&o.check, "check", "", "the check whose probes are drawn")
	f.BoolVar(&o.line, "line", false, "the kit's supply line")
	f.StringVar(&o.file, "case", "", "a case's JSON file as chat writes it, or - for the input")
	f.StringVar(&o.as, "as", string(picture.SVG), "svg, png or text; several with commas")
	f.StringVar(&o.to, "to", "", "folder to write into, made if need be, or - for the output (default: this folder, but text to the output)")
	return c
}

func draw(s streams, o drawOptions) error {
	forms, err := o.forms()
	if err != nil {
		return err
	}
	k, err := loadKB(o.dir)
	if err != nil {
		return err
	}
	if err := knownLanguage(k, o.language); err != nil {
		return err
	}
	k = k.In(o.language)
	pictures, err := o.pictures(s, k)
	if err != nil {
		return err
	}
	toOutput := func(f picture.Form) bool { return o.to == "-" || o.to == "" && f == picture.Text }
	if o.to == "-" && len(pictures)*len(forms) > 1 && !slices.Equal(forms, []picture.Form{picture.Text}) {
		return usageError{fmt.Errorf("--to - takes one picture in one form, not %d in %s; name a folder, or choose with --check or --line", len(pictures), o.as)}
	}
	if o.to != "" && o.to != "-" {
		if err := os.MkdirAll(o.to, 0o755); err != nil {
			return fmt.Errorf("making the folder for the pictures: %w", err)
		}
	}
	screen := newScreen(s.out)
	for i, p := range pictures {
		for _, f := range forms {
			switch {
			case !toOutput(f):
				name := filepath.Join(o.to, o.name(p)+f.Ending())
				if err := p.WriteFile(name, f); err != nil {
					return err
				}
				fmt.Fprintln(s.out, name)
			case f == picture.Text:
				if i > 0 {
					fmt.Fprintln(s.out)
				}
				screen.lines(p.Text())
			case f == picture.PNG && screen.fd >= 0:
				return usageError{errors.New("a PNG would garble the terminal; name a folder with --to, or send the output into a file")}
			default:
				if err := p.Write(s.out, f); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// name is what the file of a picture is called: a case's after the case, so
// that two of one kit do not overwrite each other.
func (o drawOptions) name(p *picture.Picture) string {
	if o.file == "" || o.file == "-" {
		return p.Name()
	}
	return strings.TrimSuffix(filepath.Base(o.file), ".json")
}

// forms checks the command line before anything is read.
func (o drawOptions) forms() ([]picture.Form, error) {
	switch {
	case o.file == "" && o.kit == "":
		return nil, usageError{errors.New("say what to draw: --kit, with --check or --line for one picture of it, or --case")}
	case o.file != "" && (o.kit != "" || o.check != "" || o.line):
		return nil, usageError{errors.New("--case stands alone: a case says itself which kit it is of")}
	case o.check != "" && o.line:
		return nil, usageError{errors.New("--check and --line are two pictures; choose one, or leave both out for all of the kit")}
	}
	var forms []picture.Form
	for word := range strings.SplitSeq(o.as, ",") {
		f := picture.Form(strings.TrimSpace(word))
		if !slices.Contains(picture.Forms(), f) {
			return nil, usageError{fmt.Errorf("--as %q: there is no form %q; there are: svg, png, text", o.as, f)}
		}
		if !slices.Contains(forms, f) {
			forms = append(forms, f)
		}
	}
	return forms, nil
}

func (o drawOptions) pictures(s streams, k *kb.KB) ([]*picture.Picture, error) {
	if o.file != "" {
		return drawCase(s, k, o.file)
	}
	if err := knownKit(k, o.kit); err != nil {
		return nil, err
	}
	kit := k.Kit(o.kit)
	var p *picture.Picture
	var err error
	switch {
	case o.line:
		p, err = picture.Line(k, kit)
	case o.check != "":
		c := k.Check(o.check)
		if c == nil {
			return nil, unknownCheck(k, kit, o.check)
		}
		if p, err = picture.Check(k, kit, c); err != nil {
			return nil, usageError{err}
		}
	default:
		return picture.All(k, kit)
	}
	return []*picture.Picture{p}, err
}

func drawCase(s streams, k *kb.KB, file string) ([]*picture.Picture, error) {
	in := s.in
	if file != "-" {
		f, err := os.Open(file)
		if err != nil {
			return nil, fmt.Errorf("opening the case: %w", err)
		}
		defer f.Close()
		in = f
	}
	c, err := casefile.Read(in)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	if c.KB.Version != k.Version {
		fmt.Fprintf(s.err, "triagebot: this case was judged by version %s of its rules, these are version %s: where they differ, the picture shows these\n", c.KB.Version, k.Version)
	}
	p, err := picture.Case(k, c)
	return []*picture.Picture{p}, err
}

// unknownCheck says which check may have been meant: one spelled nearly so, or
// those that share a word with it.
func unknownCheck(k *kb.KB, kit *kb.Kit, id string) error {
	var ids, near []string
	for _, c := range k.Checks {
		if !picture.Drawable(kit, c) {
			continue
		}
		ids = append(ids, c.ID)
		words := strings.Split(c.ID, "-")
		if slices.ContainsFunc(strings.Split(id, "-"), func(w string) bool { return slices.Contains(words, w) }) {
			near = append(near, c.ID)
		}
	}
	if likely := kb.Likely(id, ids); likely != "" {
		near = []string{likely}
	}
	if len(near) == 0 {
		return usageError{fmt.Errorf("there is no check %q; kit %q has pictures of: %s", id, kit.ID, strings.Join(ids, ", "))}
	}
	return usageError{fmt.Errorf("there is no check %q; did you mean %s?", id, strings.Join(near, ", "))}
}
