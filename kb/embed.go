package kb

import (
	"embed"
	"io/fs"
	"os"
)

//go:embed data
var data embed.FS

// Embedded is the knowledge base built into the program.
func Embedded() fs.FS {
	sub, err := fs.Sub(data, "data")
	if err != nil {
		// Only a name that is no path can fail, and this one is fixed.
		return data
	}
	return sub
}

// Open loads the knowledge base in a folder of the disk.
func Open(dir string) (*KB, []Diagnostic) {
	info, err := os.Stat(dir)
	switch {
	case err != nil:
		return nil, []Diagnostic{{
			Pos: Pos{File: dir}, Severity: Error, Check: "folder",
			Text: "the folder cannot be read: " + reason(err),
			Cure: "give the path of a folder that holds the YAML files",
		}}
	case !info.IsDir():
		return nil, []Diagnostic{{
			Pos: Pos{File: dir}, Severity: Error, Check: "folder",
			Text: "this is a file, not a folder",
			Cure: "give the folder that holds it",
		}}
	}
	return Load(os.DirFS(dir))
}
