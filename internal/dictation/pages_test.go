package dictation_test

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"testing"

	"gradatim"
	"gradatim/internal/dictation"
	"gradatim/internal/sharedtest"
	"gradatim/internal/sharedtest/ladders"
	"gradatim/internal/smf"
	"gradatim/score"
	"gradatim/theory"
)

// back counts what came back of a page.
type back struct{ notes, onsets, plain, values int }

func (b back) String() string {
	p := func(n, of int) float64 { return 100 * float64(n) / float64(max(of, 1)) }
	return fmt.Sprintf("%d notes: key and onset %.2f %%, value of those that are plain %.2f %%", b.notes, p(b.onsets, b.notes), p(b.values, b.plain))
}

func (b *back) add(o back) {
	b.notes += o.notes
	b.onsets += o.onsets
	b.plain += o.plain
	b.values += o.values
}

// Signs that shorten, lengthen, spread or adorn a note when it is played.
const touched = score.Rolled | score.Staccato | score.Tenuto | score.Accent | score.Fermata | score.Ghost

// came holds what was written down against the page. Grace notes and notes with an
// ornament are left aside; a key that both hands strike is one. The tune breathes before a
// phrase, and what its hand holds with it: the values of these are not plain either.
func came(page, got score.Score) (b back) {
	type place struct {
		at  theory.Dur
		key int
	}
	at := map[place]theory.Dur{}
	for _, n := range got.Notes {
		k := place{n.At, n.Pitch.MIDI()}
		at[k] = max(at[k], n.Dur)
	}
	longest := map[place]theory.Dur{}
	adorned := map[place]bool{}
	for _, n := range page.Notes {
		k := place{n.At, n.Pitch.MIDI()}
		longest[k] = max(longest[k], n.Dur)
		if n.Ornament != 0 || n.Grace > 0 || n.Marks&touched != 0 {
			adorned[k] = true
		}
	}
	for _, bar := range page.Bars {
		begins := bar.At + bar.PhraseAt
		for _, n := range page.Notes {
			if bar.PhraseStart && n.Hand == score.Right && n.At < begins && n.End() >= begins {
				adorned[place{n.At, n.Pitch.MIDI()}] = true
			}
		}
	}
	for _, n := range page.Notes {
		k := place{n.At, n.Pitch.MIDI()}
		if n.Grace > 0 || n.Ornament != 0 || longest[k] != n.Dur {
			continue
		}
		longest[k] = -1
		b.notes++
		d, ok := at[k]
		if !ok {
			continue
		}
		b.onsets++
		if !adorned[k] {
			if b.plain++; d == n.Dur {
				b.values++
			}
		}
	}
	return b
}

// TestOwnPages plays pages of shared sheets (licences in their README) and writes them
// down again: evenly, and as they are performed. What does not come back are notes beside
// a grace note or a mordent, and fast triplets whose ornament is played as another.
func TestOwnPages(t *testing.T) {
	paths := slices.DeleteFunc(sharedtest.Sheets(t), func(path string) bool { return !sharedtest.Takes(filepath.Base(path), 30, 10) })
	var even, performed [6]back
	for name, pages := range ladders.Each(t, paths) {
		for _, p := range pages {
			if p.Failed {
				continue
			}
			whole, _ := p.Score.Played()
			for i, take := range []gradatim.Take{{Even: true}, {}} {
				data, _, err := gradatim.WriteMIDI(context.Background(), p.Score, take)
				if err != nil {
					t.Fatal(err)
				}
				f, err := smf.Read(data, name)
				if err != nil {
					t.Fatal(err)
				}
				got, _, err := dictation.Of(f, dictation.Options{})
				if err != nil {
					t.Fatal(err)
				}
				b := came(whole, got)
				if i == 0 {
					if b.onsets < b.notes || 100*b.values < 97*b.plain {
						t.Logf("%s, level %d: %s", name, p.Level.Number, b)
					}
					even[p.Level.Number].add(b)
				} else {
					if 100*b.onsets < 96*b.notes {
						t.Logf("%s, level %d, as performed: %s", name, p.Level.Number, b)
					}
					performed[p.Level.Number].add(b)
				}
			}
		}
	}
	var evenAll, performedAll back
	for l := 1; l <= 5; l++ {
		t.Logf("level %d, even: %s", l, even[l])
		t.Logf("level %d, performed: %s", l, performed[l])
		evenAll.add(even[l])
		performedAll.add(performed[l])
	}
	if 1000*evenAll.onsets < 999*evenAll.notes || 100*evenAll.values < 99*evenAll.plain {
		t.Errorf("even: %s", evenAll)
	}
	if 100*performedAll.onsets < 98*performedAll.notes {
		t.Errorf("performed: %s", performedAll)
	}
}
