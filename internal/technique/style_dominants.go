package technique

import (
	"gradatim/internal/harmony"
	"gradatim/internal/sight"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/theory"
)

// styleDominants lets I, vi and ii be dominants in swing and blues: the language
// of the style, before any secondary dominant is learnt.
var styleDominants = &Technique{
	ID: "style-dominants", Stage: Device,
	Needs: []string{"seventh-chords"},
	Rewrite: func(p Passage) []Rewrite {
		if !p.Usage.FreeDominants || p.Final {
			return nil
		}
		ch, ok := styleDominant(p)
		if !ok || ch == p.Span.Chord {
			return nil
		}
		cost := -8
		if ch.Root != p.Span.Chord.Root {
			cost = -10
		}
		out := p.replace(ch, styleDominantWhy(p, ch), cost, 0)
		next, ok := styledNext(p)
		for i := range out {
			out[i].Chain = true
			if ok {
				out[i].Then = next
			}
		}
		return out
	},
	Recognise: recogniseStyleDominants,
	Also:      []string{"secondary-dominant", "inserted-dominant", "turnaround", "pedal-point"},
	Drill:     ChangedChords,
}

// styleDominant says which dominant a jazzy style may put in the span's place.
// In the blues I and IV are dominants anywhere; in both styles the chords of the
// turnaround I–vi–(ii or IV)–V are, where they follow each other quickly.
func styleDominant(p Passage) (theory.Chord, bool) {
	ch := p.Span.Chord
	if !ch.UpperTones.Empty() || ch.Diminished() || isSus(ch) || ch.Slash || p.Span.Key.Mode.Minorish() {
		return ch, false
	}
	deg, alter := p.Span.Key.Degree(ch.Root)
	if alter != 0 {
		return ch, false
	}
	if ch.Dominant() {
		return ch, true
	}
	if place, ok := turnaroundPlace(p); ok {
		if place == 2 && deg == 4 {
			return seventhOn(p.Span.Key.Scale()[1]), true
		}
		return seventhOn(ch.Root), true
	}
	if p.plainTonic(ch) {
		return ch, false
	}
	if p.Usage.TonicSevenths && (deg == 1 || deg == 4 || deg == 5) && !ch.MinorThird() {
		return seventhOn(ch.Root), true
	}
	return ch, false
}

// styledNext is the dominant that the style may put in the next span's place.
func styledNext(p Passage) (theory.Chord, bool) {
	if !p.Next.Sounding() {
		return theory.Chord{}, false
	}
	q := p
	q.Span = p.Next
	return styleDominant(q)
}

// turnaroundPlace tells at which place (0 to 3) of a I–vi–(ii or IV)–V the span
// stands, each chord a bar or shorter.
func turnaroundPlace(p Passage) (int, bool) {
	spans := p.Analysis.Spans
	at := p.Analysis.SpanIndex(p.Span.At)
	bar := p.meter().Bar()
	matches := func(i, place int) bool {
		if i < 0 || i >= len(spans) || !spans[i].Sounding() || spans[i].Dur() > bar {
			return false
		}
		deg, alter := spans[i].Key.Degree(spans[i].Chord.Root)
		minor := spans[i].Chord.MinorThird()
		if alter != 0 {
			return false
		}
		switch place {
		case 0:
			return deg == 1 && !minor
		case 1:
			return deg == 6
		case 2:
			return deg == 2 || deg == 4 && !minor
		}
		return deg == 5 && !minor
	}
	for place := range 4 {
		all := true
		for k := range 4 {
			all = all && matches(at-place+k, k)
		}
		if all {
			return place, true
		}
	}
	return 0, false
}

func styleDominantWhy(p Passage, ch theory.Chord) reason.Reason {
	if ch.Root != p.Span.Chord.Root {
		return reason.InPlaceOf{Chord: ch, Sheet: p.Span.Chord}
	}
	if deg, alter := p.Span.Key.Degree(ch.Root); deg == 5 && alter == 0 {
		return reason.KeysDominant{Root: ch.Root}
	}
	return reason.StyleDominant{Root: ch.Root}
}

// fitsPart tells whether the tune allows a chord from the span's start until at.
func fitsPart(p Passage, ch theory.Chord, until theory.Dur) bool {
	return harmony.Fits(p.Song, ch, p.Span.At, until).Verdict != harmony.Refused
}

// recogniseStyleDominants finds dominant sevenths in a major key that are a colour
// before they are a way to another chord: on I where IV does not follow, on IV, and
// on vi and ii both in the chain vi–ii–V; where eighths swing on any of the four.
func recogniseStyleDominants(page *sight.Page) []Finding {
	hs := page.Harmonies()
	degree := func(i int) int {
		if i < 0 || i >= len(hs) {
			return 0
		}
		return hs[i].Degree()
	}
	var out []Finding
	for i, h := range hs {
		if h.Key.Mode.Minorish() || !h.Chord().Dominant() || isSus(*h.Chord()) {
			continue
		}
		d := degree(i)
		chain := d == 6 && degree(i+1) == 2 && hs[i+1].Chord().Dominant() || d == 2 && degree(i-1) == 6 && hs[i-1].Chord().Dominant() && degree(i+1) == 5
		swung := page.Score.Feel == leadsheet.Swing && (d == 1 || d == 2 || d == 6)
		if d == 1 && degree(i+1) != 4 || d == 4 || chain || swung {
			out = append(out, change(h))
		}
	}
	return out
}
