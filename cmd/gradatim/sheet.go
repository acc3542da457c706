package main

import (
	"strconv"

	"gradatim"
	"gradatim/leadsheet"
)

// readSheet reads a lead sheet, with the rights file beside it where there is
// one.
func (sh *shell) readSheet(name, which string) (leadsheet.Song, error) {
	f, err := sh.file(name)
	if err != nil {
		return leadsheet.Song{}, err
	}
	tune, err := gradatim.FindTune(f, which)
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

// wrongNumber tells whether the name of a tune is a number that none can have.
func wrongNumber(which string) bool {
	n, err := strconv.Atoi(which)
	return which == "" || err == nil && n < 1
}
