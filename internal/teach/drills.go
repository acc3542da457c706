package teach

import (
	"slices"

	"gradatim/internal/technique"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// made is a drill before its frame is put round it.
type made struct {
	name, words string
	music       score.Score
}

// drills makes the exercises of a page: one for each technique that it is about,
// out of the tune's own chords, scale and figures, and on the first page the
// scale. What the audit would not pass is not printed, nor what does not show its
// technique (a ii–V–I need not have the page's colours); the same music is printed
// once.
func (w *writer) drills(p *page, news []New) []Drill {
	out := []Drill{}
	add := func(m made, ok bool, ids ...string) {
		if !ok || !w.passes(m.music) {
			return
		}
		text := score.Text(m.music)
		for i := range out {
			if score.Text(out[i].bare) == text {
				out[i].For = append(out[i].For, ids...)
				return
			}
		}
		d := Drill{Name: m.name, For: ids, Hands: w.say(handsOf[soleHand(m.music)]), Words: sentence(m.words), Steps: p.steps(),
			Count: meterCount(w.words, m.music.Bars[0].Meter, shortest(m.music)), bare: m.music}
		d.Music = Music{Caption: m.name, Score: p.quoted(w.fingered(m.music), m.music)}
		d.Music.Score.Alone = soleHand(m.music)
		if d.For == nil {
			d.For = []string{}
		}
		out = append(out, d)
	}
	if !w.scaled {
		m, ok := w.scaleDrill(p)
		w.scaled = true
		add(m, ok)
	}
	for _, n := range news {
		t, _ := technique.ByID(n.Technique)
		for _, make := range makers[t.Drill] {
			if m, ok := make(w, p, t, n); ok && w.passes(m.music) && len(t.Find(m.music)) > 0 {
				add(m, ok, t.ID)
				break
			}
		}
	}
	return out
}

// maker makes a drill of a technique that is new on a page.
type maker func(*writer, *page, *technique.Technique, New) (made, bool)

// makers lists the ways to make each kind of drill, best first.
var makers = map[technique.Drill][]maker{
	technique.Inversions:      {(*writer).inversions},
	technique.ColouredChords:  {(*writer).coloured},
	technique.ColouredCadence: {(*writer).colouredCadence, (*writer).coloured},
	technique.GuideCadence:    {(*writer).guideCadence, (*writer).coloured},
	technique.AlteredChords:   {(*writer).altered, (*writer).colouredCadence, (*writer).coloured},
	technique.ChangedChords:   {(*writer).changed},
	technique.ChordBasses:     {(*writer).chordBasses, (*writer).bassAlone},
	technique.BassAlone:       {(*writer).bassAlone, (*writer).aroundChords},
	technique.OnOneChord:      {(*writer).ownFigure, (*writer).onOneChord, (*writer).aroundChords, (*writer).fromPage},
	technique.AroundChords:    {(*writer).aroundChords, (*writer).onOneChord, (*writer).fromPage},
	technique.FigureCadence:   {(*writer).figureCadence, (*writer).aroundChords, (*writer).fromPage},
	technique.OwnBars:         {(*writer).ownBars, (*writer).ownFigure, (*writer).fromPage, (*writer).aroundChords},
	technique.RolledTenths:    {(*writer).rolled},
	technique.LastChords:      {(*writer).lastChord},
	technique.RhythmTap:       {(*writer).rhythm},
	technique.GuideLine:       {(*writer).guideLine, (*writer).fromPage},
	technique.FullCadence:     {(*writer).fullCadence, (*writer).fromPage},
	technique.PairedScale:     {onScale("pairs")},
	technique.BlockScale:      {onScale("blocks"), (*writer).fromPage},
	technique.OctaveScale:     {onScale("in-octaves")},
	technique.OrnamentedScale: {onScale("on-scale")},
	technique.QuickLines:      {(*writer).runs, (*writer).fromPage},
	technique.FromThePage:     {(*writer).fromPage},
}

// handsOf names the hands of a drill that is for one alone, or for both.
var handsOf = map[score.Hand]string{0: "hands.both", score.Right: "hands.right", score.Left: "hands.left"}

// soleHand is the hand that has all notes of a score; 0: both have some.
func soleHand(s score.Score) score.Hand {
	hand := s.Notes[0].Hand
	for _, n := range s.Notes {
		if n.Hand != hand {
			return 0
		}
	}
	return hand
}

// shortest is the finest division of time that a score strikes.
func shortest(s score.Score) theory.Dur {
	out := theory.Whole
	for _, n := range s.Notes {
		if n.Grace > 0 {
			continue
		}
		out = min(out, n.Dur)
		for _, div := range []theory.Dur{theory.Quarter, theory.Eighth, theory.Sixteenth} {
			if b := s.Bars[s.BarAt(n.At)]; (n.At-b.At)%div != 0 {
				out = min(out, div/2)
			}
		}
	}
	return out
}

// chordsOfPage lists the different sounding chords of a page in order.
func (p *page) chordsOfPage() []theory.Chord {
	var out []theory.Chord
	for _, c := range p.Score.Chords {
		if !c.Chord.Silent() && !slices.Contains(out, c.Chord) {
			out = append(out, c.Chord)
		}
	}
	return out
}

// home is the page's tonic chord, else the key's triad.
func (w *writer) home(p *page) theory.Chord {
	for _, c := range p.chordsOfPage() {
		if c.Root == w.key.Tonic && !c.Slash && c.MinorThird() == w.key.Mode.Minorish() && !c.Dominant() {
			return c
		}
	}
	return theory.Chord{Root: w.key.Tonic, Tones: tonicTriad(w.key)}
}

// made names a technique's drill and says what it is.
func (w *writer) made(t *technique.Technique, key string, music score.Score, parts ...any) made {
	return made{w.say("drill.named", "Technique", reason.Technique(t.ID), "Drill", w.say("drill."+key+".name")), w.say("drill."+key+".text", parts...), music}
}
