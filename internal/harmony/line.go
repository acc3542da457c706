package harmony

// markLines finds the basses that the sheet itself writes: slash basses, and those
// of three and more chords that go by step in one direction.
func markLines(ss []Span) {
	step := func(i int) int { // from span i to the next
		if i < 0 || i+1 >= len(ss) || !ss[i].Sounding() || !ss[i+1].Sounding() {
			return 0
		}
		switch above(ss[i].Chord.Lowest(), ss[i+1].Chord.Lowest()) {
		case 1, 2:
			return 1
		case 10, 11:
			return -1
		}
		return 0
	}
	for i := range ss {
		s := &ss[i]
		if !s.Sounding() {
			continue
		}
		before, here, on := step(i-1), step(i), step(i+1)
		s.Line = s.Chord.Slash && s.Chord.Bass.Class() != s.Chord.Root.Class() ||
			here != 0 && (here == on || here == before) || before != 0 && before == step(i-2)
	}
}
