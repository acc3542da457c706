package reason

import "gradatim/theory"

// Reasons of a style.

// SheetCalls quotes what the sheet calls the tune.
type SheetCalls struct {
	kind
	Name string
}

// TitleSays quotes a word of the title.
type TitleSays struct {
	kind
	Word string
}

// DanceMetre, LivelyMetre and SlowMetre tell of the metre, Beats over Unit.
type (
	DanceMetre struct {
		kind
		Beats, Unit int
	}
	LivelyMetre struct {
		kind
		Beats, Unit int
	}
	SlowMetre struct {
		kind
		Beats, Unit int
	}
)

// SlowBeats tells of the metre and of how many beats a minute hold.
type SlowBeats struct {
	kind
	Beats, Unit, PerMinute int
}

// InMode names the mode of the tune.
type InMode struct {
	kind
	Mode theory.Mode
}

// Share tells how many of a song's chords are of a sort.
type Share struct {
	kind
	Of     Sort
	N, All int
}

// Sort is a sort of chords in which styles differ.
type Sort string

// Sorts.
const (
	TonicSevenths Sort = "tonic-sevenths" // dominant sevenths on I and IV
	RichChords    Sort = "rich-chords"    // sevenths and sixths beyond V7
	AppliedChords Sort = "applied-chords" // applied, substitute or passing
	SoftSevenths  Sort = "soft-sevenths"  // major and minor sevenths
	PlainChords   Sort = "plain-chords"   // triads and V7
)
