package edition_test

import (
	"context"
	"strings"
	"testing"

	"gradatim"
	"gradatim/internal/edition"
	"gradatim/internal/musicxml"
	"gradatim/leadsheet"
	"gradatim/score"
)

// sungTune is a tune of our own with words: two verses, the first strain repeated, a
// syllable held, and verses below.
const sungTune = "X:1\nT:Sung\nR:folk song\nM:4/4\nL:1/4\nK:G\n" +
	"|:\"G\"GBdB|\"C\"e2\"G\"d2|\"Am\"cA\"D7\"AF|\"G\"G4:|\nw:Up the ri-ver went_ the bell and back\nw:Down the hill the lan-tern came and went a-way\n" +
	"\"Em\"EGBG|\"D\"A2F2|\"C\"EG\"D7\"FA|\"G\"G4|]\nw:no-bo-dy knew why it rang or_ when\nW:3. A verse below\n"

// singing writes what a page sings, by verse.
func singing(s score.Score, verse int) string {
	var out []string
	for _, y := range s.Lyrics {
		if y.Verse == verse {
			out = append(out, y.Syllable.String())
		}
	}
	return strings.Join(out, " ")
}

// TestWordsUnderTheTune: levels 1 to 3 print them, in every key, as many verses as the
// page repeats; others where they are asked for. Words that are not cleared are printed
// only on a page that is marked for private practice, and never where its rights are
// stated.
func TestWordsUnderTheTune(t *testing.T) {
	song, err := gradatim.Read("sung.abc", []byte(sungTune), 0)
	if err != nil {
		t.Fatal(err)
	}
	const first = "Up the ri- ver went _ the bell and back no- bo- dy knew why it rang or _ when"
	const second = "Down the hill the lan- tern came and went a- way"
	cleared, stated := song, song
	cleared.Rights.Status, cleared.Rights.LyricsCleared = leadsheet.PublicDomain, true
	stated.Rights.Status = leadsheet.PublicDomain
	for _, tt := range []struct {
		name    string
		song    leadsheet.Song
		opt     edition.Options
		printed [6]bool
		private bool
		told    bool
	}{
		{name: "cleared", song: cleared, printed: [6]bool{1: true, 2: true, 3: true}},
		{name: "rights unknown", song: song, printed: [6]bool{1: true, 2: true, 3: true}, private: true},
		{name: "stated, not cleared", song: stated, told: true},
		{name: "everywhere", song: cleared, opt: edition.Options{Lyrics: edition.LyricsEverywhere}, printed: [6]bool{1: true, 2: true, 3: true, 4: true, 5: true}},
		{name: "nowhere", song: cleared, opt: edition.Options{Lyrics: edition.LyricsNowhere}},
		{name: "moved", song: cleared, opt: edition.Options{Easy: true}, printed: [6]bool{1: true, 2: true, 3: true}},
	} {
		e, err := edition.New(context.Background(), tt.song, tt.opt)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range e.Pages {
			l := p.Level.Number
			if p.Failed {
				t.Fatalf("%s: level %d failed", tt.name, l)
			}
			if got := len(p.Score.Lyrics) > 0; got != tt.printed[l] {
				t.Errorf("%s, level %d: words printed: %v", tt.name, l, got)
			}
			if !tt.printed[l] {
				continue
			}
			want, more := first, second
			if !p.Score.Repeats() { // written out: each time its verse
				want, more = strings.Replace(first, "no-", second+" no-", 1), ""
			}
			if got := singing(p.Score, 1); got != want {
				t.Errorf("%s, level %d: %s", tt.name, l, got)
			}
			if got := singing(p.Score, 2); got != more {
				t.Errorf("%s, level %d, second verse: %s", tt.name, l, got)
			}
			if got := strings.Contains(p.Score.Rights, "private practice"); got != tt.private {
				t.Errorf("%s, level %d: marked for private practice: %v", tt.name, l, got)
			}
			xml, err := musicxml.Write(p.Score)
			if err != nil {
				t.Fatal(err)
			}
			back, _, err := musicxml.ReadScore(xml, musicxml.Options{})
			if err != nil || singing(back, 1) != want {
				t.Errorf("%s, level %d: read again as %s (%v)", tt.name, l, singing(back, 1), err)
			}
		}
		told := 0
		for _, p := range e.Pages {
			for _, m := range p.Problems {
				if m.Code == "words-left-out" {
					told++
				}
			}
		}
		if tt.told != (told > 0) {
			t.Errorf("%s: told of words left out %d times", tt.name, told)
		}
		lead := e.LeadSheet()
		if (lead.Verses() == 2 && len(lead.Words) == 1) == tt.told {
			t.Errorf("%s: %d verses and %d lines below on the lead sheet", tt.name, lead.Verses(), len(lead.Words))
		}
	}
}
