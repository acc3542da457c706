package main

import (
	"gradatim"
	"gradatim/leadsheet"
)

// readSheet reads a lead sheet, with the rights file beside it where there is
// one.
func (sh *shell) readSheet(name string, tune int) (leadsheet.Song, error) {
	f, err := sh.file(name)
	if err != nil {
		return leadsheet.Song{}, err
	}
	song, err := gradatim.Read(f.Name, f.Data, tune)
	if err != nil {
		return song, err
	}
	rights, err := sh.rightsBeside(name, tune)
	if err != nil || rights.Name == "" {
		return song, err
	}
	return gradatim.ReadRights(rights.Name, rights.Data, song)
}
