package technique

import (
	"gradatim/internal/harmony"
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/theory"
)

// seventhChords gives each triad the seventh (or sixth) of its function.
var seventhChords = &Technique{
	ID: "seventh-chords", Stage: Device,
	Needs: []string{"plain-triads"},
	Paint: func(t Toned) []Tint {
		var out []Tint
		for i, s := range sevenths(t) {
			fit := harmony.Fits(t.Passage.Song, s.chord, t.At, t.End)
			if fit.Verdict == harmony.Refused && i > 0 {
				continue
			}
			cost := 3 + 4*i + fit.Cost/4
			if place, ok := turnaroundPlace(t.Passage); ok && place == 3 && t.Passage.Usage.FreeDominants && t.Passage.Manner.PlainReturn {
				cost = -3 // after three coloured dominants the last one is plain
			}
			out = append(out, Tint{Chord: s.chord, Cost: cost, Why: s.why, Plain: s.why == nil && s.chord == t.Chord})
		}
		return out
	},
	Recognise: recogniseSevenths,
	Adds:      func(_ theory.Chord, d degree) bool { return d.Number == 6 || d.Number == 7 },
	Retell:    func(theory.Chord, []degree, theory.Chord) reason.Reason { return nil }, // it told of the sixth
	Drill:     GuideCadence,
}

type seventh struct {
	chord theory.Chord
	why   reason.Reason
}

// sevenths lists the four-note forms of a chord by its function, the usual one
// first. What the sheet's own symbol has is kept.
func sevenths(t Toned) []seventh {
	ch := t.Chord
	if _, ok := ch.Seventh(); ok || !ch.UpperTones.Empty() {
		return []seventh{{ch, nil}}
	}
	if _, ok := ch.Third(); !ok { // a power chord keeps its open fifth
		return []seventh{{ch, nil}}
	}
	if t.Passage.Usage.Palette != AllColours && !t.leadsOn() || t.stays() {
		return []seventh{{ch, nil}}
	}
	with := func(d theory.Degree) theory.Chord {
		c := ch
		for _, n := range []int{2, 4, 9} { // an added note gives way to the seventh
			if !isSus(ch) {
				for _, x := range ch.Tones.Number(n) {
					c.Tones = c.Tones.Without(x)
				}
			}
		}
		c.Tones = c.Tones.With(d)
		return c
	}
	key := t.Passage.Span.Key
	deg, alter := key.Degree(ch.Root)
	say := func(d theory.Degree, as reason.Fact) reason.Reason { return reason.IsThe{Note: d.On(ch.Root), As: as} }
	usage := t.Passage.Usage
	switch {
	case isSus(ch):
		return []seventh{{with(degB7), say(degB7, "seventh-suspended")}}
	case ch.Tones.Has(degS5):
		return []seventh{{with(degB7), say(degB7, "seventh-augmented")}}
	case ch.Diminished():
		if deg == 7 && alter == 0 && !key.Mode.Minorish() || deg == 2 && key.Mode.Minorish() {
			return []seventh{{with(degB7), say(degB7, "seventh-half-diminished")}, {with(degBB7), say(degBB7, "seventh-diminished")}}
		}
		return []seventh{{with(degBB7), say(degBB7, "seventh-diminished")}}
	case ch.MinorThird():
		if deg == 1 && alter == 0 { // minor tonic
			six := seventh{with(deg6), say(deg6, "sixth-minor-tonic")}
			sev := seventh{with(degB7), say(degB7, "seventh")}
			if usage.MinorSixth && key.Mode == theory.Minor && !holdsLong(t, degB7) {
				return []seventh{six, sev, {with(deg7), say(deg7, "seventh-major-on-minor")}}
			}
			return []seventh{sev, six}
		}
		if deg == 4 && alter == 0 && !key.Mode.Minorish() { // borrowed iv
			return []seventh{{with(deg6), say(deg6, "sixth-borrowed")}, {with(degB7), say(degB7, "seventh")}}
		}
		return []seventh{{with(degB7), say(degB7, "seventh")}}
	}
	r := harmony.Read(key, t.Passage.Prev.Chord, t.Chord, t.Next)
	switch {
	case usage.TonicSevenths && alter == 0 && (deg == 1 || deg == 4 || deg == 5):
		return []seventh{{with(degB7), say(degB7, "seventh-blues")}}
	case r.Function == harmony.Dominant, r.Function == harmony.Applied, deg == 5 && alter == 0:
		return []seventh{{with(degB7), say(degB7, "seventh-falls")}}
	case deg == 7 && alter == -1:
		return []seventh{{with(degB7), say(degB7, "seventh")}, {with(deg7), say(deg7, "seventh-major")}}
	}
	maj := seventh{with(deg7), say(deg7, "seventh-major")}
	six := seventh{with(deg6), say(deg6, "sixth-under-root")}
	if holdsLong(t, deg1) {
		return []seventh{six}
	}
	six.why = say(deg6, "sixth")
	if t.Passage.Final || usage.TonicSixth && deg == 1 {
		return []seventh{six, maj}
	}
	return []seventh{maj, six}
}

// holdsLong tells whether the tune sits on a chord degree for a beat or longer,
// or begins the chord on it.
func holdsLong(t Toned, d theory.Degree) bool {
	class := d.On(t.Chord.Root).Class()
	for _, m := range melodyIn(t.Passage.Song, t.At, t.End) {
		if m.Pitch.Class() != class {
			continue
		}
		bar := t.Passage.Song.Bars[t.Passage.Song.BarAt(m.At)]
		if min(m.End(), t.End)-max(m.At, t.At) >= bar.Meter.BeatDur() || m.At <= t.At {
			return true
		}
	}
	return false
}

// recogniseSevenths finds chords with a seventh or sixth that is struck.
func recogniseSevenths(page *sight.Page) []Finding {
	var out []Finding
	for _, sp := range page.Spans() {
		ch := *sp.Chord()
		d, ok := ch.Seventh()
		if !ok || ch.Silent() {
			continue
		}
		if ids := page.StruckClass(sp.At, sp.End, d.On(ch.Root).Class()); len(ids) > 0 {
			out = append(out, Finding{At: sp.At, End: sp.End, Notes: ids, Detail: ch.Pretty()})
		}
	}
	return out
}
