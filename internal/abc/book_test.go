package abc

import (
	"reflect"
	"testing"

	"gradatim/leadsheet"
)

// TestExtracts: each tune cut out of a book reads as it does in the book.
func TestExtracts(t *testing.T) {
	book := "%abc-2.1\r\nM:3/4\r\nL:1/8\r\nC:Ada Example\r\n\r\nX:1\r\nT:One\r\nK:G\r\nGABc d2|\r\n\r\nX:7\r\nT:Two\r\nM:4/4\r\nK:D\r\n\"D\"d4 f4|\r\n\r\nnot music\r\n\r\nX:3\r\nT:Three\r\nK:C\r\nc6|"
	found, err := Extracts("book.abc", []byte(book))
	if err != nil || len(found) != 3 {
		t.Fatalf("%d sheets, %v", len(found), err)
	}
	for i, x := range found {
		number, title := []int{1, 7, 3}[i], []string{"One", "Two", "Three"}[i]
		if x.Number != number || x.Title != title {
			t.Errorf("sheet %d is %d %q", i, x.Number, x.Title)
		}
		inBook, err := Read([]byte(book), Options{Tune: number})
		if err != nil {
			t.Fatal(err)
		}
		alone, err := Read(x.Data, Options{})
		if err != nil {
			t.Fatalf("%s: %v", x.Data, err)
		}
		if alone.Meter != inBook.Meter || alone.Key != inBook.Key || !reflect.DeepEqual(notes(alone), notes(inBook)) || !reflect.DeepEqual(alone.Rights.Composers, inBook.Rights.Composers) {
			t.Errorf("%s reads otherwise alone:\n%s", title, x.Data)
		}
	}
	single := []byte("X:5\r\nK:C\r\nCDEF|\r\n")
	if found, err := Extracts("one.abc", single); err != nil || len(found) != 1 || string(found[0].Data) != string(single) {
		t.Errorf("a file of one tune is not its own sheet: %v, %v", found, err)
	}
}

// notes are the melody without the places in the file.
func notes(s leadsheet.Song) []leadsheet.Note {
	var out []leadsheet.Note
	for _, n := range s.Melody {
		n.Pos = leadsheet.Pos{}
		out = append(out, n)
	}
	return out
}
