package kb

import (
	"strconv"

	"gopkg.in/yaml.v3"
)

// place is a node with its file.
type place struct {
	file string
	node *yaml.Node
}

func (p place) pos() Pos { return Pos{p.file, p.node.Line, p.node.Column} }

// placeIndex finds the node of an entity (by its pointer), and the nodes of
// sections that may stand in several files (by name).
type placeIndex struct {
	entities map[any]place
	sections map[string][]place
}

func newPlaceIndex() placeIndex {
	return placeIndex{map[any]place{}, map[string][]place{}}
}

func (x placeIndex) put(entity any, file string, n *yaml.Node) { x.entities[entity] = place{file, n} }

// At finds where something stands, for diagnostics: a section, the id of an
// entity, then keys, ids of list items, or their numbers from 0:
//
//	k.At("checks", "throttle-rest", "windows", "good", "from")
//
// What is not written in the file has the place of what should hold it.
func (k *KB) At(path ...string) Pos {
	if len(path) == 0 {
		return Pos{}
	}
	if len(path) > 1 {
		if e, ok := k.entity(path[0], path[1]); ok {
			return k.at(e, path[2:]...)
		}
	}
	return k.atSection(path[0], path[1:]...)
}

// at finds a place below an entity.
func (k *KB) at(entity any, path ...string) Pos {
	p, ok := k.index.places.entities[entity]
	if !ok {
		return Pos{}
	}
	found, _ := descend(p, path)
	return found.pos()
}

// atSection finds a place below a section, in the file that has most of it.
func (k *KB) atSection(section string, path ...string) Pos {
	var best place
	deepest := -1
	for _, p := range k.index.places.sections[section] {
		if found, depth := descend(p, path); depth > deepest {
			best, deepest = found, depth
		}
	}
	if deepest < 0 {
		return Pos{}
	}
	return best.pos()
}

// descend follows a path as far as it goes, and says how far that was.
func descend(p place, path []string) (place, int) {
	for depth, step := range path {
		next := child(follow(p.node), step)
		if next == nil {
			return p, depth
		}
		p.node = next
	}
	return p, len(path)
}

func child(n *yaml.Node, step string) *yaml.Node {
	switch n.Kind {
	case yaml.MappingNode:
		for i := 0; i+1 < len(n.Content); i += 2 {
			if follow(n.Content[i]).Value == step {
				return n.Content[i+1]
			}
		}
	case yaml.SequenceNode:
		for _, c := range n.Content {
			if v := follow(c); v.Kind == yaml.ScalarNode && v.Value == step || itemID(v) == step {
				return c
			}
		}
		if i, err := strconv.Atoi(step); err == nil && i >= 0 && i < len(n.Content) {
			return n.Content[i]
		}
	}
	return nil
}

func itemID(n *yaml.Node) string {
	if n.Kind != yaml.MappingNode {
		return ""
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Value == "id" {
			return follow(n.Content[i+1]).Value
		}
	}
	return ""
}

func (k *KB) entity(section, id string) (any, bool) {
	x := &k.index
	switch section {
	case "kits":
		return find(x.kits, id)
	case "symptoms":
		return find(x.symptoms, id)
	case "causes":
		return find(x.causes, id)
	case "remedies":
		return find(x.remedies, id)
	case "checks":
		return find(x.checks, id)
	case "cautions":
		return find(x.cautions, id)
	case "access":
		return find(x.access, id)
	case "tables":
		return find(x.tables, id)
	case "cases":
		for _, c := range k.Cases {
			if c.Name == id {
				return c, true
			}
		}
	}
	return nil, false
}

func find[T any](m map[string]*T, id string) (any, bool) {
	e, ok := m[id]
	return e, ok
}
