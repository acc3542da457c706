package choice

import (
	"gradatim/internal/technique"
	"gradatim/theory"
)

// Within returns what of a choice lies in a stretch of the music, as it is where the
// stretch begins at another place; ok is false where none of it does.
func (c Choice) Within(at, until, to theory.Dur) (_ Choice, ok bool) {
	if c.At >= until || c.Until <= at {
		return c, false
	}
	s := stretch{at, until, to - at}
	c.At, c.Until = max(c.At, at)+s.by, min(c.Until, until)+s.by
	switch f := c.Fix.(type) {
	case Figure:
		f.Tones = s.tones(f.Tones)
		c.Fix = f
	case Added:
		f.Tone.At += s.by
		c.Fix = f
	case Moved:
		f.To.At += s.by
		c.Fix = f
	case Lock:
		c.Fix = Lock{s.bar(f.Bar)}
	}
	return c, true
}

// stretch is a part of the music and how far it is moved.
type stretch struct{ at, until, by theory.Dur }

func (s stretch) has(at theory.Dur) bool { return at >= s.at && at < s.until }

func (s stretch) tones(ts []technique.Tone) []technique.Tone {
	var out []technique.Tone
	for _, t := range ts {
		if s.has(t.At) {
			t.At += s.by
			out = append(out, t)
		}
	}
	return out
}

func (s stretch) bar(b Bar) Bar {
	out := Bar{At: max(b.At, s.at) + s.by}
	for i, c := range b.Chords {
		last := i+1 == len(b.Chords) || b.Chords[i+1].At > s.at
		switch {
		case s.has(c.At):
			c.At += s.by
		case c.At < s.at && last: // in force where the stretch begins
			c.At = s.at + s.by
		default:
			continue
		}
		out.Chords = append(out.Chords, c)
	}
	for _, l := range b.Lines {
		var tones []Tone
		for _, t := range l.Tones {
			if s.has(t.At) {
				t.At += s.by
				tones = append(tones, t)
			}
		}
		if l.Tones = tones; len(tones) > 0 {
			out.Lines = append(out.Lines, l)
		}
	}
	for _, d := range b.Pedal {
		if s.has(d[0]) {
			out.Pedal = append(out.Pedal, [2]theory.Dur{d[0] + s.by, min(d[1], s.until) + s.by})
		}
	}
	return out
}
