package words

// Technique is what a technique is called and how it is taught.
type Technique struct {
	Name     string   // the field's term, as it stands inside a sentence
	What     string   // one sentence: what it is
	How      string   // how it is played, in a sentence or two
	Practise []string // steps
	Listen   string   // what to listen for
	Mistakes []string
	Cautions []string // where it can strain a hand, in general words
	Travel   string   // a caution of the same sort: the hand travels and does not stretch
}

// Title is the name as it stands by itself.
func (t Technique) Title() string { return Upper(t.Name) }

// Technique returns what is said of a technique, by its id.
func (w *Words) Technique(id string) Technique {
	key := "technique." + id + "."
	t := Technique{Name: w.Say(key + "name"), What: w.Say(key + "what"), How: w.Say(key + "how"), Practise: w.Lines(key + "practise"),
		Listen: w.Say(key + "listen"), Mistakes: w.Lines(key + "mistakes"), Cautions: w.Lines(key + "caution")}
	if w.Has(key + "travel") {
		t.Travel = w.Say(key + "travel")
	}
	return t
}

// Level names a level to a reader: "Level 2, late elementary".
func (w *Words) Level(number int, name string) string {
	return w.Form("level.label", "", "n", number, "name", w.LevelName(name))
}

// LevelName is what a level is called. A teacher's own keeps its name.
func (w *Words) LevelName(name string) string { return w.Word("level", name, "name", name) }

// Manner says in the manner of which kind of tune a page is; a kind that the language
// does not know has its own name.
func (w *Words) Manner(id, name string) string {
	if w.Has("kind." + id) {
		return w.Say("kind." + id)
	}
	return w.Say("kind.unnamed", "Name", name)
}

// Tempo are the words above the first bar; what the language has no word for stays.
func (w *Words) Tempo(text string) string { return w.Word("tempo", text, "", text) }
