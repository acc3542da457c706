package main

import (
	"os"

	"gradatim"
	"gradatim/leadsheet"
)

// readSheet reads a lead sheet, with the rights file beside it where there is
// one.
func (sh *shell) readSheet(name string, tune int) (leadsheet.Song, error) {
	data, err := sh.readFile(name)
	if err != nil {
		return leadsheet.Song{}, err
	}
	song, err := gradatim.Read(label(name), data, tune)
	if err != nil || name == "-" {
		return song, err
	}
	for _, file := range gradatim.RightsFiles(name, tune) {
		if _, err := os.Lstat(file); os.IsNotExist(err) {
			continue
		}
		text, err := sh.readFile(file)
		if err != nil {
			return song, err
		}
		return gradatim.ReadRights(file, text, song)
	}
	return song, nil
}
