package words

// Technique is what a technique is called and how it is taught.
type Technique struct {
	Name     string   // the field's term, as it stands inside a sentence
	What     string   // one sentence: what it is
	How      string   // how it is played, in a sentence or two
	Practise []string // steps
	Listen   string   // what to listen for
	Mistakes []string
	Caution  string // where it can strain a hand, in general words; may be empty
}

// Title is the name as it stands by itself.
func (t Technique) Title() string { return Upper(t.Name) }

// Technique returns what is said of a technique, by its id.
func (w *Words) Technique(id string) Technique {
	key := "technique." + id + "."
	t := Technique{Name: w.Say(key + "name"), What: w.Say(key + "what"), How: w.Say(key + "how"), Practise: w.Lines(key + "practise"),
		Listen: w.Say(key + "listen"), Mistakes: w.Lines(key + "mistakes")}
	if w.Has(key + "caution") {
		t.Caution = w.Say(key + "caution")
	}
	return t
}
