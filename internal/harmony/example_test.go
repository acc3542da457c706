package harmony

import "fmt"

func ExampleAnalyse() {
	s, _ := parseSong("4/4", "F", `
		C4:1/8 D4:1/8 | [F] A4:3/8 G4:1/8 F4:1/4 D4:1/4 | [D7] D5:1/2 C5:1/4 A4:1/4 |
		[Gm] Bb4:1/4 A4:1/4 [C7] G4:1/4 E4:1/4 | [F] F4:3/4`)
	a := Analyse(s)
	for _, sp := range a.Spans {
		if sp.Sounding() {
			fmt.Println(sp.Chord, sp.Roman, sp.Function)
		}
	}
	p := a.Phrases[0]
	fmt.Println(p.Cadence, "on", s.Melody[p.Goal].Pitch)
	r := a.Roles[len(a.Roles)-4]
	fmt.Println(s.Melody[len(a.Roles)-4].Pitch, "is", r.Degree, "of Gm:", r.Kind)
	// Output:
	// F I tonic
	// D7 V7/ii applied dominant
	// Gm ii subdominant
	// C7 V7 dominant
	// F I tonic
	// authentic on F4
	// A4 is 9 of Gm: passing tone
}
