package teach

import (
	"fmt"
	"slices"

	"gradatim/internal/technique"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// fragment is the beginning of the scale, up and back, for ornaments, pairs and
// blocks: five notes where two share a bar, four where each has its own.
type fragment struct {
	line []theory.Pitch
	unit theory.Dur // each note but the last, which fills its bar
	n    int        // of different notes
}

func (d *sheet) fragment(from int, wide bool) fragment {
	f := fragment{unit: d.bar()}
	n := 4
	if d.meter.BeatCount()%2 == 0 && !wide {
		f.unit /= 2
		n = 5
	}
	scale := d.w.key.Scale()
	f.line = []theory.Pitch{scale[0].Above(from)}
	for i := 1; i < n; i++ {
		f.line = append(f.line, scale[i].Above(f.line[i-1].MIDI()+1))
	}
	for i := n - 2; i >= 0; i-- {
		f.line = append(f.line, f.line[i])
	}
	f.n = n
	return f
}

// onScale is a drill on the beginning of the scale.
func (w *writer) onScale(t *technique.Technique, key string, f fragment, music score.Score, parts ...any) made {
	notes := w.say(fmt.Sprintf("drill.first-notes.%d", f.n), "Key", w.key)
	return w.made(t, key, music, append(parts, "Notes", notes)...)
}

// durOf is how long the i-th note lasts.
func (d *sheet) durOf(f fragment, i int) theory.Dur {
	if i == len(f.line)-1 {
		return d.bar()
	}
	return f.unit
}

// ornamented plays a scale fragment with the ornament on each note that can take
// it.
func (w *writer) ornamented(p *page, t *technique.Technique, n New) (made, bool) {
	d := w.sheet(p)
	f := d.fragment(64, t.Scale.Wide)
	at := theory.Dur(0)
	for i, q := range f.line {
		unit := d.durOf(f, i)
		put, ok := t.Scale.Put(technique.ScaleNote{Key: w.key, Meter: d.meter, Note: technique.Tone{At: at, Dur: unit, Pitch: q, Kind: score.Melody}})
		if !ok {
			return made{}, false
		}
		note := put.Note
		for _, x := range put.Added {
			voice := uint8(1)
			if x.At > note.At { // under the note that is held
				voice = 2
			}
			d.notes = append(d.notes, score.Note{Hand: score.Right, Voice: voice, At: x.At, Dur: x.Dur, Pitch: readable(x.Pitch), Grace: x.Grace, Marks: x.Marks,
				Origin: score.Origin{Kind: x.Kind, Why: put.Why}})
		}
		d.notes = append(d.notes, score.Note{Hand: score.Right, Voice: 1, At: note.At, Dur: note.Dur, Pitch: note.Pitch, Ornament: note.Ornament,
			Origin: score.Origin{Kind: score.Melody, Why: reason.Fact("scale")}})
		at += unit
	}
	s := d.score()
	if len(t.Find(s)) == 0 {
		return w.fromPage(p, t, n)
	}
	return w.onScale(t, "on-scale", f, s, "How", w.words.Say("technique."+t.ID+".scale")), true
}

// pairs plays the scale fragment with a third, then a sixth below.
func (w *writer) pairs(p *page, t *technique.Technique, n New) (made, bool) {
	d := w.sheet(p)
	f := d.fragment(67, false)
	scale := w.key.Scale()
	at := theory.Dur(0)
	for i, q := range f.line {
		steps := int8(-2)
		if i > len(f.line)/2 {
			steps = -5
		}
		var low theory.Pitch
		for semis := int8(-10); semis < 0; semis++ {
			if x := q.Up(theory.Interval{Steps: steps, Semitones: semis}); slices.Contains(scale[:], x.Name) && q.MIDI()-x.MIDI() == -int(semis) && (steps == -2 && semis >= -4 && semis <= -3 || steps == -5 && semis >= -9 && semis <= -8) {
				low = x
			}
		}
		d.add(score.Right, at, d.durOf(f, i), low, q)
		at += f.unit
	}
	return w.onScale(t, "pairs", f, d.score()), true
}

// octaveScale plays the scale fragment in octaves.
func (w *writer) octaveScale(p *page, t *technique.Technique, n New) (made, bool) {
	if !w.hand.Reaches(score.Right, []int{60, 72}) {
		return made{}, false
	}
	d := w.sheet(p)
	f := d.fragment(60, false)
	at := theory.Dur(0)
	for i, q := range f.line {
		hi := q
		hi.Octave++
		d.add(score.Right, at, d.durOf(f, i), q, hi)
		at += f.unit
	}
	return w.onScale(t, "in-octaves", f, d.score()), true
}

// blockScale plays the scale fragment in block chords: notes of the sixth chord
// on the tonic take that chord, the others the diminished seventh between.
func (w *writer) blockScale(p *page, t *technique.Technique, n New) (made, bool) {
	d := w.sheet(p)
	f := d.fragment(67, false)
	first := f.line[0] // twice, at both ends: a block is one of several under one chord
	f.line = append(append([]theory.Pitch{first}, f.line...), first)
	six := theory.Chord{Root: w.key.Tonic, Tones: tonicTriad(w.key).With(theory.Degree{Number: 6})}
	dim := theory.Chord{Root: w.key.Tonic.Up(theory.Interval{Steps: 6, Semitones: 11}),
		Tones: theory.DegreesOf(theory.Degree{Number: 1}, theory.Degree{Number: 3, Alter: -1}, theory.Degree{Number: 5, Alter: -1}, theory.Degree{Number: 7, Alter: -2})}
	at := theory.Dur(0)
	for i, top := range f.line {
		c := dim
		if six.HasClass(top.Class()) {
			c = six
		}
		notes := []theory.Pitch{top}
		for len(notes) < 4 {
			below := theory.Pitch{}
			for deg := range c.Tones.All() {
				if q := deg.On(c.Root).Below(notes[len(notes)-1].MIDI() - 1); below == (theory.Pitch{}) || q.MIDI() > below.MIDI() {
					below = q
				}
			}
			notes = append(notes, below)
		}
		d.chord(at, c)
		d.add(score.Right, at, d.durOf(f, i), notes...)
		at += f.unit
	}
	s := d.score()
	return w.onScale(t, "blocks", f, s, "Sixth", six, "Diminished", dim), len(t.Find(s)) > 0
}
