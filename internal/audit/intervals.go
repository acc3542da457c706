package audit

import (
	"cmp"

	"gradatim/leadsheet"
	"gradatim/theory"
)

type dur = theory.Dur

// lowest gives, by interval in semitones, the lowest key (MIDI) that may be its
// lower note; 0: no limit here (a minor ninth has its own rule).
//
// The hard floor recommended for a piano in the table of low-interval limits,
// some thirds and more below the limits that arrangers teach: ensemble limits
// are guidelines, and a piano breaks them on purpose in boogie and stride.
var lowest = [17]int{1: 48, 2: 46, 3: 45, 4: 43, 5: 40, 6: 40, 7: 29, 8: 36, 9: 36, 10: 36, 11: 38, 12: 21, 14: 36, 15: 33, 16: 31}

// fast is the tempo, in beats a minute, from which a passing bass note may rub
// against a held melody note for a beat.
const fast = 160

// judgeIntervals judges close intervals in the bass and minor ninths.
func (p *page) judgeIntervals(m *moment) {
	for i := 1; i < len(m.all); i++ {
		lo, hi := &p.sounds[m.all[i-1]], &p.sounds[m.all[i]]
		if lo.at != m.at && hi.at != m.at {
			continue
		}
		if d := hi.key - lo.key; d > 0 && d < len(lowest) && lo.key < lowest[d] {
			p.report(m.at, LowInterval, []int{lo.note, hi.note}, "Low", p.pitch(*lo), "High", p.pitch(*hi), "Lowest", keyPitch(lowest[d]))
		}
	}
	if m.chord == nil {
		return
	}
	for i := range m.all {
		for j := i + 1; j < len(m.all); j++ {
			lo, hi := &p.sounds[m.all[i]], &p.sounds[m.all[j]]
			if d := hi.key - lo.key; d%12 != 1 || d < 13 || lo.at != m.at && hi.at != m.at {
				continue
			}
			if !p.ninthAllowed(m, lo, hi) {
				p.report(m.at, MinorNinth, []int{lo.note, hi.note}, "High", p.pitch(*hi), "Low", p.pitch(*lo))
			}
		}
	}
}

// ninthAllowed tells whether a minor ninth (with octaves between, too) is heard
// as something else than a fault:
//
//   - the flat ninth over the root of a dominant;
//   - one of the two passes, for less than a beat; or for a beat where the beats
//     are faster than 160 a minute;
//   - the tune itself rubs against its chord: the melody note is foreign to the
//     sheet's chord and the other belongs to the sheet's triad, for less than a
//     beat or off the strong beats; against the bass of the chord, always,
//     because the bass cannot be left out. A melody note held a beat from a
//     strong beat is a choice that the accompaniment has to yield to.
func (p *page) ninthAllowed(m *moment, lo, hi *sound) bool {
	c := m.chord
	if c.dominant && lo.class() == c.root {
		return true
	}
	beat := p.meter(m.onset).BeatDur()
	overlap := min(lo.end, hi.end) - m.at
	if lo.reason.ornamental() || hi.reason.ornamental() {
		if overlap < beat {
			return true
		}
		if cl, ok := p.clock(); ok && overlap == beat && cl.micros(beat) <= 60*1_000_000/fast {
			return true
		}
	}
	tune, rest := hi, lo
	if !tune.melody {
		tune, rest = lo, hi
	}
	if !tune.melody || rest.melody {
		return false
	}
	sheet := m.sheet
	if len(p.sheet) == 0 { // no sheet, or one without chords: the printed ones are all there is
		sheet = c
	}
	if sheet == nil || sheet.tones.has(tune.class()) || !sheet.triad.has(rest.class()) {
		return false
	}
	if rest == &p.sounds[m.all[0]] && rest.class() == sheet.bass {
		return true
	}
	return overlap < beat || p.strength(m.onset) > 1
}

// clashes are pairs of notes over the root that exclude each other, after the
// table of tension conflicts (hard rows); where one stands in the melody the
// other yields.
var clashes = [...]struct {
	a, b int
	says leadsheet.Saying
	when func(c *harmony, a, b *sound) bool
}{
	{flat9, nine, TensionClash + ".ninths-flat", func(c *harmony, a, b *sound) bool { return c.dominant }},
	{sharp9, nine, TensionClash + ".ninths-sharp", func(c *harmony, a, b *sound) bool { return c.dominant && c.tones.has((c.root+third)%12) }},
	{thirt, flat13, TensionClash + ".thirteenths", func(c *harmony, a, b *sound) bool { return c.dominant }},
	{maj7, minor7, TensionClash + ".sevenths", func(c *harmony, a, b *sound) bool { return c.dominant || c.major7 }},
	// A third as a tenth above the fourth is good.
	{eleven, third, TensionClash + ".eleventh-third", func(c *harmony, a, b *sound) bool {
		return (c.dominant || c.major7) && b.key-a.key != 11 && b.key-a.key != 23
	}},
	{flat13, fifth, TensionClash + ".thirteenth-fifth", func(c *harmony, a, b *sound) bool {
		d := a.key - b.key
		return c.dominant && d > -12 && d < 12
	}},
}

// judgeClashes judges tensions that exclude each other. Notes that pass do not
// count, nor does a melody note that is not held for a beat from a strong beat.
func (p *page) judgeClashes(m *moment) {
	c := m.chord
	if c == nil || !c.dominant && !c.major7 {
		return
	}
	beat := p.meter(m.onset).BeatDur()
	for i := range m.all {
		a := &p.sounds[m.all[i]]
		da := (a.class() - c.root + 12) % 12
		for _, cl := range clashes {
			if da != cl.a {
				continue
			}
			for j := range m.all {
				b := &p.sounds[m.all[j]]
				if (b.class()-c.root+12)%12 != cl.b || a.at != m.at && b.at != m.at {
					continue
				}
				if a.reason.ornamental() || b.reason.ornamental() || a.reason == early || b.reason == early || !cl.when(c, a, b) {
					continue
				}
				if a.melody || b.melody {
					if a.melody && b.melody || min(a.end, b.end)-m.at < beat || p.strength(m.onset) > 1 {
						continue
					}
				}
				p.report(m.at, cl.says, []int{b.note, a.note}, "Chord", p.symbolAt(m), "B", p.pitch(*b), "A", p.pitch(*a))
			}
		}
	}
}

// symbolAt names the chord in force at a moment.
func (p *page) symbolAt(m *moment) string {
	s, _ := p.s.ChordAt(m.at)
	return cmp.Or(s.Text, s.Chord.Pretty())
}
