package gradatim

import (
	"bytes"
	"context"
	"fmt"
	"path/filepath"
	"strings"

	"gradatim/internal/abc"
	"gradatim/internal/account"
	"gradatim/internal/musicxml"
	"gradatim/internal/rights"
	"gradatim/internal/words"
	"gradatim/leadsheet"
)

// Read reads a lead sheet. The format is told by the contents, not the name;
// tune picks one of several in an ABC file (0: the first). The error, where
// there is one, is a leadsheet.Problems. Problems are told in English.
func Read(name string, data []byte, tune int) (leadsheet.Song, error) {
	w := words.Must(words.Default)
	song, err := read(name, data, tune)
	song.Problems = w.Problems(song.Problems)
	return song, w.Err(err)
}

// read is Read before its Problems are put into words.
func read(name string, data []byte, tune int) (leadsheet.Song, error) {
	song, err := readAsIs(name, data, tune)
	if err != nil || midi(data) { // what a MIDI file says as a sheet was found by us
		return song, err
	}
	return proofread(song), nil
}

// readAsIs is read without proof-reading.
func readAsIs(name string, data []byte, tune int) (leadsheet.Song, error) {
	if midi(data) {
		return readMIDI(name, data, tune)
	}
	if err := foreign(name, data); err != nil {
		return leadsheet.Song{}, err
	}
	if musical(data) {
		if tune > 0 {
			var ps leadsheet.Problems
			ps.Tell(leadsheet.Error, leadsheet.Pos{File: name}, "tune-single", "Tune", tune)
			return leadsheet.Song{}, ps
		}
		return musicxml.ReadSong(data, musicxml.Options{File: name})
	}
	return abc.Read(data, abc.Options{File: name, Tune: tune})
}

// Description is what was understood of a lead sheet.
type Description struct {
	// Text is for a reader: a header, then each bar with its chords and its tune, in
	// playing order.
	Text string
	// JSON is the same with the role of each note and more (docs/formats.md).
	JSON []byte
	// Problems tell what was dropped or guessed in reading, and in finding key and
	// chords.
	Problems leadsheet.Problems
}

// Describe says what was understood of a lead sheet, its Problems in one of Languages
// ("": English). The error is the context's, or of the language.
func Describe(ctx context.Context, song leadsheet.Song, language string) (Description, error) {
	if err := context.Cause(ctx); err != nil {
		return Description{}, err
	}
	w, err := words.In(language)
	if err != nil {
		return Description{}, err
	}
	data, err := account.Sheet(song, w)
	if err != nil {
		return Description{}, err
	}
	d := Description{Text: account.SheetText(song), JSON: append(data, '\n'), Problems: w.Problems(account.Told(song))}
	return d, context.Cause(ctx)
}

// musical tells whether the bytes are MusicXML: XML in any encoding, or a zip.
func musical(data []byte) bool {
	head := data[:min(len(data), 512)]
	if bytes.HasPrefix(head, []byte("PK")) {
		return true
	}
	plain := bytes.ReplaceAll(head, []byte{0}, nil) // UTF-16
	plain = bytes.TrimLeft(bytes.TrimPrefix(bytes.TrimLeft(plain, "\xfe\xff"), []byte("\xef\xbb\xbf")), " \t\r\n\xff\xfe")
	return bytes.HasPrefix(plain, []byte("<"))
}

// Stem is the name that a sheet's pages are called by: the file's name without
// its extension, and the number of the tune where one of several was asked for.
func Stem(file string, tune int) string {
	stem := strings.TrimSuffix(filepath.Base(file), filepath.Ext(file))
	if tune > 0 {
		stem = fmt.Sprintf("%s-t%d", stem, tune)
	}
	return stem
}

// ReadRights returns the song with what a rights file says of it; see
// docs/formats.md. The error is a leadsheet.Problems with all that is wrong in
// the file.
func ReadRights(name string, data []byte, song leadsheet.Song) (leadsheet.Song, error) {
	song, err := rights.Read(name, data, song)
	return song, words.Must(words.Default).Err(err)
}

// Publishable says what is missing before pages made from the song may be
// published; private practice never needs it.
func Publishable(song leadsheet.Song) leadsheet.Problems {
	return words.Must(words.Default).Problems(rights.Publishable(song))
}

// RightsFiles are the names under which a sheet's rights are looked for beside
// it, the first that is there counting: that of one tune goes before that of a
// file of several.
func RightsFiles(file string, tune int) []string {
	dir := filepath.Dir(file)
	names := []string{filepath.Join(dir, Stem(file, tune)+".rights.toml")}
	if tune > 0 {
		names = append(names, filepath.Join(dir, Stem(file, 0)+".rights.toml"))
	}
	return names
}
