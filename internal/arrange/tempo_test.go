package arrange

import (
	"fmt"
	"testing"

	"gradatim/internal/abc"
	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// TestTempoOfRuns: where the tune runs, the printed tempo is one at which the level's
// readers can play it; a tune that does not run, and a tempo that the teacher names, stay
// as they are.
func TestTempoOfRuns(t *testing.T) {
	level := ladder.Levels()[0]
	quick := level.RunsPerSecond
	if quick == 0 {
		t.Fatal("the first level has no limit")
	}
	for _, tt := range []struct {
		name, body string
		tempo      leadsheet.Tempo // the teacher's
		lowered    bool
	}{
		{"reel", `"G"GABc dedB|dedB dedB|"D7"c2ec B2dB|"G"A2G2 G4|`, leadsheet.Tempo{}, true},
		{"song", `"G"G4 B4|"C"c4 e4|"D7"d4 c4|"G"B8|`, leadsheet.Tempo{}, false},
		{"her own tempo", `"G"GABc dedB|dedB dedB|"D7"c2ec B2dB|"G"A2G2 G4|`, leadsheet.Tempo{Beat: theory.Half, PerMinute: 100}, false},
	} {
		song, err := abc.Read([]byte("X:1\nT:A tune\nR:reel\nM:4/4\nL:1/8\nQ:1/2=100\nK:G\n"+tt.body+"\n"), abc.Options{})
		if err != nil {
			t.Fatal(err)
		}
		an := harmony.Analyse(song)
		a, err := Arrange(t.Context(), song, an, Options{Level: level, Tempo: tt.tempo})
		if err != nil {
			t.Fatal(err)
		}
		got := a.Score.Tempo
		perSecond := func(note theory.Dur) string {
			return fmt.Sprintf("%.1f", float64(got.PerMinute)*float64(got.Beat)/float64(note)/60)
		}
		runs := float64(got.PerMinute) * float64(got.Beat) / float64(theory.Eighth) / 60
		if tt.lowered && (runs*10 > float64(quick) || runs*10 < float64(quick)*0.9 || got.Beat != theory.Half) {
			t.Errorf("%s: %s eighths a second, %v", tt.name, perSecond(theory.Eighth), got)
		}
		if !tt.lowered && got.Beat != theory.Half {
			t.Errorf("%s: %v", tt.name, got)
		}
		if tt.tempo.Set() && got.PerMinute != tt.tempo.PerMinute {
			t.Errorf("%s: %v", tt.name, got)
		}
	}
}

// TestWord: a reel that a beginner plays at a half note to the second is no Adagio, a jig at 60
// no Vivace; common practice, no source.
func TestWord(t *testing.T) {
	for _, tt := range []struct {
		beat      theory.Dur
		perMinute int
		word      string
		want      string
	}{
		{theory.Half, 60, "Allegro", "Moderato"},
		{theory.Half, 88, "Allegro", "Allegro"},
		{theory.Half, 52, "Andante", "Andante"},
		{3 * theory.Eighth, 60, "Vivace", "Moderato"},
		{3 * theory.Eighth, 80, "Vivace", "Allegro"},
		{3 * theory.Eighth, 112, "Vivace", "Vivace"},
		{theory.Quarter, 120, "Allegretto", "Allegro"},
		{theory.Quarter, 100, "Allegro", "Moderato"},
		{theory.Quarter, 60, "Andante cantabile", "Andante cantabile"},
		{theory.Half, 60, "Tempo di marcia", "Tempo di marcia"},
		{theory.Quarter, 63, "Lively", "Adagio"},
		{theory.Quarter, 126, "Lively", "Lively"},
		{theory.Quarter, 100, "Slowly.", "Moderato"},
	} {
		if got := word(leadsheet.Tempo{Beat: tt.beat, PerMinute: tt.perMinute, Words: tt.word}); got != tt.want {
			t.Errorf("%v = %d, %s: %s, want %s", tt.beat, tt.perMinute, tt.word, got, tt.want)
		}
	}
}

// TestAsSaid: a sheet that says how fast it goes and gives no figure is not played at a speed
// that belies it; common practice, no source.
func TestAsSaid(t *testing.T) {
	for _, tt := range []struct {
		words string
		usual int
		want  int
	}{
		{"Lively", 84, 120}, {"Lively", 132, 132}, {"Slow", 96, 65}, {"Andante", 96, 87}, {"Tempo di valse", 96, 96}, {"", 96, 96},
	} {
		got := asSaid(leadsheet.Tempo{Beat: theory.Quarter, PerMinute: tt.usual, Words: tt.words})
		if got.PerMinute != tt.want {
			t.Errorf("%s, usually %d: %d, want %d", tt.words, tt.usual, got.PerMinute, tt.want)
		}
	}
}
