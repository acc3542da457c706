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
	song, err := sh.readMended(f, tune)
	if err != nil {
		return song, err
	}
	rights, err := sh.rightsBeside(name, tune)
	if err != nil || rights.Name == "" {
		return song, err
	}
	return gradatim.ReadRights(rights.Name, rights.Data, song)
}

// readMended reads a lead sheet, and takes the readings that --mend asks for.
func (sh *shell) readMended(f gradatim.File, tune int) (leadsheet.Song, error) {
	song, err := gradatim.Read(f.Name, f.Data, tune)
	if err != nil || len(sh.mend) == 0 {
		return song, err
	}
	return gradatim.Mend(song, sh.mend...)
}

// wrongNumber tells whether the name of a tune is a number that none can have.
func wrongNumber(which string) bool {
	n, err := strconv.Atoi(which)
	return which == "" || err == nil && n < 1
}
