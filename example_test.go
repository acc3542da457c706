package gradatim_test

import (
	"context"
	"fmt"
	"log"

	"gradatim"
	"gradatim/theory"
)

// minuet is an ABC tune of eight bars.
const minuet = `X:1
T:A Small Minuet
C:the tests
M:3/4
L:1/4
Q:1/4=112
K:G
"G"D G A|"C"B c A|"G"B G2|"D7"A F D|
"Em"E G B|"Am"c B A|"D7"F A d|"G"G3|]
`

func minuetJob(levels ...int) gradatim.Job {
	return gradatim.Job{Sheet: gradatim.File{Name: "minuet.abc", Data: []byte(minuet)}, Levels: levels}
}

// A job is plain data: what is not said is left at its zero value.
func ExampleJob() {
	hand, err := gradatim.ParseHand("octave")
	if err != nil {
		log.Fatal(err)
	}
	job := gradatim.Job{
		Sheet:  gradatim.File{Name: "scale.abc", Data: []byte("X:1\nK:C\nCDEF|GABc|\n")},
		Levels: []int{2, 1},
		Keys:   []gradatim.Key{"F", gradatim.EasyKey},
		Hand:   hand,
		Paper:  gradatim.Letter,
	}
	fmt.Printf("%s", job.Text())
	again, err := gradatim.ParseJob(job.Text())
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(again.Hash() == job.Hash())
	// Output:
	// gradatim job 1
	// levels 1 2
	// keys F easy
	// hand right 168.5mm, left 168.5mm
	// paper letter
	// sheet "scale.abc" 19
	// X:1
	// K:C
	// CDEF|GABc|
	//
	// true
}

// What is wrong with a job is told all at once.
func ExampleJob_Check() {
	job := minuetJob()
	job.Tempo, job.Keys = 4000, []gradatim.Key{"H"}
	fmt.Println(job.Check())
	// Output:
	// error: tempo: 4000 will not do [job-option]; say 1 to 400 beats a minute
	// error: key: "H" will not do [job-option]; say F, Bb, C# …, easy or own
}

// A session tells what was understood of the sheet before anything is arranged.
func ExampleSession() {
	s, err := gradatim.Open(context.Background(), minuetJob())
	if err != nil {
		log.Fatal(err)
	}
	defer s.Close()
	song := s.Song()
	fmt.Println(song.Title, "in", song.Key, song.Meter)
	for _, c := range song.Chords[:4] {
		fmt.Println(song.PosAt(c.At), c.Chord)
	}
	// Output:
	// A Small Minuet in G major 3/4
	// minuet.abc: bar 1, beat 1 G
	// minuet.abc: bar 2, beat 1 C
	// minuet.abc: bar 3, beat 1 G
	// minuet.abc: bar 4, beat 1 D7
}

// The ladder has a page for each level, the easiest first.
func ExampleSession_Ladder() {
	ctx := context.Background()
	s, err := gradatim.Open(ctx, minuetJob(1, 3))
	if err != nil {
		log.Fatal(err)
	}
	defer s.Close()
	pages, err := s.Ladder(ctx)
	if err != nil {
		log.Fatal(err)
	}
	for _, p := range pages {
		unexplained := 0
		for _, n := range p.Score.Notes {
			if n.Origin.Kind == 0 {
				unexplained++
			}
		}
		fmt.Println(p.Level.Number, p.Level.Name, "in", p.Key, len(p.Score.Bars), "bars,", unexplained, "notes without a reason")
	}
	// Output:
	// 1 elementary in G major 8 bars, 0 notes without a reason
	// 3 early intermediate in G major 8 bars, 0 notes without a reason
}

// The lesson is data: here, what each level is about.
func ExampleSession_Lesson() {
	ctx := context.Background()
	s, err := gradatim.Open(ctx, minuetJob(1, 2))
	if err != nil {
		log.Fatal(err)
	}
	defer s.Close()
	lesson, err := s.Lesson(ctx)
	if err != nil {
		log.Fatal(err)
	}
	for _, l := range lesson.Levels {
		fmt.Println(l.Number, l.Title, len(l.New) > 0, len(l.Drills) > 0)
	}
	// Output:
	// 1 Root and fifth true true
	// 2 Root, fifth, octave true true
}

// A teacher's choice holds in the session that Change returns; the one before stays
// as it was, and the new job remembers.
func ExampleSession_Change() {
	ctx := context.Background()
	before, err := gradatim.Open(ctx, minuetJob(2))
	if err != nil {
		log.Fatal(err)
	}
	defer before.Close()
	after, err := before.Change(ctx, gradatim.Choice{Level: 2, Bar: 2, Chord: "Am7"})
	if err != nil {
		log.Fatal(err)
	}
	for _, s := range []*gradatim.Session{before, after} {
		pages, err := s.Ladder(ctx)
		if err != nil {
			log.Fatal(err)
		}
		c, _ := pages[0].Score.ChordAt(3 * theory.Quarter)
		fmt.Println(c.Chord.Root, len(s.Job().Choices.Data) > 0)
	}
	// Output:
	// C false
	// A true
}

// The second-best way to decide has an exact price, and the choices that take it.
func ExampleSession_RunnersUp() {
	ctx := context.Background()
	s, err := gradatim.Open(ctx, minuetJob(2))
	if err != nil {
		log.Fatal(err)
	}
	defer s.Close()
	decisions, err := s.RunnersUp(ctx, 2, 3)
	if err != nil {
		log.Fatal(err)
	}
	d := decisions[len(decisions)-1]
	first, second := d.Runners[0], d.Runners[1]
	fmt.Println(d.Bar, d.Hand, first.Extra, second.Extra >= 0)

	s, err = s.Change(ctx, second.Choices...)
	if err != nil {
		log.Fatal(err)
	}
	if decisions, err = s.RunnersUp(ctx, 2, 3); err != nil {
		log.Fatal(err)
	}
	d = decisions[len(decisions)-1]
	fmt.Println(d.Fixed, d.Runners[0].Text == second.Text)
	// Output:
	// 3 left 0 true
	// true true
}

// Bars that a pupil has learnt stay as they are, whatever else is changed.
func ExampleSession_Lock() {
	ctx := context.Background()
	s, err := gradatim.Open(ctx, minuetJob(1))
	if err != nil {
		log.Fatal(err)
	}
	defer s.Close()
	if s, err = s.Lock(ctx, 1, 1, 2); err != nil {
		log.Fatal(err)
	}
	if s, err = s.Free(ctx, 1, 2); err != nil {
		log.Fatal(err)
	}
	for _, bar := range []int{1, 2} {
		open, err := s.Undecided(ctx, 1, bar)
		if err != nil {
			log.Fatal(err)
		}
		fmt.Println(bar, len(open) > 0)
	}
	// Output:
	// 1 false
	// 2 true
}

// A choice prints as it stands in a file of choices.
func ExampleChoice() {
	fmt.Print(gradatim.Choice{Level: 4, Bar: 7, Beat: "3", Chord: "C13(b9)"})
	// Output:
	// [[choice]]
	// level = 4
	// bar = 7
	// beat = "3"
	// chord = "C13(b9)"
}
