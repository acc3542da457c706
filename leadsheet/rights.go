package leadsheet

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
}
