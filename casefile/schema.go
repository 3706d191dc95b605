package casefile

import (
	_ "embed"
	"slices"
)

//go:embed case.schema.json
var schemaJSON []byte

// Schema is the JSON Schema (2020-12) that every case conforms to.
func Schema() []byte { return slices.Clone(schemaJSON) }
