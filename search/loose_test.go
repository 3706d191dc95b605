package search

import (
	"io/fs"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"gopkg.in/yaml.v3"

	"triagebot/kb"
)

// looseKB reads what the matcher needs even from a knowledge base that has mistakes elsewhere.
func looseKB(t testing.TB) *kb.KB {
	k := &kb.KB{}
	err := fs.WalkDir(kb.Embedded(), ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".yaml") {
			return err
		}
		data, err := fs.ReadFile(kb.Embedded(), path)
		require.NoError(t, err)
		var f struct {
			About struct{ Thing, Generic string }
			Kits  []struct {
				ID           string
				Words, Parts []string
			}
			Symptoms []struct {
				ID, Name, Danger, Family           string
				Phrases, Absent, Excludes, Implies []string
			}
			Causes []struct{ ID, Part string }
			Checks []struct {
				ID, Name, Kind, Unit string
				Phrases              []string
				Options              []kb.Option
			}
			Words struct {
				Same     [][]string
				Spelling map[string]string
				Parts    []string
				OffTopic []string `yaml:"off-topic"`
				Tools    map[string][]string
			}
		}
		if err := yaml.Unmarshal(data, &f); err != nil {
			t.Log(path, err)
			return nil
		}
		if f.About.Thing != "" {
			k.About.Thing, k.About.Generic = f.About.Thing, f.About.Generic
		}
		for _, v := range f.Kits {
			k.Kits = append(k.Kits, &kb.Kit{ID: v.ID, Words: v.Words, Parts: v.Parts})
		}
		for _, v := range f.Symptoms {
			k.Symptoms = append(k.Symptoms, &kb.Symptom{ID: v.ID, Name: v.Name, Danger: v.Danger, Family: v.Family, Phrases: v.Phrases, Absent: v.Absent, Excludes: v.Excludes, Implies: v.Implies})
		}
		for _, v := range f.Causes {
			k.Causes = append(k.Causes, &kb.Cause{ID: v.ID, Part: v.Part})
		}
		for _, v := range f.Checks {
			k.Checks = append(k.Checks, &kb.Check{ID: v.ID, Name: v.Name, Kind: v.Kind, Unit: v.Unit, Phrases: v.Phrases, Options: v.Options})
		}
		k.Words.Same = append(k.Words.Same, f.Words.Same...)
		k.Words.Parts = append(k.Words.Parts, f.Words.Parts...)
		k.Words.OffTopic = append(k.Words.OffTopic, f.Words.OffTopic...)
		for a, b := range f.Words.Spelling {
			if k.Words.Spelling == nil {
				k.Words.Spelling = map[string]string{}
			}
			k.Words.Spelling[a] = b
		}
		for a, b := range f.Words.Tools {
			if k.Words.Tools == nil {
				k.Words.Tools = map[string][]string{}
			}
			k.Words.Tools[a] = b
		}
		return nil
	})
	require.NoError(t, err)
	return k
}
