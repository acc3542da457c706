package teach

import (
	"slices"
	"strings"

	"gradatim/internal/arrange"
	"gradatim/internal/technique"
	"gradatim/internal/words"
	"gradatim/score"
	"gradatim/theory"
)

// inversions plays each chord of the page in the left hand, which has the chords of such a
// page: root position and its inversions, a beat each.
func (w *writer) inversions(p *page, t *technique.Technique, _ New) (made, bool) {
	st := w.chordStudy(p)
	length := st.Meter.Bar()
	if st.Meter.BeatCount() < 3 {
		length *= 2
	}
	cs := p.chordsOfPage()
	var used []theory.Chord
	for i := 0; st.Dur() < mostBars*st.Meter.Bar() && i < max(len(cs), fewestBars); i++ {
		if i >= len(cs) && st.Dur() >= fewestBars*st.Meter.Bar() {
			break
		}
		c := unslashed(cs[i%len(cs)])
		if len(skeleton(c)) < 3 {
			continue
		}
		st.Parts = append(st.Parts, arrange.Part{Dur: length, Chord: c, Left: arrange.Play{Figures: technique.Turned}})
		used = append(used, c)
	}
	s, ok := played(p, st)
	return w.made(t, "inversions", shapeFingered(s), "Chords", firsts(used)), ok && len(used) > 0
}

// shapeFingered gives the close chords of the left hand their fingers.
func shapeFingered(s score.Score) score.Score {
	for i := 0; i < len(s.Notes); {
		j := i
		var ps []theory.Pitch
		for ; j < len(s.Notes) && s.Notes[j].At == s.Notes[i].At; j++ {
			ps = append(ps, s.Notes[j].Pitch)
		}
		slices.SortFunc(ps, theory.ComparePitch)
		for k, f := range shapeFingers(ps) {
			for n := i; n < j; n++ {
				if s.Notes[n].Pitch == ps[k] {
					s.Notes[n].Finger = f
				}
			}
		}
		i = j
	}
	return s
}

// shapeFingers is how the left hand takes three notes in close position, lowest
// first: 5-3-1, and 5-2-1 where the wider gap is below, as in a second inversion
// (common practice, no source). A hand that moves as little as it can would
// finger them otherwise, but the drill is there to teach the shapes.
func shapeFingers(ps []theory.Pitch) []uint8 {
	if len(ps) != 3 {
		return nil
	}
	below, above := ps[1].MIDI()-ps[0].MIDI(), ps[2].MIDI()-ps[1].MIDI()
	if below >= 5 && below > above {
		return []uint8{5, 2, 1}
	}
	return []uint8{5, 3, 1}
}

// firsts drops later repeats.
func firsts(cs []theory.Chord) []theory.Chord {
	var out []theory.Chord
	for _, c := range cs {
		if !slices.Contains(out, c) {
			out = append(out, c)
		}
	}
	return out
}

// pair is a chord of the sheet and what the page makes of it.
type pair struct{ sheet, now theory.Chord }

// coloured plays chords as on the sheet, then as on the page.
func (w *writer) coloured(p *page, t *technique.Technique, _ New) (made, bool) {
	var pairs []pair
	for _, c := range p.Decisions {
		if c.Device != "" || len(c.Chords) != 1 || c.Sheet.Silent() || !p.usedIn(t.ID, p.Score.Bars[p.Score.BarAt(c.At)].Number) {
			continue
		}
		q := pair{c.Sheet, c.Chords[0].Chord}
		q.sheet, q.now = unslashed(q.sheet), unslashed(q.now)
		if q.now != q.sheet && q.now.Root == q.sheet.Root && t.Recognise != nil && !slices.Contains(pairs, q) {
			pairs = append(pairs, q)
		}
	}
	st := w.chordStudy(p)
	hs := halves(st.Meter)
	var shown []string
	need := (fewestBars*len(hs) + 1) / 2
	for i := 0; len(pairs) > 0 && (i < min(len(pairs), mostBars*len(hs)/2) || i < need); i++ {
		q := pairs[i%len(pairs)]
		st.Parts = append(st.Parts, struck(q.sheet, hs[0], promised), struck(q.now, hs[len(hs)-1], promised))
		if i < len(pairs) {
			shown = append(shown, q.sheet.Pretty()+" – "+q.now.Pretty())
		}
	}
	s, ok := played(p, st)
	return w.made(t, "coloured", s, "Chords", shown), ok && len(st.Parts) > 0
}

// The ways to strike a chord whole: all that its symbol promises, third and seventh, or
// all that the right hand can hold.
var (
	promised = technique.Struck{Degrees: technique.PromisedAndFifth, Most: 3}
	guides   = technique.Struck{Degrees: technique.GuideTones, Most: 3}
	full     = technique.Struck{Degrees: technique.FourNotes, Most: 4}
)

// chordStudy begins a drill of chords that are struck whole.
func (w *writer) chordStudy(p *page) arrange.Study {
	st := w.study(p)
	st.Whole = true
	return st
}

func struck(c theory.Chord, dur theory.Dur, how technique.Struck) arrange.Part {
	return arrange.Part{Dur: dur, Chord: c, Left: arrange.Play{Figures: how.Left}, Right: arrange.Play{Figures: how.Right}}
}

// move is a short way through some chords to a goal.
type move struct {
	chords []theory.Chord
	to     theory.Chord      // zero: none
	voice  []technique.Voice // a voice to follow, one note for each chord and the goal; nil: none
}

// altered plays each altered dominant plain, then altered, then where it leads.
func (w *writer) altered(p *page, t *technique.Technique, _ New) (made, bool) {
	var all []move
	for i, c := range p.Decisions {
		if c.Device != "" || len(c.Chords) != 1 || i+1 >= len(p.Decisions) || len(p.Decisions[i+1].Chords) == 0 || !p.usedIn(t.ID, p.Score.Bars[p.Score.BarAt(c.At)].Number) {
			continue
		}
		now := c.Chords[0].Chord
		if now.Root == c.Sheet.Root && now.Dominant() && now != c.Sheet {
			all = append(all, move{chords: []theory.Chord{unslashed(c.Sheet), unslashed(now)}, to: p.Decisions[i+1].Chords[0].Chord})
		}
	}
	s, shown, ok := w.moves(p, all)
	return w.made(t, "altered", s, "Chords", shown), ok && len(t.Find(s)) > 0
}

// changed plays what a device does on this page: the chord before, the device's
// own chords, and where they lead.
func (w *writer) changed(p *page, t *technique.Technique, _ New) (made, bool) {
	var all []move
	for i, c := range p.Decisions {
		if c.Device != t.ID {
			continue
		}
		var m move
		switch {
		case t.Beside && len(c.Chords) == 1:
			m.chords = append(m.chords, unslashed(c.Sheet)) // the natural note before the borrowed one
		case len(c.Chords) == 1 && i > 0 && len(p.Decisions[i-1].Chords) > 0:
			prev := p.Decisions[i-1].Chords
			m.chords = append(m.chords, prev[len(prev)-1].Chord)
		}
		for _, ch := range c.Chords {
			m.chords = append(m.chords, ch.Chord)
		}
		if i+1 < len(p.Decisions) && len(p.Decisions[i+1].Chords) > 0 {
			m.to = p.Decisions[i+1].Chords[0].Chord
		}
		if m.to.Silent() && !t.Closes {
			continue // a drill that leads nowhere teaches nothing
		}
		m = resolved(m)
		if t.Follow != nil {
			m.voice = t.Follow(w.key, append(slices.Clone(m.chords), m.to))
		}
		all = append(all, m)
	}
	s, shown, ok := w.moves(p, all)
	return w.made(t, "changed", s, "Chords", shown), ok
}

// resolved takes the fourth out of what follows a suspended chord: it is the voice
// that moves on.
func resolved(m move) move {
	for i := 1; i < len(m.chords); i++ {
		if third, _ := m.chords[i-1].Third(); third.Number == 4 && m.chords[i].Root == m.chords[i-1].Root && m.chords[i].Tones.Has(theory.Degree{Number: 3}) {
			m.chords[i].Tones = m.chords[i].Tones.Without(theory.Degree{Number: 4}).Without(theory.Degree{Number: 11})
		}
	}
	return m
}

// moves plays short progressions one after the other, two chords a bar and the
// goal for a bar, as many different ones as find room; where they fill less than
// four bars they begin again. It also lists them.
func (w *writer) moves(p *page, all []move) (score.Score, []string, bool) {
	st := w.chordStudy(p)
	bar, hs := st.Meter.Bar(), halves(st.Meter)
	phrase := func(m move) []arrange.Part {
		var ps []arrange.Part
		for i, c := range m.chords {
			dur := hs[i%len(hs)]
			if i == len(m.chords)-1 && i%len(hs) == 0 {
				dur = bar
			}
			ps = append(ps, struck(c, dur, promised))
		}
		if !m.to.Silent() {
			ps = append(ps, struck(m.to, bar, promised))
		}
		for i := range ps {
			if i >= len(m.voice) || !m.voice[i].In {
				continue
			}
			how := promised
			if d, ok := ps[i].Chord.Degree(m.voice[i].Name); ok {
				how.Degrees = func(c theory.Chord) []theory.Degree { return append(technique.PromisedAndFifth(c), d) }
			}
			ps[i] = struck(ps[i].Chord, ps[i].Dur, how)
			ps[i].Voice = m.voice[i]
		}
		return ps
	}
	var uniq []move
	for _, m := range all {
		if len(m.chords) <= 4 && !slices.ContainsFunc(m.chords, theory.Chord.Silent) &&
			!slices.ContainsFunc(uniq, func(o move) bool { return slices.Equal(o.chords, m.chords) && o.to == m.to }) {
			uniq = append(uniq, m)
		}
	}
	uniq = uniq[:min(len(uniq), mostBars)]
	var s score.Score
	var shown []string
	for round := range fewestBars {
		for _, m := range uniq {
			more := st
			more.Parts = slices.Concat(st.Parts, phrase(m))
			if more.Dur() > mostBars*bar || round > 0 && st.Dur() >= fewestBars*bar {
				continue
			}
			try, ok := played(p, more)
			if !ok {
				continue
			}
			st, s = more, try
			if round == 0 {
				var syms []string
				for _, part := range phrase(m) {
					syms = append(syms, part.Chord.Pretty())
				}
				shown = append(shown, strings.Join(syms, " – "))
			}
		}
	}
	return s, shown, len(shown) > 0
}

// cadence is ii–V–I of the key with the page's colours for each degree, where it
// has them; else plain sevenths.
func (w *writer) cadence(p *page, coloured bool) []theory.Chord {
	minor := w.key.Mode.Minorish()
	deg := func(n, a int8) theory.Degree { return theory.Degree{Number: n, Alter: a} }
	ii := theory.Chord{Root: w.key.Tonic.Up(theory.Interval{Steps: 1, Semitones: 2}), Tones: theory.DegreesOf(deg(1, 0), deg(3, -1), deg(5, 0), deg(7, -1))}
	v := theory.Chord{Root: w.key.Tonic.Up(theory.Interval{Steps: 4, Semitones: 7}), Tones: theory.DegreesOf(deg(1, 0), deg(3, 0), deg(5, 0), deg(7, -1))}
	one := theory.Chord{Root: w.key.Tonic, Tones: theory.DegreesOf(deg(1, 0), deg(3, 0), deg(5, 0), deg(7, 0))}
	if minor {
		ii.Tones = theory.DegreesOf(deg(1, 0), deg(3, -1), deg(5, -1), deg(7, -1))
		one.Tones = theory.DegreesOf(deg(1, 0), deg(3, -1), deg(5, 0), deg(6, 0))
	}
	out := []theory.Chord{ii, v, one, one}
	if !coloured {
		return out
	}
	for _, c := range p.chordsOfPage() {
		c = unslashed(c)
		for i := range out {
			third, ok := c.Third()
			want, _ := out[i].Third()
			if ok && c.Root == out[i].Root && third == want && c.Dominant() == out[i].Dominant() && c.Diminished() == out[i].Diminished() && len(skeleton(c)) > 3 && plainSoFar(out[i]) {
				out[i] = c
			}
		}
	}
	return out
}

// plainSoFar tells whether a chord is still a bare seventh chord.
func plainSoFar(c theory.Chord) bool {
	n := 0
	for range c.Tones.All() {
		n++
	}
	return n <= 4
}

// colouredCadence is ii–V–I in the key and in the colours of the page, the root in
// the left hand.
func (w *writer) colouredCadence(p *page, t *technique.Technique, _ New) (made, bool) {
	return w.cadenceDrill(p, t, w.cadence(p, true), promised, "cadence.coloured")
}

// guideCadence is ii–V–I, the root in the left hand, third and seventh in the right.
func (w *writer) guideCadence(p *page, t *technique.Technique, _ New) (made, bool) {
	return w.cadenceDrill(p, t, w.cadence(p, false), guides, "cadence.guides")
}

// guideLine is ii–V–I for a right hand that plays guide tones.
func (w *writer) guideLine(p *page, t *technique.Technique, _ New) (made, bool) {
	return w.cadenceDrill(p, t, w.cadence(p, false), guides, "cadence.line")
}

// fullCadence is ii–V–I for a right hand that plays all it can hold.
func (w *writer) fullCadence(p *page, t *technique.Technique, _ New) (made, bool) {
	return w.cadenceDrill(p, t, w.cadence(p, true), full, "cadence.full")
}

// connected tells whether the right hand has as many notes in each strike as in the one before, each
// at most a whole step from one of those.
func connected(s score.Score) bool {
	var strikes [][]int
	for i, n := range s.Notes {
		if n.Hand != score.Right || n.Grace > 0 {
			continue
		}
		if last := len(strikes) - 1; last < 0 || s.Notes[strikes[last][0]].At != n.At {
			strikes = append(strikes, nil)
		}
		last := len(strikes) - 1
		strikes[last] = append(strikes[last], i)
	}
	for k := 1; k < len(strikes); k++ {
		if len(strikes[k]) != len(strikes[k-1]) {
			return false
		}
		for _, i := range strikes[k] {
			if !slices.ContainsFunc(strikes[k-1], func(j int) bool {
				far := s.Notes[i].Pitch.MIDI() - s.Notes[j].Pitch.MIDI()
				return far >= -2 && far <= 2
			}) {
				return false
			}
		}
	}
	return true
}

func (w *writer) cadenceDrill(p *page, t *technique.Technique, cs []theory.Chord, how technique.Struck, key string) (made, bool) {
	st := w.chordStudy(p)
	for _, c := range cs {
		st.Parts = append(st.Parts, struck(c, st.Meter.Bar(), how))
	}
	s, ok := played(p, st)
	if (key == "cadence.full" || key == "cadence.line") && !connected(s) { // it says how one leads to the next
		key = "cadence.shapes"
	}
	return w.made(t, key, s, "Chords", cs[:3]), ok
}

// chordBasses is the bass of a phrase, one note for each chord.
func (w *writer) chordBasses(p *page, t *technique.Technique, n New) (made, bool) {
	first, last := w.phraseOf(p, n.Example.Bars[0])
	ex := excerpt(p.Score, first, last)
	st := w.study(p)
	st.Meter = ex.Bars[0].Meter
	if len(ex.Chords) > 0 && ex.Chords[0].At > 0 {
		st.Parts = append(st.Parts, arrange.Part{Dur: ex.Chords[0].At})
	}
	for i, c := range ex.Chords {
		end := ex.End()
		if i+1 < len(ex.Chords) {
			end = ex.Chords[i+1].At
		}
		st.Parts = append(st.Parts, bass(c.Chord, end-c.At))
	}
	s, ok := played(p, st)
	return w.made(t, "basses", s, "Bars", numbers(p, first, last)), ok
}

// bass is the bass of a chord, held; nothing where there is no chord.
func bass(c theory.Chord, dur theory.Dur) arrange.Part {
	part := arrange.Part{Dur: dur, Chord: c}
	if !c.Silent() {
		part.Left.Figures = technique.HeldBass
	}
	return part
}

func numbers(p *page, first, last int) words.Bars {
	var out words.Bars
	for _, b := range p.Score.Bars[first : last+1] {
		out = append(out, b.Number)
	}
	return out
}

// phraseOf returns 4 to 8 whole bars (indexes) of the phrase that holds a bar.
func (w *writer) phraseOf(p *page, number int) (first, last int) {
	bars := p.Score.Bars
	at := 0
	for i, b := range bars {
		if b.Number == number && !b.Pickup {
			at = i
			break
		}
	}
	first, last = at, at
	if k := w.in.Analysis.PhraseAt(bars[at].At); k >= 0 {
		first, last = w.in.Analysis.Phrases[k].First, min(w.in.Analysis.Phrases[k].Last, len(bars)-1)
	}
	if bars[first].Pickup {
		first++
	}
	if last-first+1 > mostBars {
		first = max(first, min(at-1, last-mostBars+1))
		last = min(last, first+mostBars-1)
	}
	for last-first+1 < fewestBars && last+1 < len(bars) {
		last++
	}
	for last-first+1 < fewestBars && first > 0 && !bars[first-1].Pickup {
		first--
	}
	return first, last
}
