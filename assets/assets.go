// Package assets holds the materials that the program carries inside itself:
// the engraver's WebAssembly module, the piano's samples and the letters of the
// site. They are prepared from pinned packages when the program is built and are never
// committed:
//
//	npm ci --ignore-scripts
//	go generate ./assets
//
// Without them everything compiles, and whoever asks for a material gets a
// [MissingError] that names these commands. The package knows nothing of what
// its materials mean.
//
// The generators live in folders below prepare, outside this package: a
// generator that imported the embedding package would depend on its own
// output.
package assets

import (
	"embed"
	"fmt"
	"io/fs"
)

//go:embed all:data
var data embed.FS

// A MissingError says that the program was built without a material.
type MissingError struct {
	Name string // what is missing, for a reader: "the engraver"
	File string // its file in assets/data
}

func (e *MissingError) Error() string {
	return fmt.Sprintf("%s is not in this program (assets/data/%s): run npm ci --ignore-scripts && go generate ./assets, then build again", e.Name, e.File)
}

// read returns one prepared file, or a MissingError under the given name.
func read(name, file string) ([]byte, error) {
	b, err := fs.ReadFile(data, "data/"+file)
	if err != nil {
		return nil, &MissingError{Name: name, File: file}
	}
	return b, nil
}
