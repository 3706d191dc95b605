package kb

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"
	"unicode/utf8"
)

// Limits on what is read. The knowledge base of a workshop is half a megabyte;
// what is far beyond that is the wrong folder.
const (
	maxFile  = 4 << 20
	maxTotal = 16 << 20
)

// file is one YAML file as read.
type file struct {
	name string
	text []byte
}

// read takes in all YAML files of a folder in the order of their names.
// Names that begin with a dot or an underscore are passed over, as embedding
// passes over them: a folder and its embedded copy must load alike.
func read(fsys fs.FS, out *findings) []file {
	var files []file
	total := 0
	err := fs.WalkDir(fsys, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			out.error(Pos{File: name}, "folder", "see that it exists and may be read", "cannot be read: %s", reason(err))
			if d != nil && !d.IsDir() {
				return nil
			}
			return fs.SkipDir
		}
		base := path.Base(name)
		if name != "." && (base[0] == '.' || base[0] == '_') {
			if d.IsDir() {
				return fs.SkipDir
			}
			return nil
		}
		ext := strings.ToLower(path.Ext(name))
		if d.Type()&fs.ModeSymlink != 0 {
			if info, err := fs.Stat(fsys, name); err == nil && info.IsDir() {
				out.warn(Pos{name, 1, 1}, "file", "copy the folder here, or give it by itself", "this is a link to a folder, which is not followed")
				return nil
			}
		}
		if inner := path.Ext(strings.TrimSuffix(base, path.Ext(base))); ext == ".txt" && (inner == ".yaml" || inner == ".yml") {
			out.error(Pos{name, 1, 1}, "file", "rename it to "+strings.TrimSuffix(base, path.Ext(base)), "the name of this file ends in %s, so that it is not read", path.Ext(base))
		}
		if d.IsDir() || ext != ".yaml" && ext != ".yml" {
			return nil
		}
		text, ok := readFile(fsys, name, out)
		if !ok {
			return nil
		}
		if total += len(text); total > maxTotal {
			out.error(Pos{File: name, Line: 1, Col: 1}, "file", "give the folder of one knowledge base only",
				"the files together are larger than %d MiB", maxTotal>>20)
			return fs.SkipAll
		}
		files = append(files, file{name, text})
		return nil
	})
	if err != nil && !errors.Is(err, fs.SkipDir) {
		out.error(Pos{File: "."}, "folder", "see that it exists and may be read", "cannot be read: %s", reason(err))
	}
	// A walk goes folder by folder; the contract is the order of whole names.
	slices.SortFunc(files, func(a, b file) int { return cmp.Compare(a.name, b.name) })
	return files
}

func readFile(fsys fs.FS, name string, out *findings) ([]byte, bool) {
	start := Pos{File: name, Line: 1, Col: 1}
	info, err := fs.Stat(fsys, name)
	if err == nil && !info.Mode().IsRegular() {
		// Opening a pipe would wait for ever.
		out.error(start, "file", "move it elsewhere", "this is not a regular file")
		return nil, false
	}
	var text []byte
	if err == nil {
		text, err = readAtMost(fsys, name)
	}
	switch {
	case err != nil:
		out.error(start, "file", "see that it exists and may be read", "cannot be read: %s", reason(err))
		return nil, false
	case len(text) > maxFile:
		out.error(start, "file", "split it into several", "the file is larger than %d MiB", maxFile>>20)
		return nil, false
	case bytes.IndexByte(text, 0) >= 0:
		out.error(start, "file", "save it as plain text in UTF-8", "the file is not text")
		return nil, false
	case !utf8.Valid(text):
		out.error(badRune(name, text), "file", "save the file as UTF-8", "this character is not UTF-8")
		return nil, false
	}
	return text, true
}

func readAtMost(fsys fs.FS, name string) ([]byte, error) {
	f, err := fsys.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, maxFile+1))
}

func badRune(name string, text []byte) Pos {
	pos := Pos{File: name, Line: 1, Col: 1}
	for len(text) > 0 {
		r, n := utf8.DecodeRune(text)
		if r == utf8.RuneError && n == 1 {
			break
		}
		pos.Col++
		if r == '\n' {
			pos.Line, pos.Col = pos.Line+1, 1
		}
		text = text[n:]
	}
	return pos
}

// version names the content: names and texts, in the order read.
func version(files []file) string {
	h := sha256.New()
	for _, f := range files {
		// Lengths keep one file's end from passing for the next one's name.
		fmt.Fprintf(h, "%d %s %d ", len(f.name), f.name, len(f.text))
		h.Write(f.text)
	}
	return hex.EncodeToString(h.Sum(nil))[:12]
}

// reason is the last part of a file error: the path before it is said already.
func reason(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		return strings.ToLower(p.Err.Error())
	}
	return err.Error()
}
