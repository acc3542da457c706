package leadsheet

import (
	"regexp"
	"strings"
)

// Status says what may be done with a tune. The default is Unknown, which never
// stops private practice and always stops publishing.
type Status uint8

// Rights statuses.
const (
	Unknown Status = iota
	PublicDomain
	Own
	Licensed
)

// String returns "unknown", "public domain", "own" or "licensed".
func (s Status) String() string {
	return [...]string{"unknown", "public domain", "own", "licensed"}[s]
}

// Person is somebody who made part of the work.
type Person struct {
	Name string
	Died int // year; 0 unknown or living
}

// Rights is what the sheet, or the file beside it, says about who owns what.
type Rights struct {
	Composers []Person
	Lyricists []Person
	Arranger  string
	Year      int // of first publication; 0 unknown
	Country   string
	Source    string // what the sheet was taken from
	Status    Status
	Licence   string // text or name of the licence
	Reference string // of a permission
	Text      string // rights line as written on the sheet

	OtherTitles   []string // that the tune goes by
	ReferenceDate string   // of the permission: "2024-05-31"
	Territories   []string // where the licence holds; none: no limit is known
	LyricsCleared bool     // false: lyrics are left out
	Note          string   // for whoever looks after the rights
	Filed         string   // the file beside the sheet that told of them; empty: the sheet alone
}

// address is where someone can be written to, as sheets of the net have it beside a
// name. It stays with the song; a page handed to pupils does not spread it.
var address = regexp.MustCompile(`<[^<>\s]+@[^<>\s]+>|\([^()\s]+@[^()\s]+\)`)

var reBlanks = regexp.MustCompile(`[ \t]+`)

// Notice is what stands on the sheet, as a page may print it.
func (r Rights) Notice() string {
	return strings.TrimSpace(reBlanks.ReplaceAllString(address.ReplaceAllString(r.Text, ""), " "))
}

// Named tells whether a text only names a maker again, as sheets do.
func (r Rights) Named(text string) bool {
	for _, p := range r.Composers {
		if strings.EqualFold(strings.TrimSpace(text), p.Name) {
			return true
		}
	}
	return false
}
