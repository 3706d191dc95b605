package rehearsal

import (
	_ "embed"
	"fmt"

	"gopkg.in/yaml.v3"
)

//go:embed words.yaml
var wordsFile []byte

// words is the owners' own stock of wordings.
type words struct {
	Hello     []string
	Bye       []string
	Kits      map[string][]string
	KitAnswer map[string][]string `yaml:"kit-answer"`
	Symptoms  map[string][]string
	Works     map[string][]string
	Vague     []string
	Worried   []string
	Cannot    map[string][]string

	Cured         []string
	NotCured      []string `yaml:"not-cured"`
	Partly        []string
	CannotMend    []string `yaml:"cannot-mend"`
	MeasuredAgain []string `yaml:"measured-again"`
	Corrects      []string
	How           []string
	Why           []string
	Neither       []string
	Late          []string
	Options       map[string]map[string][]string
}

func loadWords() (*words, error) {
	var w words
	if err := yaml.Unmarshal(wordsFile, &w); err != nil {
		return nil, fmt.Errorf("reading the owners' words: %w", err)
	}
	return &w, nil
}
