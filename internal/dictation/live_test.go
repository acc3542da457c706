package dictation_test

import (
	"context"
	"os"
	"testing"

	"gradatim"
	"gradatim/internal/dictation"
	"gradatim/internal/edition"
	"gradatim/internal/sharedtest"
	"gradatim/internal/smf"
	"gradatim/theory"
)

// live is a page as a keyboard records it: played with its breathing and swing, and
// written in milliseconds into a file that says 120 quarters a minute.
func live(t testing.TB, p edition.Page, percent int) []byte {
	t.Helper()
	data, _, err := gradatim.WriteMIDI(context.Background(), p.Score, gradatim.Take{Percent: percent})
	if err != nil {
		t.Fatal(err)
	}
	f, err := smf.Read(data, "page.mid")
	if err != nil {
		t.Fatal(err)
	}
	seconds := func(tick int64) float64 {
		now, at, micros := 0.0, int64(0), 500000.0
		for _, x := range f.Tempos {
			if x.At >= tick {
				break
			}
			now += float64(x.At-at) * micros / 1e6 / float64(f.Division)
			at, micros = x.At, float64(x.MicrosPerQuarter)
		}
		return now + float64(tick-at)*micros/1e6/float64(f.Division)
	}
	out := smf.Sequence{Division: 500}
	track := smf.Track{Name: "Piano"}
	for _, l := range f.Lines {
		for _, n := range l.Notes {
			on, off := int64(1000*(0.7+seconds(n.At))), int64(1000*(0.7+seconds(n.At+n.Length)))
			track.Notes = append(track.Notes, smf.Note{At: on, Length: max(off-on, 1), Key: n.Key, Velocity: n.Velocity})
		}
	}
	out.Tracks = []smf.Track{track}
	file, err := smf.Write(out)
	if err != nil {
		t.Fatal(err)
	}
	return file
}

// TestLivePlaying: beats are found where the file has none. What is right is how far a
// note is from the one before it, in quarters, at the beat that was found or its half or
// double.
func TestLivePlaying(t *testing.T) {
	data, err := os.ReadFile(sharedtest.Path(t, "tunes/traditional.abc"))
	if err != nil {
		t.Fatal(err)
	}
	all, right, tunes := 0, 0, 0
	for number := 1; number <= 18; number += 3 {
		song, err := gradatim.Read("traditional.abc", data, number)
		if err != nil {
			t.Fatal(err)
		}
		pages, err := edition.Make(context.Background(), song, edition.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range pages[1:3] {
			f, err := smf.Read(live(t, p, 93), "live.mid")
			if err != nil {
				t.Fatal(err)
			}
			got, told, err := dictation.Of(f, dictation.Options{})
			if err != nil {
				t.Fatal(err)
			}
			found := false
			for _, x := range told {
				found = found || x.Code == "midi-beats-found"
			}
			if !found {
				t.Errorf("tune %d, level %d: the file's beat was believed", number, p.Level.Number)
			}
			page, _ := p.Score.Played()
			var a, b []theory.Dur
			for _, n := range page.Notes {
				if n.Grace == 0 && (len(a) == 0 || a[len(a)-1] != n.At) {
					a = append(a, n.At)
				}
			}
			for _, n := range got.Notes {
				if len(b) == 0 || b[len(b)-1] != n.At {
					b = append(b, n.At)
				}
			}
			best := 0
			for _, scale := range [][2]theory.Dur{{1, 1}, {2, 1}, {1, 2}, {3, 2}, {2, 3}, {3, 1}} {
				best = max(best, aligned(a, b, scale))
			}
			all, right, tunes = all+len(a)-1, right+best, tunes+1
			t.Logf("tune %d, level %d: %d of %d, told %d quarters a minute of %d", number, p.Level.Number, best, len(a)-1, got.Tempo.QuartersPerMinute(), page.Tempo.QuartersPerMinute())
		}
	}
	t.Logf("%d pages: %.1f %% of the distances", tunes, 100*float64(right)/float64(all))
	if 10*right < 8*all {
		t.Errorf("%d of %d distances", right, all)
	}
}

// aligned counts the distances of a that b has, in the same order, scaled.
func aligned(a, b []theory.Dur, scale [2]theory.Dur) (n int) {
	var da, db []theory.Dur
	for i := 1; i < len(a); i++ {
		da = append(da, (a[i]-a[i-1])*scale[0]/scale[1])
	}
	for i := 1; i < len(b); i++ {
		db = append(db, b[i]-b[i-1])
	}
	// The longest common subsequence.
	row := make([]int, len(db)+1)
	for _, x := range da {
		before := 0
		for j, y := range db {
			keep := row[j+1]
			if x == y {
				row[j+1] = max(row[j+1], before+1)
			}
			row[j+1] = max(row[j+1], row[j])
			before = keep
		}
	}
	return row[len(db)]
}
