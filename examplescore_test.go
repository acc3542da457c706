package gradatim_test

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"log"

	"gradatim"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// stretch is a page of one bar in which the left hand strikes notes that are too far
// apart, as ReadScore gives one.
func stretch() score.Score {
	note := func(hand score.Hand, pitch string) score.Note {
		p, err := theory.ParsePitch(pitch)
		if err != nil {
			log.Fatal(err)
		}
		return score.Note{Hand: hand, Pitch: p, Dur: theory.Whole, Voice: 1}
	}
	common := leadsheet.Meter{Beats: 4, Unit: 4}
	return score.Score{
		Bars:  []score.Bar{{Number: 1, Dur: theory.Whole, Meter: common, Key: theory.KeyOf(0, theory.Major)}},
		Notes: []score.Note{note(score.Right, "C5"), note(score.Left, "C3"), note(score.Left, "G4")},
	}.Finish()
}

// The audit judges anybody's score, and says a way out.
func ExampleAudit() {
	found, err := gradatim.Audit(context.Background(), stretch(), gradatim.AuditOptions{})
	if err != nil {
		log.Fatal(err)
	}
	for _, v := range found {
		fmt.Println(v.Pos, v.Code, v.Notes)
	}
	// Output:
	// bar 1, beat 1 reach [b1-l0 b1-l0-2]
}

// A rating has a number and says what makes it so.
func ExampleRate() {
	r, err := gradatim.Rate(context.Background(), stretch(), gradatim.RateOptions{Language: "de"})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(len(r.Measures) > 0, r.Assumed)
	for _, d := range r.Demands {
		fmt.Println(d.Name, d.Hand, d.Times, d.Bars)
	}
	// Output:
	// true true
	// weite Griffe left 1 [1]
}

// What ReadScore reads, WriteScore writes.
func ExampleWriteScore() {
	ctx := context.Background()
	xml, told, err := gradatim.WriteScore(ctx, stretch())
	if err != nil {
		log.Fatal(err)
	}
	again, _, err := gradatim.ReadScore("again.musicxml", xml)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(len(told), len(again.Notes), again.Notes[0].Pitch)
	// Output:
	// 0 3 C5
}

// A score sounds as it is written, and its left hand can be heard alone.
func ExampleWriteMIDI() {
	data, _, err := gradatim.WriteMIDI(context.Background(), stretch(), gradatim.Take{Hands: gradatim.LeftAlone})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%.4s\n", data)
	// Output:
	// MThd
}

// A few bars of a score are printed as one system.
func ExampleStudio_Engrave() {
	var st gradatim.Studio
	defer st.Close()
	e, err := st.Engrave(context.Background(), stretch(), gradatim.Layout{From: 1, To: 1, OneSystem: true})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(e.Pages(), bytes.Contains(e.SVG(0), []byte("<svg")))
}

// A score is recorded without its tune, to play it oneself.
func ExampleStudio_Record() {
	var st gradatim.Studio
	defer st.Close()
	_, err := st.Record(context.Background(), io.Discard, stretch(), gradatim.Take{Hands: gradatim.WithoutTune, CountIn: 1}, gradatim.FLAC, nil)
	if err != nil {
		log.Fatal(err)
	}
}

// Describe shows what was understood of a lead sheet.
func ExampleDescribe() {
	song, err := gradatim.Read("minuet.abc", []byte(minuet), 0)
	if err != nil {
		log.Fatal(err)
	}
	d, err := gradatim.Describe(context.Background(), song, "")
	if err != nil {
		log.Fatal(err)
	}
	line, _, _ := bytes.Cut([]byte(d.Text), []byte("\n"))
	fmt.Printf("%s\n", line)
	// Output:
	// title    A Small Minuet
}

// Bars that somebody has learnt are kept as text, whatever a later version writes.
func ExampleLockText() {
	ctx := context.Background()
	s, err := gradatim.Open(ctx, minuetJob(1))
	if err != nil {
		log.Fatal(err)
	}
	defer s.Close()
	pages, err := s.Ladder(ctx)
	if err != nil {
		log.Fatal(err)
	}
	text, err := gradatim.LockText(ctx, pages[0].Score, s.Song(), 2)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(bytes.Contains(text, []byte("bar 2\n")), bytes.Contains(text, []byte("bar 3\n")))
	// Output:
	// true false
}
