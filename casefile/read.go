package casefile

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
)

// mostBytes bounds what [Read] takes in; a long talk's case is some 100 kB.
const mostBytes = 16 << 20

// Read reads a case as it was written: one JSON object by case.schema.json.
// What is no case of this version is an error that says so.
func Read(r io.Reader) (*Case, error) {
	data, err := io.ReadAll(io.LimitReader(r, mostBytes+1))
	if err != nil {
		return nil, fmt.Errorf("reading the case: %w", err)
	}
	if len(data) > mostBytes {
		return nil, fmt.Errorf("reading the case: it is longer than %d MB, which no case is", mostBytes>>20)
	}
	var head struct {
		V    int              `json:"v"`
		KB   *json.RawMessage `json:"kb"`
		Kit  *json.RawMessage `json:"kit"`
		Case *json.RawMessage `json:"case"`
	}
	switch err := json.Unmarshal(data, &head); {
	case err != nil:
		return nil, fmt.Errorf("reading the case: it is not one JSON object: %w; give the .json file that stands beside the talk", err)
	case head.Case != nil:
		return nil, errors.New(`reading the case: this is a turn of a talk; give what stands in its "case" alone`)
	case head.KB == nil || head.Kit == nil:
		return nil, errors.New(`reading the case: it has no "kb" and "kit", so it is no case; give the .json file that stands beside the talk`)
	case head.V != 1:
		return nil, fmt.Errorf("reading the case: it has version %d, and only version 1 is known here; use the program that wrote it", head.V)
	}
	var c Case
	if err := json.Unmarshal(data, &c); err != nil {
		return nil, fmt.Errorf("reading the case: %w", err)
	}
	return &c, nil
}
