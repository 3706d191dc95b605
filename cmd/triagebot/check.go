package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"sync"

	"github.com/spf13/cobra"

	"triagebot/checker"
	"triagebot/conversation"
	"triagebot/kb"
)

func checkCommand(s streams) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "check [DIR]",
		Short: "Checks a knowledge base, and runs its cases",
		Long:  "Checks a knowledge base, the built-in one when no folder is given.\nExits with 1 when there are errors; warnings alone are fine.",
		Args:  cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			dir, fsys := "", kb.Embedded()
			if len(args) == 1 {
				dir = args[0]
				if err := isFolder(dir); err != nil {
					return err
				}
				fsys = os.DirFS(dir)
			}
			return report(s, dir, fsys, asJSON)
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "one JSON object a line")
	return c
}

func isFolder(dir string) error {
	info, err := os.Stat(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("opening the knowledge base: there is no folder %q; give the path of the folder that holds the YAML files", dir)
	}
	if err != nil {
		return fmt.Errorf("opening the knowledge base: %w; see that the folder may be read", err)
	}
	if !info.IsDir() {
		return fmt.Errorf("opening the knowledge base: %q is a file; give the folder it is in", dir)
	}
	return nil
}

// report checks the folder fsys, named dir, and writes what is found.
func report(s streams, dir string, fsys fs.FS, asJSON bool) error {
	var made sync.Map // readers by language; a language without one is reported by the checker
	found := checker.Run(fsys, func(language string, c *kb.Check, reply string) string {
		kept, ok := made.Load(language)
		if !ok {
			reader, err := conversation.NewReaderIn(language)
			if err != nil {
				return ""
			}
			kept, _ = made.LoadOrStore(language, reader)
		}
		reader := kept.(*conversation.Reader)
		return reader.Read(reader.QuestionFor(c, "", "", nil), reply).Choice
	})
	errs, warnings := 0, 0
	for _, d := range found {
		if d.Pos.File == "." { // of the folder as a whole
			d.Pos.File = dir
		}
		if d.Severity == kb.Error {
			errs++
		} else {
			warnings++
		}
		if !asJSON {
			fmt.Fprintln(s.out, d)
			continue
		}
		line, err := json.Marshal(d)
		if err != nil {
			return fmt.Errorf("writing a diagnostic: %w", err)
		}
		fmt.Fprintf(s.out, "%s\n", line)
	}
	if !asJSON {
		fmt.Fprintf(s.err, "%d errors, %d warnings\n", errs, warnings)
	}
	if errs > 0 {
		return errFound
	}
	return nil
}
