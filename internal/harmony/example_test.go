package harmony

import "fmt"

func ExampleAnalyse() {
	s, _ := parseSong("4/4", "F", `
		C4:1/8 D4:1/8 | [F] A4:3/8 G4:1/8 F4:1/4 D4:1/4 | [D7] D5:1/2 C5:1/4 A4:1/4 |
		[Gm] Bb4:1/4 A4:1/4 [C7] G4:1/4 E4:1/4 | [F] F4:3/4`)
	a := Analyse(s)
	for _, sp := range a.Spans {
		if sp.Sounding() {
			fmt.Println(sp.Explain())
		}
	}
	p := a.Phrases[0]
	fmt.Println(p.Cadence, "on", s.Melody[p.Goal].Pitch)
	r := a.Roles[len(a.Roles)-4]
	fmt.Println(s.Melody[len(a.Roles)-4].Pitch, "is", r.Degree, "of Gm:", r.Kind)
	// Output:
	// F is I in F major: home
	// D7 is V7/ii in F major, an applied dominant: it leads to G
	// Gm is ii in F major: it moves away from home
	// C7 is V7 in F major: the dominant, which wants to go home
	// F is I in F major: home
	// authentic on F4
	// A4 is 9 of Gm: passing tone
}

func ExampleHarmonise() {
	s, _ := parseSong("3/4", "G", "D4:1/4 G4:1/4 B4:1/4 | B4:1/2 A4:1/4 | F#4:1/2 A4:1/4 | G4:3/4")
	got, err := Harmonise(s)
	if err != nil {
		panic(err)
	}
	for _, c := range got.Chords {
		fmt.Println(c.Pos, c.Text)
	}
	// Output:
	// bar 1, beat 1 G
	// bar 3, beat 1 D7
	// bar 4, beat 1 G
}
