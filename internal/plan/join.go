package plan

// Where a phrase leads on.
//
// A left hand that never leaves its pattern says nothing of the form. On printed pages (the
// shared human_pages, counted by package course) the last bar of a phrase keeps the rhythm
// of the bar before it only every other time, and one phrase in eight goes by step into the
// next. So the end of a section leads into another, and in its middle every other phrase
// into the next; not over a sign for a repeat, after which another chord may come, nor
// where a phrase is too short to have had a pattern.

// leastLed is how many bars a phrase has at least that leads on.
const leastLed = 3

// leads says which phrases lead on.
func (m *maker) leads() {
	secs := m.out.Sections
	for i := range secs {
		s := &secs[i]
		led := len(s.Phrases) > 2 // the second one, then
		for k := range s.Phrases {
			ph := &s.Phrases[k]
			next := ph.Last + 1
			if next >= len(m.song.Bars) || m.song.Joint(next) || m.song.Bars[next].Part != m.song.Bars[ph.Last].Part || ph.Last-ph.First+1 < leastLed {
				continue
			}
			ph.LeadsOn = !led || k == len(s.Phrases)-1
			led = ph.LeadsOn
		}
	}
}
