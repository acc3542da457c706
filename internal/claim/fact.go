package claim

import (
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// calledDegrees are the degrees that facts give a name to.
var calledDegrees = map[reason.Fact]theory.Degree{
	"seventh": {Number: 7, Alter: -1}, "seventh-suspended": {Number: 7, Alter: -1}, "seventh-augmented": {Number: 7, Alter: -1},
	"seventh-half-diminished": {Number: 7, Alter: -1}, "seventh-diminished": {Number: 7, Alter: -2}, "seventh-major": {Number: 7},
	"seventh-major-on-minor": {Number: 7}, "seventh-blues": {Number: 7, Alter: -1}, "seventh-falls": {Number: 7, Alter: -1},
	"sixth": {Number: 6}, "sixth-minor-tonic": {Number: 6}, "sixth-borrowed": {Number: 6}, "sixth-under-root": {Number: 6},
}

// facts has the predicate of every fact. nil: it says nothing of notes, but who chose
// something, what a drill is, why a choice was refused, or what kind of tune it is.
var facts = map[reason.Fact]func(*Page, Place) bool{
	"teachers-choice": nil, "teachers-notes": nil,
	"exercise": nil, "scale": nil, "chord-held": nil, "half-step-below": nil, "rhythm-of-the-tune": nil, "tune-as-written": nil,
	"rule-too-quick": nil, "rule-meets-tune": nil, "rule-too-many": nil, "rule-too-wide": nil, "rule-out-of-reach": nil, "rule-off-keyboard": nil,
	"rule-too-low": nil, "rule-too-far-away": nil, "rule-too-much": nil, "rule-off-bass": nil, "rule-not-held": nil, "rule-hands-meet": nil,
	"tune-duple": nil, "tune-common": nil, "tune-cut": nil, "tune-triple": nil, "tune-broad-triple": nil, "tune-compound": nil, "tune-compound-triple": nil,
	"tune-sung": nil, "tune-unsung": nil, "tune-running": nil, "tune-walking": nil, "tune-broad": nil, "tune-held": nil, "tune-plain-chords": nil,
	"tune-rich-chords": nil, "tune-applied-chords": nil, "tune-free-sevenths": nil, "tune-slow-harmony": nil, "tune-quick-harmony": nil,
	"tune-modal": nil, "tune-minor": nil, "tune-strains": nil, "tune-short": nil, "tune-chorus": nil, "tune-twelve-bar": nil, "tune-off-beat": nil,
	"tune-dotted": nil, "tune-repeated": nil, "tune-steps": nil, "tune-leaps": nil, "tune-narrow": nil, "tune-wide": nil, "tune-strange": nil,
	"tune-fast": nil, "tune-slow": nil, "tune-traditional": nil, "tune-even": nil, "tune-swung": nil,

	"the-tune": func(p *Page, at Place) bool { return at.Note != nil && at.Note.Origin.Kind == score.Melody },
	"before-the-tune": func(p *Page, at Place) bool {
		b := p.score.BarAt(at.At)
		return at.Note != nil && b >= 0 && p.score.Bars[p.score.BarAt(at.Note.At)].Part == score.Introduction
	},
	"after-the-tune": func(p *Page, at Place) bool {
		return at.Note != nil && p.score.Bars[max(0, p.score.BarAt(at.Note.At))].Part == score.Tag
	},
	"pushed": func(p *Page, at Place) bool {
		if at.Note == nil {
			return false
		}
		b := p.score.Bars[max(0, p.score.BarAt(at.Note.At))]
		beat := b.Meter.OrCommon().BeatDur()
		off := b.Offset(at.Note.At) % beat
		return off > 0 && at.Note.At-off+beat < at.Note.End()
	},
	"grace": func(p *Page, at Place) bool { return at.Note != nil && at.Note.Grace > 0 },
	"ghost": func(p *Page, at Place) bool {
		if at.Note == nil || !at.Note.Marks.Has(score.Ghost) {
			return false
		}
		for _, n := range p.within(at.Note.At-2*theory.Whole, at.Note.At) {
			if n.Hand == score.Left && n.Pitch.Class() == at.Note.Pitch.Class() && n.At < at.Note.At {
				return true
			}
		}
		return false
	},

	"borrowed-iv":   func(p *Page, at Place) bool { return rootIs(at, 5) && at.Chord.MinorThird() && !at.Key.Mode.Minorish() },
	"cliche-climbs": func(p *Page, at Place) bool { return p.line(at, 7, 8, 9) },
	"cliche-falls":  func(p *Page, at Place) bool { return p.line(at, 12, 11, 10, 9) },
	"turnaround-vi": func(p *Page, at Place) bool { return rootIs(at, 9) || rootIs(at, 8) },
	"turnaround-ii": func(p *Page, at Place) bool { return rootIs(at, 2) && falls(at) },
	"turnaround-v":  func(p *Page, at Place) bool { return rootIs(at, 7) && isMajor(at.Chord) },
	"diatonic-passing": func(p *Page, at Place) bool {
		d := up(at.After.Root, -at.Chord.Root.Class())
		return !at.After.Silent() && (d == 1 || d == 11)
	},
	"related-ii": func(p *Page, at Place) bool { return falls(at) && isMajor(at.After) && at.Chord.MinorThird() },
	"related-half-diminished": func(p *Page, at Place) bool {
		return falls(at) && isMajor(at.After) && at.Chord.HasClass(up(at.Chord.Root, 6))
	},

	"seventh":                 seventh(func(at Place) bool { return true }),
	"seventh-falls":           seventh(func(at Place) bool { return true }),
	"seventh-suspended":       seventh(func(at Place) bool { return at.Chord.Tones.Has(theory.Degree{Number: 4}) }),
	"seventh-augmented":       seventh(func(at Place) bool { return at.Chord.HasClass(up(at.Chord.Root, 8)) }),
	"seventh-half-diminished": seventh(func(at Place) bool { return at.Chord.HasClass(up(at.Chord.Root, 6)) && at.Chord.MinorThird() }),
	"seventh-diminished":      seventh(func(at Place) bool { return at.Chord.Diminished() }),
	"seventh-major":           seventh(func(at Place) bool { return isMajor(at.Chord) }),
	"seventh-major-on-minor":  seventh(func(at Place) bool { return at.Chord.MinorThird() }),
	"seventh-blues":           seventh(func(at Place) bool { return at.Chord.Dominant() }),
	"sixth":                   sixth(func(*Page, Place) bool { return true }),
	"sixth-minor-tonic":       sixth(func(p *Page, at Place) bool { return rootIs(at, 0) && at.Chord.MinorThird() }),
	"sixth-borrowed":          sixth(func(p *Page, at Place) bool { return rootIs(at, 5) && at.Chord.MinorThird() }),
	"sixth-under-root": sixth(func(p *Page, at Place) bool {
		for _, n := range p.tuneIn(at.At, at.End) {
			if n.Pitch.Class() == at.Chord.Root.Class() {
				return true
			}
		}
		return false
	}),
}

func seventh(more func(Place) bool) func(*Page, Place) bool {
	return func(_ *Page, at Place) bool {
		_, ok := at.Chord.Seventh()
		return ok && more(at)
	}
}

func sixth(more func(*Page, Place) bool) func(*Page, Place) bool {
	return func(p *Page, at Place) bool {
		return at.Chord.Tones.Has(theory.Degree{Number: 6}) && more(p, at)
	}
}

// rootIs tells whether a chord stands so many half steps above the tonic.
func rootIs(at Place, half int) bool {
	return at.Key.Valid() && up(at.Chord.Root, -at.Key.Tonic.Class()) == half
}

// falls tells whether the root goes on by a fifth down.
func falls(at Place) bool {
	return !at.After.Silent() && up(at.Chord.Root, 5) == at.After.Root.Class()
}

// line tells whether tones of the chord, in half steps above its root, are struck one
// after another, all but the last at most.
func (p *Page) line(at Place, tones ...int) bool {
	k, until := 0, at.End
	for _, s := range p.spans { // the line runs through all chords on one root
		if s.at >= at.At && s.chord.Root == at.Chord.Root && s.at <= until {
			until = max(until, s.end)
		}
	}
	for _, n := range p.within(at.At, until) {
		if k < len(tones) && n.Pitch.Class() == up(at.Chord.Root, tones[k]) {
			k++
		}
	}
	return k >= len(tones)-1
}
