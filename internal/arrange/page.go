package arrange

import (
	"cmp"
	"regexp"
	"slices"

	"gradatim/internal/choice"
	"gradatim/internal/hand"
	"gradatim/internal/harmony"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// page writes down the finished score.
func (p *piece) page() score.Score {
	s := score.Score{Title: p.song.Title, Level: p.level.Number, LevelName: p.level.Name,
		Composer: composers(p.song.Rights), Arranger: p.song.Rights.Arranger, Rights: p.song.Rights.Notice(),
		Tempo: p.tempo, Feel: p.feel, Swing: p.swing, StaffHeight: p.level.StaffHeight, Pedal: score.PedalForRolls}
	if p.level.Pedal {
		s.Pedal = score.PedalByEar
	}
	if s.Rights == s.Composer { // a sheet with one line for both says it once
		s.Rights = ""
	}
	phrases := map[int]theory.Dur{} // by the bar in which they begin, how far into it
	for _, ph := range p.an.Phrases {
		phrases[ph.First] = max(0, ph.At-p.song.Bars[ph.First].At)
	}
	for i, b := range p.song.Bars {
		key := b.Key
		if !key.Valid() {
			key = p.an.Key
		}
		into, begins := phrases[i]
		s.Bars = append(s.Bars, score.Bar{At: b.At, Dur: b.Dur, Meter: b.Meter, Key: key, Number: b.Number, Part: b.Part, Sheet: b.Sheet, Pass: b.Pass,
			Pickup: b.Pickup, Section: b.Section, PhraseStart: begins, PhraseAt: into, Signs: b.Signs})
	}
	n := len(p.line)
	for i := range p.cells {
		n += len(p.cells[i].chosenLeft.Tones) + len(p.cells[i].chosenRight.Tones)
	}
	s.Notes = make([]score.Note, 0, n+n/8) // ornaments are few
	p.writeChords(&s)
	p.restate(&s)
	p.writeTune(&s)
	for i := range p.cells {
		p.writeFigure(&s, &p.cells[i], score.Left, p.cells[i].chosenLeft, p.cells[i].leftBy)
		p.writeFigure(&s, &p.cells[i], score.Right, p.cells[i].chosenRight, p.cells[i].rightBy)
	}
	for _, a := range p.adornments {
		p.writeFigure(&s, &p.cells[a.cell], score.Right, a.Figure, a.by)
	}
	p.writePedal(&s)
	p.writeEnding(&s)
	p.writeFingers(&s)
	assignVoices(s.Notes)
	p.express(&s)
	return s.Finish()
}

// composers is whom the page names at its head: with nobody named, that the sheet calls
// the tune traditional.
func composers(r leadsheet.Rights) string {
	out := ""
	for i, c := range r.Composers {
		if i > 0 {
			out += ", "
		}
		out += c.Name
	}
	if out == "" && tradition.MatchString(r.Text) {
		return "Traditional"
	}
	return out
}

// tradition is what sheets say of a tune that nobody is known for.
var tradition = regexp.MustCompile(`(?i)\b(trad|traditional)\b`)

// writeChords prints each new chord once. A chord that only stays (its reading
// is equal to the one before) is not printed again, but where a section, the tune
// after its introduction or what is repeated begins.
func (p *piece) writeChords(s *score.Score) {
	for i, sl := range p.slots {
		if sl.unknown {
			continue
		}
		n := p.song.BarAt(sl.at)
		bar := p.song.Bars[n]
		section := bar.At == sl.at && (bar.Section != "" || bar.Signs.Start || n > 0 && p.song.Bars[n-1].Part != bar.Part)
		if i > 0 && !section && p.slots[i-1].chord == sl.chord && !p.slots[i-1].unknown && p.slots[i-1].end == sl.at {
			continue
		}
		sym := score.Symbol{At: sl.at, Chord: sl.chord}
		if !sl.chord.Silent() {
			var before, after theory.Chord
			if i > 0 {
				before = p.slots[i-1].chord
			}
			if i+1 < len(p.slots) {
				after = p.slots[i+1].chord
			}
			k := p.keyAt(sl.at)
			sym.Roman = harmony.Read(k, before, sl.chord, after).Roman(k, sl.chord).Pretty()
		}
		s.Chords = append(s.Chords, sym)
	}
}

// restate prints the chord in force again where a section, a repeat or an ending begins
// under it: a reader who starts there has to see it.
func (p *piece) restate(s *score.Score) {
	var out []score.Symbol
	k := 0
	for i, b := range s.Bars {
		first := len(out)
		for k < len(s.Chords) && s.Chords[k].At < b.End() {
			out = append(out, s.Chords[k])
			k++
		}
		if (b.Section != "" && !b.Pickup || p.song.Joint(i)) && !p.goesOn(s, i) && first > 0 && (first == len(out) || out[first].At > b.At) {
			again := out[first-1]
			again.At = b.At
			out = slices.Insert(out, first, again)
		}
	}
	s.Chords = append(out, s.Chords[k:]...)
}

// goesOn tells whether a reader who begins with a bar sees its chord beside it: an upbeat
// to a bar that prints it, the bar after an upbeat that does, or an ending under the chord
// of the bar before it on every way there.
func (p *piece) goesOn(s *score.Score, i int) bool {
	short := func(i int) bool { return i >= 0 && s.Bars[i].Dur < s.Bars[i].Meter.Bar() }
	if i+1 < len(s.Bars) && short(i) && (s.Bars[i+1].Section != "" || p.song.Joint(i+1)) {
		return true
	}
	if !s.Bars[i].Signs.EndingOpens {
		return false
	}
	for first := i; first > 0; first-- { // back to where the endings begin
		if b := s.Bars[first]; b.Signs.EndingOpens && s.Bars[first-1].Signs.Ending == 0 {
			before, ok := chordAt(s, s.Bars[first].At-1)
			last, too := chordAt(s, s.Bars[i].At-1)
			return ok && too && before == last
		}
	}
	return false
}

// chordAt is the chord printed last before or at a place.
func chordAt(s *score.Score, at theory.Dur) (c theory.Chord, ok bool) {
	for _, x := range s.Chords {
		if x.At > at {
			break
		}
		c, ok = x.Chord, true
	}
	return c, ok
}

func (p *piece) keyAt(at theory.Dur) theory.Key {
	if sp, ok := p.an.SpanAt(at); ok && sp.Key.Valid() {
		return sp.Key
	}
	return p.an.Key
}

func (p *piece) writeTune(s *score.Score) {
	for i, n := range p.line {
		why := p.tuneWhy(n)
		note := score.Note{Hand: score.Right, Voice: 1, At: n.At, Dur: n.End - n.At, Pitch: n.Pitch,
			Origin: score.Origin{Kind: score.Melody, Melody: n.Event + 1, Why: why}}
		if n.Pushed {
			note.Origin.Technique = n.By
		}
		if sg, ok := p.signs[i]; ok {
			note.Ornament, note.Origin.Technique = sg.ornament, sg.by
			note.Origin.Why = reason.Clauses(note.Origin.Why, sg.say)
		}
		for g, gp := range p.song.Melody[i].Graces {
			gp.Octave += n.Pitch.Octave - p.song.Melody[i].Pitch.Octave
			s.Notes = append(s.Notes, score.Note{Hand: score.Right, Voice: 1, At: n.At, Pitch: gp, Grace: uint8(g + 1),
				Marks: score.Slashed, Origin: score.Origin{Kind: score.Ornamental, Why: reason.Fact("grace")}})
		}
		s.Notes = append(s.Notes, note)
	}
}

func (p *piece) writeFigure(s *score.Score, c *cell, h score.Hand, f technique.Figure, by string) {
	for _, t := range f.Tones {
		switch t.Kind {
		case score.Chord, score.Tension, score.Bass, score.Fill, score.GhostNote:
			if !p.locked(c.bar) {
				t.Pitch = p.spelled(c, t.Pitch)
			}
		}
		s.Notes = append(s.Notes, score.Note{Hand: h, Voice: 1, At: t.At, Dur: t.Dur, Pitch: t.Pitch, Grace: t.Grace,
			Marks: t.Marks, Ornament: t.Ornament, Velocity: t.Velocity,
			Origin: score.Origin{Kind: t.Kind, Technique: by, Why: p.toneWhy(c, t, f)}})
	}
}

// spelled writes a chord note as its symbol spells it, so that A♭7 has a G♭, but
// without double accidentals and without C♭, F♭, E♯ and B♯ where the key does not
// have them: a part is read, not analysed. Over a flat root C♭ and F♭ stay, so that
// the seventh of D♭7 looks like the seventh that its symbol and its card name.
func (p *piece) spelled(c *cell, q theory.Pitch) theory.Pitch {
	k := spellKey{c.Key, c.Chord, q.Class()}
	n, ok := p.spelling[k]
	if !ok {
		n = theory.HarmonicSpelling(c.Key, c.Chord, q.MIDI()).Name
		if d, in := c.Chord.Degree(q.Name); in {
			n = d.On(c.Chord.Root).Reading()
		}
		if white := n.At(4).MIDI(); n.Alter != 0 && !hand.Black(white) && !c.Key.Contains(n) {
			n = naturalName(n)
		}
		if c.Chord.Root.Alter < 0 {
			for _, m := range c.Chord.SpellReading() {
				if m.Class() == k.class && m.Alter < 0 && !hand.Black(m.At(4).MIDI()) {
					n = m
				}
			}
		}
		p.spelling[k] = n
	}
	for i := range c.Melody { // one key has one name at a time: the tune's
		if m := c.Melody[i].Pitch.Name; m != n && m.Class() == k.class {
			n = m
		}
	}
	return n.Nearest(q.MIDI())
}

// naturalName spells a white key by its own letter.
func naturalName(n theory.Name) theory.Name {
	for l := theory.C; l <= theory.B; l++ {
		if m := (theory.Name{Letter: l}); m.Class() == n.Class() {
			return m
		}
	}
	return n
}

type spellKey struct {
	key   theory.Key
	chord theory.Chord
	class int
}

// writeEnding lets the page end: slower, where the level does that, and the last
// chord of both hands held; in time in what is danced or marched to.
func (p *piece) writeEnding(s *score.Score) {
	if p.home < 0 || p.song.Melody[len(p.song.Melody)-1].At != p.home { // what runs to its end does not linger
		return
	}
	if b := p.song.BarAt(p.home); p.level.SlowEnding && b >= 3 && !p.song.Joint(b) {
		s.Directions = append(s.Directions, score.Direction{At: s.Bars[b-1].At, Kind: score.Words, Hand: score.Right, Text: "rit."})
	}
	if p.kind.InTime {
		return
	}
	for i := range s.Notes {
		if n := &s.Notes[i]; n.Grace == 0 && n.At == p.home {
			n.Marks |= score.Fermata
		}
	}
}

// writePedal marks the pedal under figures that need it: down with the chord,
// up at its end; what is danced or marched to is played dry, but for a last chord. A phrase has
// pedal or has none, as most of it asks: for one bar it is a spot. A rolled chord keeps its own.
func (p *piece) writePedal(s *score.Score) {
	wet := p.wetPhrases()
	for i := range p.cells {
		c := &p.cells[i]
		if l := p.fixed.locks[c.bar]; l != nil {
			if c.At == l.At {
				for _, d := range l.Pedal {
					s.Directions = append(s.Directions,
						score.Direction{At: d[0], Kind: score.PedalDown, Hand: score.Left},
						score.Direction{At: d[1], Kind: score.PedalUp, Hand: score.Left})
				}
			}
			continue
		}
		switch f := c.chosenLeft; {
		case len(f.Tones) == 0, p.kind.InTime && !c.Last, !f.Pedal && (c.Last || !wet[c.phrase]):
			continue
		case !c.Last && !wet[c.phrase] && !slices.ContainsFunc(f.Tones, func(t technique.Tone) bool { return t.Marks.Has(score.Rolled) }):
			continue
		}
		s.Directions = append(s.Directions,
			score.Direction{At: c.At, Kind: score.PedalDown, Hand: score.Left},
			score.Direction{At: c.End, Kind: score.PedalUp, Hand: score.Left})
	}
}

// wetPhrases are those in which figures that need the pedal last longer than the others.
func (p *piece) wetPhrases() map[int]bool {
	lead := map[int]theory.Dur{}
	for i := range p.cells {
		c := &p.cells[i]
		l := p.fixed.locks[c.bar]
		switch {
		case len(c.chosenLeft.Tones) == 0:
		case l != nil && len(l.Pedal) > 0, l == nil && c.chosenLeft.Pedal:
			lead[c.phrase] += c.Dur()
		default:
			lead[c.phrase] -= c.Dur()
		}
	}
	wet := make(map[int]bool, len(lead))
	for ph, d := range lead {
		wet[ph] = d > 0
	}
	return wet
}

// writeFingers writes the fingers that the teacher chose and those of locked bars.
func (p *piece) writeFingers(s *score.Score) {
	for _, c := range p.fixed.fingers {
		f := c.Fix.(choice.Finger)
		below, above, note := 0, 0, -1
		for i, n := range s.Notes {
			switch key := f.Pitch.MIDI(); {
			case n.At != c.At || f.Hand != 0 && n.Hand != f.Hand:
			case n.Pitch.MIDI() == key && n.Grace == 0 && note < 0:
				note = i
			}
		}
		if note < 0 {
			p.refuse(c, c.At, "choice-impossible.finger-no-note", "Note", f.Pitch)
			continue
		}
		n := &s.Notes[note]
		for _, m := range s.Notes {
			if m.At == n.At && m.Hand == n.Hand && m.Grace == 0 && m.Pitch.MIDI() < n.Pitch.MIDI() {
				below++
			}
			if m.At == n.At && m.Hand == n.Hand && m.Grace == 0 && m.Pitch.MIDI() > n.Pitch.MIDI() {
				above++
			}
		}
		if n.Hand == score.Left {
			below, above = above, below
		}
		if finger := int(f.Finger); finger <= below || finger > 5-above {
			p.refuse(c, c.At, "choice-impossible.finger", "Finger", int(f.Finger))
			continue
		}
		n.Finger, n.Marks = f.Finger, n.Marks|score.Fingered
	}
	// A page that is kept shows the fingers that it showed, and no others; where it
	// has none at all, nobody has said which.
	shown := false
	for _, l := range p.fixed.locks {
		shown = shown || l.fingered()
	}
	for bar, l := range p.fixed.locks {
		b := p.song.Bars[bar]
		for i := range s.Notes {
			n := &s.Notes[i]
			if n.At < b.At || n.At >= b.End() {
				continue
			}
			switch n.Finger = l.finger(n); {
			case n.Finger > 0:
				n.Marks |= score.Fingered
			case shown:
				n.Marks |= score.Bare
			}
		}
	}
}

// fingered tells whether a locked bar has a finger.
func (l *lock) fingered() bool {
	return slices.ContainsFunc(l.Lines, func(line choice.Line) bool {
		return slices.ContainsFunc(line.Tones, func(t choice.Tone) bool { return t.Finger > 0 })
	})
}

// finger is the finger that a locked bar has for a note; 0: none.
func (l *lock) finger(n *score.Note) uint8 {
	for _, line := range l.Lines {
		if (line.Part == choice.LeftHand) != (n.Hand == score.Left) {
			continue
		}
		for _, t := range line.Tones {
			if t.At == n.At && t.Grace == n.Grace && t.Pitch.MIDI() == n.Pitch.MIDI() {
				return t.Finger
			}
		}
	}
	return 0
}

// assignVoices puts what has a rhythm of its own into a second voice of its
// hand: under the tune in the right, above a held bass in the left.
func assignVoices(notes []score.Note) {
	type moment struct {
		at, dur theory.Dur
	}
	tune := map[moment]bool{}
	for _, n := range notes {
		if n.Hand == score.Right && n.Origin.Kind == score.Melody {
			tune[moment{n.At, n.Dur}] = true
		}
	}
	var held []moment
	for _, n := range notes {
		if n.Hand == score.Right && n.Origin.Kind == score.Melody {
			held = append(held, moment{n.At, n.Dur})
		}
	}
	slices.SortFunc(held, func(a, b moment) int { return cmp.Compare(a.at, b.at) })
	under := func(at, end theory.Dur) bool { // a note of the tune sounds meanwhile
		i, _ := slices.BinarySearchFunc(held, at, func(m moment, at theory.Dur) int { return cmp.Compare(m.at+m.dur, at+1) })
		return i < len(held) && held[i].at < end
	}
	for i := range notes {
		n := &notes[i]
		if n.Hand == score.Right && n.Origin.Kind != score.Melody && n.Grace == 0 && !tune[moment{n.At, n.Dur}] && under(n.At, n.End()) {
			n.Voice = 2
		}
	}
	var left []int
	for i := range notes {
		if notes[i].Hand == score.Left && notes[i].Grace == 0 {
			left = append(left, i)
		}
	}
	slices.SortStableFunc(left, func(a, b int) int { return score.Compare(notes[a], notes[b]) })
	for k, i := range left {
		for _, j := range left[k+1:] {
			if notes[j].At >= notes[i].End() {
				break
			}
			if notes[j].At > notes[i].At { // something begins while this is held
				notes[i].Voice = 2
				break
			}
		}
	}
}

// toneWhy says what a note of a figure over a chord is for.
func (p *piece) toneWhy(c *cell, t technique.Tone, f technique.Figure) reason.Reason {
	name := t.Pitch.Name
	if f.Under != nil { // of a line with a ghost the ghost alone is one
		f.Say = f.Under
	}
	switch t.Kind {
	case score.GhostNote:
		return reason.Because{What: reason.Sounds{Note: name}, Why: reason.Fact("ghost")}
	case score.Ornamental, score.Fill, score.Run, score.Approach, score.Doubling:
		return reason.Because{What: reason.Sounds{Note: name}, Why: f.Say}
	}
	var what reason.Reason = reason.Over{Note: name, Chord: c.Chord}
	if d, in := c.Chord.Degree(name); in {
		what = reason.IsDegree{Note: name, Degree: d, Chord: c.Chord}
	}
	if c.slot >= 0 && c.NewChord {
		// The reason for the chord is told where it shows: at the bass for a
		// device, at the added note for a colour.
		sl := p.slots[c.slot]
		tells := t.Kind == score.Bass && sl.device != "" || t.Kind == score.Tension
		if why := sl.reason(); tells && why != nil {
			what = reason.Because{What: what, Why: why}
		}
	}
	return reason.Clauses(what, f.Say)
}

// tuneWhy says what a note of the tune is to its chord.
func (p *piece) tuneWhy(n technique.MelodyNote) reason.Reason {
	switch p.song.Bars[p.song.BarAt(p.song.Melody[n.Event].At)].Part {
	case leadsheet.Introduction:
		return reason.Fact("before-the-tune")
	case leadsheet.Tag:
		return reason.Fact("after-the-tune")
	}
	var why reason.Reason = reason.Fact("the-tune")
	if i := p.slotAt(max(n.At, p.song.Melody[n.Event].At)); i >= 0 && !p.slots[i].chord.Silent() {
		chord := p.slots[i].chord
		if d, ok := chord.Degree(n.Pitch.Name); ok {
			why = reason.Because{What: why, Why: reason.IsDegree{Note: n.Pitch.Name, Degree: d, Chord: chord}}
		} else if n.Event < len(p.an.Roles) {
			role := reason.Role(p.an.Roles[n.Event].Kind.String())
			why = reason.Because{What: why, Why: reason.PlaysRole{Note: n.Pitch.Name, Role: role, Chord: chord}}
		}
	}
	if n.Pushed {
		why = reason.Together(why, reason.Fact("pushed"))
	}
	return why
}

// swings tells whether off-beat eighths are played late.
func (p *piece) swings() bool { return p.feel == leadsheet.Swing }
