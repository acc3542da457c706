package reason

// Reasons for a kind of tune.

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
