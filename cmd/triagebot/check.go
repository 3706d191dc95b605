package main

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"os"

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
			fsys := kb.Embedded()
			if len(args) == 1 {
				if err := isFolder(args[0]); err != nil {
					return err
				}
				fsys = os.DirFS(args[0])
			}
			return report(s, fsys, asJSON)
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "one JSON object a line")
	return c
}

func isFolder(dir string) error {
	info, err := os.Stat(dir)
	if err != nil {
		return fmt.Errorf("opening the knowledge base: %w", err)
	}
	if !info.IsDir() {
		return fmt.Errorf("opening the knowledge base: %q is a file; give the folder it is in", dir)
	}
	return nil
}

func report(s streams, fsys fs.FS, asJSON bool) error {
	reader, err := conversation.NewReader()
	if err != nil {
		return err
	}
	found := checker.Run(fsys, func(c *kb.Check, reply string) string {
		return reader.Read(reader.QuestionFor(c, "", "", nil), reply).Choice
	})
	errs, warnings := 0, 0
	for _, d := range found {
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
