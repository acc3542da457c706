package teach

type Term struct {
	Term       string `json:"term"`
	Definition string `json:"definition"`
}

func glossaryFor(l Lesson) []Term { return nil }
