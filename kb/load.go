package kb

import "io/fs"

// Load reads all .yaml and .yml files of a folder and its sub-folders. It
// never stops at the first mistake; the diagnostics are in the order of their
// places. The knowledge base is nil when one of them is an error.
func Load(fsys fs.FS) (*KB, []Diagnostic) {
	out := &findings{}
	all := read(fsys, out)
	files, tongues := splitLanguages(all, out)
	if len(files) == 0 && !HasErrors(out.list) {
		out.error(Pos{File: "."}, "folder", "give the folder that holds the knowledge base", "there is no .yaml file in this folder")
	}
	// With a file or a section missing, every reference into it would seem wrong as well.
	whole := len(files) > 0 && !HasErrors(out.list)
	k := &KB{Version: version(all), tongues: tongues}
	k.index.places = newPlaceIndex()
	g := guard{left: maxNodes, out: out}
	for _, f := range files {
		if g.left < 0 {
			break
		}
		g.file = f.name
		before := len(out.list)
		root := parse(f, out)
		if root == nil || !g.passes(root, 0, nil) {
			whole = whole && !HasErrors(out.list[before:])
			continue
		}
		d := decoder{file: f.name, out: out, places: k.index.places}
		d.sections(root, k)
		whole = whole && !d.passedOver
	}
	k.finish(out)
	if whole {
		k.requireSections(files[0].name, out)
		k.checkReferences(out)
	}
	found := Sort(out.list)
	if HasErrors(found) {
		return nil, found
	}
	return k, found
}
