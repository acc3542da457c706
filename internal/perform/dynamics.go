package perform

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"gradatim/score"
	"gradatim/theory"
)

// heard is a note of the score with what the player thinks of it.
type heard struct {
	note     score.Note
	index    int // in reading.notes
	role     score.Kind
	tune     bool // part of the melody, its ornaments included
	walking  bool // part of a walking bass
	velocity float64
	phrase   int  // index into phrases
	last     bool // the tune's last note of a phrase
	joined   bool // to the note after it, under a slur
}

// loudness is the velocity each role starts from at mezzo forte: the tune well
// above the rest, the bass above the inner voices. Common practice, no source; that
// a melody is played louder than its accompaniment, and how much more than players
// think, is measured in Goebl, "Melody lead in piano performance", JASA 110(1),
// 2001.
var loudness = map[score.Kind]float64{
	score.Melody: 70, score.Doubling: 62, score.Ornamental: 60, score.Run: 64, score.Fill: 54,
	score.Bass: 56, score.Approach: 53, score.Passing: 51, score.Chord: 48, score.Tension: 49,
	score.GhostNote: 30,
}

const (
	ghostVelocity   = 30
	walkingVelocity = 58
	accentVelocity  = 12
)

// listen gives every ordinary note its role and loudness.
func (r *reading) listen() {
	r.notes = make([]heard, len(r.score.Notes))
	for i, n := range r.score.Notes {
		r.notes[i] = heard{note: n, index: i, role: n.Origin.Kind}
	}
	r.guessRoles()
	r.findTune()
	r.findWalking()
	r.findSlurs()
	phrases := r.phrases()
	r.crown(phrases)
	r.loud = [2]score.Loudness{r.score.Loudness(score.Right), r.score.Loudness(score.Left)}
	for i := range r.notes {
		r.notes[i].velocity = r.level(&r.notes[i], phrases)
	}
	r.balance()
}

// between returns the notes that start from a position to before another.
func (r *reading) between(from, to theory.Dur) []heard {
	i := sort.Search(len(r.notes), func(i int) bool { return r.notes[i].note.At >= from })
	j := sort.Search(len(r.notes), func(i int) bool { return r.notes[i].note.At >= to })
	return r.notes[i:max(i, j)]
}

// guessRoles fills in what notes are for where the score does not say: the top
// line of the right hand is the tune, unless the score names one, and on strong
// beats the bottom line of the left is the bass. A note under a longer one that
// still sounds is an inner voice, whenever it starts.
func (r *reading) guessRoles() {
	longest, named := theory.Dur(0), false
	for i := range r.notes {
		longest = max(longest, r.notes[i].note.Dur)
		named = named || r.notes[i].role == score.Melody
	}
	for i := range r.notes {
		n := r.notes[i].note
		if r.notes[i].role != 0 {
			continue
		}
		outer := true
		for _, h := range r.between(n.At-longest, n.At+1) {
			m := h.note
			if m.Hand != n.Hand || m.Grace > 0 || m.At > n.At || m.At != n.At && m.End() <= n.At {
				continue
			}
			d := m.Pitch.MIDI() - n.Pitch.MIDI()
			if n.Hand == score.Right && d > 0 || n.Hand == score.Left && d < 0 {
				outer = false
				break
			}
		}
		switch {
		case n.Grace > 0:
			r.notes[i].role = score.Ornamental
		case n.Marks.Has(score.Ghost):
			r.notes[i].role = score.GhostNote
		case outer && n.Hand == score.Right && !named:
			r.notes[i].role = score.Melody
		case outer && n.Hand == score.Left && r.strong(n.At):
			r.notes[i].role = score.Bass
		default:
			r.notes[i].role = score.Chord
		}
	}
}

// strong tells whether a position is the first beat of a bar or its middle.
func (r *reading) strong(at theory.Dur) bool {
	b := r.score.Bars[max(r.score.BarAt(at), 0)]
	return !b.Meter.Valid() || b.Meter.Strength(b.Offset(at)) <= 1
}

// findTune marks the melody and what decorates it.
func (r *reading) findTune() {
	at := map[theory.Dur]map[score.Hand]bool{}
	for i := range r.notes {
		n := &r.notes[i]
		n.tune = n.role == score.Melody || n.role == score.Ornamental && n.note.Origin.Melody > 0
		if n.role == score.Melody {
			if at[n.note.At] == nil {
				at[n.note.At] = map[score.Hand]bool{}
			}
			at[n.note.At][n.note.Hand] = true
		}
	}
	for i := range r.notes { // grace notes belong to the note they lean on
		if n := &r.notes[i]; n.note.Grace > 0 && at[n.note.At][n.note.Hand] {
			n.tune = true
		}
	}
}

// findWalking marks bars whose left hand walks: single notes on most beats,
// moving by step somewhere.
func (r *reading) findWalking() {
	for _, b := range r.bars {
		var left []*heard
		in := r.between(b.At, b.End())
		for i := range in {
			if n := &in[i]; n.note.Hand == score.Left && n.note.Grace == 0 && n.role != score.GhostNote {
				left = append(left, n)
			}
		}
		steps, single := 0, len(left) >= 3 && len(left) >= b.Meter.BeatCount()-1
		for i, n := range left {
			if i > 0 {
				if n.note.At == left[i-1].note.At {
					single = false
				}
				if d := n.note.Pitch.MIDI() - left[i-1].note.Pitch.MIDI(); d != 0 && d >= -2 && d <= 2 {
					steps++
				}
			}
			single = single && n.note.Dur <= theory.Quarter && (n.note.At-b.At)%theory.Quarter == 0
		}
		if single && steps > 0 {
			for _, n := range left {
				n.walking = true
			}
		}
	}
}

// findSlurs marks the notes that a slur joins to the one after them: in the right hand
// those of the tune, as what lies under it is held by itself.
func (r *reading) findSlurs() {
	type voice struct {
		hand   score.Hand
		number uint8
	}
	open := map[voice]int{}
	for i := range r.notes {
		n := &r.notes[i]
		if n.note.Hand == score.Right && !n.tune {
			continue
		}
		v := voice{n.note.Hand, n.note.Voice}
		if n.note.Marks.Has(score.SlurTo) {
			open[v]--
		}
		if n.note.Marks.Has(score.SlurFrom) {
			open[v]++
			r.slurs = r.slurs || n.note.Grace == 0
		}
		n.joined = open[v] > 0
	}
}

// phrase is a stretch of the piece that the tune is shaped over.
type phrase struct {
	from, to, peak theory.Dur
	top            int     // key of the tune's highest note
	rise           float64 // velocity at the peak, above the phrase's middle
}

// phrases cuts the score where phrases begin, else every four bars, finds the
// highest note of the tune in each and marks the last.
func (r *reading) phrases() []phrase {
	bars := r.score.Bars
	marked := slices.ContainsFunc(bars[1:], func(b score.Bar) bool { return b.PhraseStart })
	starts := []theory.Dur{bars[0].At}
	full := 0
	for _, b := range bars[1:] {
		full++
		if marked && b.PhraseStart || !marked && full%4 == 0 {
			starts = append(starts, b.At)
		}
	}
	ps := make([]phrase, len(starts))
	for i := range ps {
		ps[i].from, ps[i].to = starts[i], r.score.End()
		if i+1 < len(ps) {
			ps[i].to = starts[i+1]
		}
		ps[i].peak = (ps[i].from + ps[i].to) / 2
	}
	last := make([]int, len(ps))
	for i := range r.notes {
		n := &r.notes[i]
		n.phrase = max(sort.Search(len(ps), func(j int) bool { return ps[j].from > n.note.At })-1, 0)
		if n.role != score.Melody {
			continue
		}
		if k := n.note.Pitch.MIDI(); k > ps[n.phrase].top {
			ps[n.phrase].top = k
			ps[n.phrase].peak = n.note.At
		}
		if j := last[n.phrase]; j == 0 || cmp.Compare(r.notes[j-1].note.At, n.note.At) <= 0 {
			last[n.phrase] = i + 1
		}
	}
	for _, i := range last {
		if i > 0 {
			r.notes[i-1].last = true
		}
	}
	return ps
}

// The height of a phrase's arch, and of that which holds the highest note of the piece.
const (
	arch  = 6
	crest = 10
)

// crown gives each phrase the height of its arch: the piece has one highest place, and
// that is its loudest where no sign says otherwise (common practice, no source). Of equal
// phrases it is the last, as music grows.
func (r *reading) crown(ps []phrase) {
	top := 0
	for i := range ps {
		ps[i].rise = arch
		if ps[i].top >= ps[top].top {
			top = i
		}
	}
	ps[top].rise = crest
}

// dynamics are the velocities of ppp, pp, p, mp, mf, f, ff and fff as shares of
// that of mezzo forte. From pp to ff they span 18.4 dB and each step but the last
// about 3.7, as General MIDI instruments turn velocity into level: 40·log10 of it
// (SoundFont 2.04, default modulators, from memory). That the span of pianists is
// about as wide is from memory too; that steps are about equal, common practice.
var dynamics = [...]float64{0.42, 0.52, 0.645, 0.80, 1, 1.225, 1.5, 1.68}

// share is the share of mezzo forte at a step, straight between two signs.
func share(s score.Step) float64 {
	s = min(max(s, 1000), score.Step(1000*len(dynamics)))
	i := int(s)/1000 - 1
	if i == len(dynamics)-1 {
		return dynamics[i]
	}
	t := float64(s%1000) / 1000
	return dynamics[i] + t*(dynamics[i+1]-dynamics[i])
}

// level is the velocity of a note. Phrases rise to their highest note and fall
// to their end; strong beats are a little heavier; a note struck between beats
// and held over the next is leaned on, and so are swung upbeats. (The shape
// follows the phrase arch and metrical accent of the KTH rule system: Friberg,
// Bresin and Sundberg, "Overview of the KTH rule system for musical
// performance", Advances in Cognitive Psychology 2(2-3), 2006; the amounts are
// ours.)
//
// A note that was played keeps the loudness that it had, unless all is to be equal.
func (r *reading) level(n *heard, phrases []phrase) float64 {
	if v := n.note.Stroke.Velocity; v > 0 && !r.opt.Even {
		return float64(v)
	}
	v, known := loudness[n.role]
	if !known {
		v = loudness[score.Chord]
	}
	if n.walking {
		v = walkingVelocity
	}
	if n.note.Marks.Has(score.Ghost) {
		v = ghostVelocity
	}

	p := phrases[n.phrase]
	shape := 0.0
	if n.note.At <= p.peak {
		if up := p.peak - p.from; up > 0 {
			shape = -4 + (p.rise+4)*float64(n.note.At-p.from)/float64(up)
		} else {
			shape = p.rise
		}
	} else if down := p.to - p.peak; down > 0 {
		shape = p.rise - (p.rise+6)*float64(n.note.At-p.peak)/float64(down)
	}
	if !n.tune {
		shape /= 2
	}
	v += shape

	v += r.weight(n)
	if n.note.Marks.Has(score.Accent) || r.stressed(n.note) {
		v += accentVelocity
	}
	if n.note.Marks.Has(score.Tenuto) {
		v += 4
	}
	if n.note.Grace > 0 {
		v -= 8
	}
	v *= r.dynamic(n.note)
	percent := float64(n.note.Velocity)
	if n.role == score.GhostNote || n.note.Marks.Has(score.Ghost) {
		percent = max(percent, 0) // soft already
	}
	return v * (1 + percent/100)
}

// weight is what the place in the bar adds.
func (r *reading) weight(n *heard) float64 {
	i := r.score.BarAt(n.note.At)
	if i < 0 || !r.score.Bars[i].Meter.Valid() {
		return 0
	}
	b := r.score.Bars[i]
	m := b.Meter
	off := b.Offset(n.note.At)
	strength := m.Strength(off)
	swinging := r.swing.Upbeat() > 0.5
	if strength >= 3 && n.role != score.GhostNote {
		// Held over the next beat: a syncopation.
		beat := m.BeatDur()
		if next := off - off%beat + beat; off+n.note.Dur > next && n.note.Dur >= theory.Quarter {
			return 8
		}
	}
	if swinging && !m.Compound() {
		switch {
		case strength == 3:
			return 2
		case n.walking && strength == 2 && m.BeatCount() == 4:
			return 3 // beats two and four
		}
		return 0
	}
	return [...]float64{3, 1.5, 0, -2, -3}[strength]
}

// underSign is how much louder than its sign says the left hand plays under a tune
// whose sign is higher, up to that one: mf over p is what the roles of the notes
// have by themselves.
var underSign = share(score.Mezzoforte) / share(score.Mezzoforte-2000)

// dynamic is the share of mezzo forte that signs and hairpins call for.
func (r *reading) dynamic(n score.Note) float64 {
	upper := share(r.loud[0].At(n.At))
	if n.Hand != score.Left {
		return upper
	}
	lower := share(r.loud[1].At(n.At))
	if lower < upper {
		return min(lower*underSign, upper)
	}
	return lower
}

// stressed tells whether a sign such as sfz stands at a note.
func (r *reading) stressed(n score.Note) bool {
	i := sort.Search(len(r.score.Directions), func(i int) bool { return r.score.Directions[i].At >= n.At })
	for _, d := range r.score.Directions[i:] {
		if d.At > n.At {
			break
		}
		if d.Kind == score.Dynamic && stresses[d.Text] && (d.Hand == score.Left) == (n.Hand == score.Left) {
			return true
		}
	}
	return false
}

// stresses are the signs that are for one moment.
var stresses = map[string]bool{"sf": true, "sfz": true, "sffz": true, "fz": true, "rf": true, "rfz": true, "fp": true, "sfp": true, "sfzp": true}

// whole turns a velocity into what MIDI carries.
func whole(v float64) int { return int(math.Round(min(max(v, 12), 127))) }

// sounding tells whether a note is played in the bars chosen.
func (r *reading) sounding(n score.Note) bool {
	if n.Grace > 0 {
		return n.At >= r.from && n.At < r.to
	}
	return n.At < r.to && n.End() > r.from && n.Dur > 0
}
