package reduction_test

import (
	"path/filepath"
	"slices"
	"testing"

	"gradatim/internal/edition"
	"gradatim/internal/harmony"
	"gradatim/internal/musicxml"
	"gradatim/internal/reduction"
	"gradatim/internal/roadmap"
	"gradatim/internal/scoretest"
	"gradatim/internal/sharedtest"
	"gradatim/internal/sharedtest/ladders"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// found counts what of a sheet a page gave back.
type found struct {
	notes, exact, near int // of the tune; the same key at its moment, the same class at most half a beat early
	extra              int // notes that the sheet does not have
	time, root, triad  theory.Dur
}

// TestOwnPages reads the pages of shared sheets (licences in their README) back into lead
// sheets: as they are, and as another program would write them, without what each note is
// for and without chord symbols. As they are they give the whole tune back; what is heard
// and seen in the others is measured, and may not fall below. Over all 160 sheets the chords
// heard have the printed root for .83 to .92 of the time (levels 1 to 5), the triad for .77 to
// .88, and an unmarked page shows 0, .1, .6, 1.4 and 7.9 notes too many in a hundred.
func TestOwnPages(t *testing.T) {
	var told, unmarked, bare [6]found
	paths := slices.DeleteFunc(sharedtest.Sheets(t), func(path string) bool { return !sharedtest.Takes(filepath.Base(path), 24, 8) })
	for name, pages := range ladders.Each(t, paths) {
		for _, p := range pages {
			if p.Failed {
				continue
			}
			xml, err := musicxml.Write(p.Score)
			if err != nil {
				t.Fatal(err)
			}
			s, _, err := musicxml.ReadScore(xml, musicxml.Options{})
			if err != nil {
				t.Fatal(err)
			}
			l := p.Level.Number
			sheet := roadmap.Unfold(tuneOf(p))
			back, err := reduction.Of(s, name)
			if err != nil {
				t.Fatalf("%s, level %d: %v", name, l, err)
			}
			told[l].compare(back, sheet)
			for i := range s.Notes {
				s.Notes[i].Origin = score.Origin{}
			}
			seen, _ := reduction.Of(s, name)
			unmarked[l].compare(seen, back)
			s.Chords = nil
			heard, _ := reduction.Of(s, name)
			bare[l].compare(heard, back)
		}
	}
	for l := 1; l <= 5; l++ {
		a, b, c := told[l], unmarked[l], bare[l]
		t.Logf("level %d, as it is: %d of %d notes (%d in the sheet's octave and time), %d more; the sheet's chords %.3f of the time", l, a.near, a.notes, a.exact, a.extra, share(a.triad, a.time))
		t.Logf("level %d, unmarked: %.3f of the tune, %.3f more; without symbols: roots %.3f, triads %.3f of the time", l, float64(b.near)/float64(b.notes), float64(b.extra)/float64(b.notes), share(c.root, c.time), share(c.triad, c.time))
		if a.notes == 0 || a.near < a.notes || 500*a.extra > a.notes || share(a.triad, a.time) < .94 {
			t.Errorf("level %d: a page of ours does not give its sheet back", l)
		}
		if b.near*100 < 99*b.notes || b.extra*100 > 10*b.notes || share(b.triad, b.time) < 1 {
			t.Errorf("level %d: the tune is not seen on a page without marks", l)
		}
		if share(c.root, c.time) < .8 || share(c.triad, c.time) < .72 {
			t.Errorf("level %d: its chords are not heard", l)
		}
	}
}

func share(a, b theory.Dur) float64 { return float64(a) / float64(max(b, 1)) }

// tuneOf is the song of a page without what stands around it.
func tuneOf(p edition.Page) leadsheet.Song {
	_, song, _ := p.Tune()
	return song
}

// compare counts what of a sheet was found.
func (f *found) compare(got, want leadsheet.Song) {
	f.notes += len(want.Melody)
	k := 0
	for _, n := range want.Melody {
		early := n.At - got.Bars[got.BarAt(n.At)].Meter.BeatDur()/2
		for k < len(got.Melody) && got.Melody[k].At < early {
			k++
			f.extra++
		}
		for j := k; j < len(got.Melody) && got.Melody[j].At <= n.At+theory.Sixteenth; j++ {
			if got.Melody[j].Pitch.Class() == n.Pitch.Class() {
				if f.near++; got.Melody[j].Pitch == n.Pitch && got.Melody[j].At == n.At {
					f.exact++
				}
				f.extra += j - k
				k = j + 1
				break
			}
		}
	}
	f.extra += len(got.Melody) - k
	step := theory.Eighth
	for at := theory.Dur(0); at < want.End(); at += step {
		a, b := chordAt(got, at), chordAt(want, at)
		if b.Silent() {
			continue
		}
		f.time += step
		if a.Silent() || a.Root.Class() != b.Root.Class() {
			continue
		}
		f.root += step
		third, _ := a.Third()
		other, _ := b.Third()
		fifth, _ := a.Fifth()
		perfect, _ := b.Fifth()
		if third == other && fifth == perfect {
			f.triad += step
		}
	}
}

func chordAt(s leadsheet.Song, at theory.Dur) (c theory.Chord) {
	for _, m := range s.Chords {
		if m.At > at {
			break
		}
		c = m.Chord
	}
	return c
}

// TestPrintedPages reads printed pieces by others (shared human_pages: notes typeset from
// prints, keys as their typesetters state them). The chords that are heard and the line
// that is seen have to lie in the stated key, which the reading never sees.
func TestPrintedPages(t *testing.T) {
	pages, err := scoretest.PrintedPages(sharedtest.Path(t, "data/human_pages"))
	if err != nil {
		t.Fatal(err)
	}
	right := 0
	for _, p := range pages {
		s := p.Score
		s.Bars = slices.Clone(s.Bars)
		for i := range s.Bars {
			s.Bars[i].Key = theory.Key{}
		}
		song, err := reduction.Of(s, p.ID)
		if err != nil {
			t.Fatalf("%s: %v", p.ID, err)
		}
		for i, n := range song.Melody {
			if n.Dur <= 0 || i > 0 && n.At < song.Melody[i-1].End() {
				t.Fatalf("%s: the tune is not one line at note %d", p.ID, i)
			}
		}
		if len(song.Melody) < 24 || len(song.Chords) < 4 {
			t.Errorf("%s: %d notes and %d chords", p.ID, len(song.Melody), len(song.Chords))
		}
		if harmony.Analyse(song).Estimate.String() == p.Key {
			right++
		} else {
			t.Logf("%s: in %s, heard %s", p.ID, p.Key, harmony.Analyse(song).Estimate)
		}
	}
	t.Logf("%d of %d pieces in the key that is stated", right, len(pages))
	if 10*right < 8*len(pages) {
		t.Errorf("only %d of %d pieces are in the key that is stated", right, len(pages))
	}
}
