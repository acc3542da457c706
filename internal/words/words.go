// Package words says things to a reader: every sentence of the program, by
// language, from typed parts. The sentences of a language are one file of
// messages, en.toml or de.toml, embedded here; adding a language is adding a file
// (docs/words.md). The package decides nothing about music: it is told what is to
// be said and finds the words, last of all.
package words

import (
	"cmp"
	"embed"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"
	"sync"

	"github.com/BurntSushi/toml"
	"golang.org/x/text/language"
)

//go:embed *.toml
var files embed.FS

// Default is the language of who asks for none.
const Default = "en"

// Words are the messages of one language. They never change and may be shared.
type Words struct {
	id       string
	tag      language.Tag
	source   []byte // the file
	messages map[string]template
}

// loaded are the languages by id. They are read once, by the first who asks.
var loaded = sync.OnceValues(func() (map[string]*Words, error) { return read(files) })

// In returns the words of a language by its id, "en" or "de"; "" is Default. The
// error names the languages that there are.
func In(id string) (*Words, error) {
	all, err := loaded()
	if err != nil {
		return nil, err
	}
	w, ok := all[cmp.Or(id, Default)]
	if !ok {
		return nil, fmt.Errorf("no language %q; there are %s", id, strings.Join(Languages(), ", "))
	}
	return w, nil
}

// Must is In for a language that is known to be there.
func Must(id string) *Words {
	w, err := In(id)
	if err != nil {
		panic("words: " + err.Error())
	}
	return w
}

// Languages lists the ids of the languages that there are.
func Languages() []string {
	all, err := loaded()
	if err != nil {
		return nil
	}
	return slices.Sorted(maps.Keys(all))
}

// ID is the language's id, as in the lang attribute of a page.
func (w *Words) ID() string { return w.id }

// Source is the file of the language: what is made of its words changes with it.
func (w *Words) Source() []byte { return slices.Clone(w.source) }

// read reads every file of messages.
func read(dir fs.FS) (map[string]*Words, error) {
	names, err := fs.Glob(dir, "*.toml")
	if err != nil {
		return nil, err
	}
	out := map[string]*Words{}
	for _, name := range names {
		data, err := fs.ReadFile(dir, name)
		if err != nil {
			return nil, err
		}
		w, err := parse(strings.TrimSuffix(path.Base(name), ".toml"), data)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		out[w.id] = w
	}
	return out, nil
}

func parse(id string, data []byte) (*Words, error) {
	tag, err := language.Parse(id)
	if err != nil {
		return nil, err
	}
	var tree map[string]any
	if err := toml.Unmarshal(data, &tree); err != nil {
		return nil, err
	}
	w := &Words{id: id, tag: tag, source: data, messages: map[string]template{}}
	return w, w.add("", tree)
}

// add flattens a tree of messages: the parts of a key are joined with points, the
// lines of a list are numbered from 0.
func (w *Words) add(key string, node any) error {
	switch v := node.(type) {
	case string:
		t, err := parseTemplate(v)
		if err != nil {
			return fmt.Errorf("%s: %w", key, err)
		}
		w.messages[key] = t
		return nil
	case []any:
		for i, x := range v {
			if err := w.add(fmt.Sprintf("%s.%d", key, i), x); err != nil {
				return err
			}
		}
		return nil
	case map[string]any:
		for k, x := range v {
			if key != "" {
				k = key + "." + k
			}
			if err := w.add(k, x); err != nil {
				return err
			}
		}
		return nil
	}
	return fmt.Errorf("%s: a message is a text, a list of texts, or a table of them", key)
}
