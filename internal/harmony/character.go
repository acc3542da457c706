package harmony

import "gradatim/leadsheet"

// Style is a playing language.
type Style uint8

// Styles.
const (
	Pop Style = iota + 1
	Swing
	Blues
	Ballad
	Bossa
	Waltz
	Folk
)

var styles = [...]string{Pop: "pop", Swing: "swing", Blues: "blues", Ballad: "ballad", Bossa: "bossa",
	Waltz: "waltz", Folk: "folk"}

// String returns the style's name in lower case; "" for none.
func (s Style) String() string {
	if int(s) >= len(styles) {
		return ""
	}
	return styles[s]
}

// MarshalText writes the name.
func (s Style) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// Character is what the sheet suggests about style, and why.
type Character struct {
	Style   Style
	Feel    leadsheet.Feel // of written eighths
	Reasons []Reason       // strongest first, for every style that has any
}

// Reason is one hint.
type Reason struct {
	Style  Style
	Weight int    // hints of one style add up
	Text   string // a sentence that a teacher could read out
}
