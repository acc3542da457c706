package teach

import (
	"slices"

	"gradatim/internal/harmony"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// proofs has the proof of each kind of sentence, by its message.
var proofs = map[string]proof{
	"bring.scale.text": func(p *page, h here, g stated) bool {
		k, _ := g["key"].(theory.Key)
		s, _ := g["Signature"].(reason.Signature)
		return int(s) == k.Fifths() && s != 0
	},
	"bring.scale.none": func(_ *page, _ here, g stated) bool { k, _ := g["key"].(theory.Key); return k.Fifths() == 0 },
	"bring.metre.text": func(p *page, _ here, g stated) bool {
		return slices.ContainsFunc(p.Score.Bars, func(b score.Bar) bool {
			m, _ := g["Metre"].(leadsheet.Meter)
			return b.Meter == m && m.BeatCount() == g.number("n")
		})
	},
	"bring.values.text": hasValues, "bring.values.triplets": hasValues,
	"bring.ties.text": inEach("Bars", func(p *page, b int) bool {
		return p.some(p.barHere(b), func(n score.Note) bool { return n.End() > p.Score.Bars[b].End() })
	}),
	"bring.swung.text": func(p *page, _ here, _ stated) bool { return p.Score.Feel == leadsheet.Swing && hasOffbeats(p.Score) },
	"bring.pedal.text": inEach("Bars", func(p *page, b int) bool {
		return slices.ContainsFunc(p.Score.Directions, func(d score.Direction) bool { return d.Kind == score.PedalDown && p.Score.BarAt(d.At) == b })
	}),
	"bring.chords.text": func(p *page, _ here, g stated) bool {
		cs, _ := g["chords"].([]theory.Chord)
		return len(cs) > 0 && !slices.ContainsFunc(cs, func(c theory.Chord) bool {
			return !slices.ContainsFunc(p.Score.Chords, func(s score.Symbol) bool { return unslashed(s.Chord) == unslashed(c) })
		})
	},
	"bring.range.text": func(p *page, _ here, g stated) bool {
		low, _ := g["Low"].(theory.Pitch)
		high, _ := g["High"].(theory.Pitch)
		for _, n := range p.Score.Notes {
			if isTune(n) && (n.Pitch.MIDI() < low.MIDI() || n.Pitch.MIDI() > high.MIDI()) {
				return false
			}
		}
		return true
	},
	"bring.chords-right.text": together(score.Right), "bring.chords-left.text": together(score.Left),
	"bring.leaps.text": leapsInto, "bring.leaps-inside.text": leapsInside,

	"change.becomes": both(theChords("page", "Now"), theChords("below", "Was")),
	"change.ends":    both(shownBelow, notHere), "change.was": both(shownHere("now"), shownBelow),
	"change.new": shownHere("now"), "change.gone": both(shownBelow, notHere),
	"change.pushed":  early,
	"change.early":   func(p *page, h here, _ stated) bool { return p.comesEarly(h) },
	"change.on-beat": func(p *page, h here, _ stated) bool { return !p.comesEarly(h) },

	"chord.sheet":   func(_ *page, _ here, g stated) bool { return g.chord("chord") == g.chord("Sheet") },
	"chord.after":   func(_ *page, _ here, g stated) bool { return g.chord("chord").Root != g.chord("Sheet").Root },
	"chord.before":  func(_ *page, _ here, g stated) bool { return g.chord("chord").Root != g.chord("Sheet").Root },
	"chord.instead": func(_ *page, _ here, g stated) bool { return g.chord("chord").Root != g.chord("Sheet").Root },
	"chord.changed": func(_ *page, _ here, g stated) bool {
		return g.chord("chord") != g.chord("Sheet") && g.chord("chord").Root.Class() == g.chord("Sheet").Root.Class()
	},
	"chord.with": func(_ *page, _ here, g stated) bool {
		return asNamed(g.degrees("more"), g.chord("chord"), g.chord("sheet"))
	},
	"chord.without": func(_ *page, _ here, g stated) bool {
		return asNamed(g.degrees("less"), g.chord("sheet"), g.chord("chord"))
	},
	"chord.and-without": func(_ *page, _ here, g stated) bool {
		return asNamed(g.degrees("less"), g.chord("sheet"), g.chord("chord"))
	},
	"chord.over": func(_ *page, _ here, g stated) bool {
		return g.chord("chord").Slash && g.chord("chord").Bass == g.name("Bass")
	},

	"function.home": func(_ *page, _ here, g stated) bool { return g.chord("chord").Root.Class() == g.name("Tonic").Class() },
	"function.restless-home": func(_ *page, _ here, g stated) bool {
		return g.chord("chord").Root.Class() == g.name("Tonic").Class() && g.chord("chord").Dominant()
	},
	"function.stands-in": func(_ *page, _ here, g stated) bool { return common(g.chord("chord"), g.chord("Chord")) >= 2 },
	"function.away":      as(harmony.Subdominant),
	"function.asks":      both(as(harmony.Dominant), func(_ *page, _ here, g stated) bool { return g.chord("chord").Root.Class() != g.name("Tonic").Class() }),
	"function.cadential": func(_ *page, _ here, g stated) bool {
		c := g.chord("chord")
		return c.Slash && c.Bass.Class() == (c.Root.Class()+7)%12
	},
	"function.applied":           goal(true),
	"function.applied-elsewhere": goal(false),
	"function.related": both(as(harmony.Related), func(_ *page, _ here, g stated) bool {
		return g.chord("next").Root.Class() == (g.chord("chord").Root.Class()+5)%12
	}),
	"function.substitute":           both(goal(true), halfAbove),
	"function.substitute-elsewhere": both(goal(false), halfAbove),
	"function.borrowed-from-major":  fromOutside,
	"function.borrowed-from-minor":  fromOutside,
	"function.colours": func(_ *page, _ here, g stated) bool {
		r := g.chord("chord").Root.Class()
		return g.chord("next").Root.Class() == r && !g.chord("next").Silent() || g.chord("prev").Root.Class() == r && !g.chord("prev").Silent()
	},
	"function.plain.asks": both(as(harmony.Dominant), func(_ *page, _ here, g stated) bool { return g.chord("chord").Root.Class() != g.name("Tonic").Class() }),
	"function.plain.cadential": func(_ *page, _ here, g stated) bool {
		c := g.chord("chord")
		return c.Slash && c.Bass.Class() == (c.Root.Class()+7)%12
	},
	"function.plain.applied": goal(true),
	"function.plain.related": both(as(harmony.Related), func(_ *page, _ here, g stated) bool {
		return g.chord("next").Root.Class() == (g.chord("chord").Root.Class()+5)%12
	}),
	"function.plain.substitute":          both(goal(true), halfAbove),
	"function.plain.borrowed-from-major": fromOutside,
	"function.plain.borrowed-from-minor": fromOutside,
	"function.passes":                    goal(true),
	"function.outside":                   fromOutside,

	"why.melody-is-its": func(p *page, h here, g stated) bool {
		d, _ := g["Degree"].(theory.Degree)
		return ofTune(p, h, g) && p.some(h, func(n score.Note) bool {
			c, ok := p.Score.ChordAt(max(n.At, h.at))
			return ok && isTune(n) && n.Pitch.Name == g.name("Note") && n.Pitch.Class() == (c.Chord.Root.Class()+d.Class())%12
		})
	},
	"why.melody-is": both(ofTune, tone),
	"why.melody-steps": func(p *page, h here, g stated) bool {
		n := g.note()
		next, ok := p.tuneAfter(n.End())
		d := next.Pitch.MIDI() - n.Pitch.MIDI()
		return ok && n.Pitch.Name == g.name("Note") && next.Pitch.Name == g.name("Next") && d != 0 && d >= -2 && d <= 2
	},
	"why.melody-above": func(p *page, h here, g stated) bool {
		n := g.note()
		_, in := g.chord("Chord").Degree(n.Pitch.Name)
		return !in && n.Pitch.Name == g.name("Note") && !p.some(here{max(h.at, n.At), max(h.at, n.At) + 1}, func(m score.Note) bool { return m.Pitch.MIDI() > n.Pitch.MIDI() })
	},
	"why.smooth": func(p *page, h here, g stated) bool {
		return !p.some(h, func(n score.Note) bool { return isTune(n) && !smooth(g.chord("now"), g.chord("sheet"), n.Pitch) })
	},
	"why.exchanged": both(moreAndLess, chordNow), "why.joined": both(moreAndLess, chordNow), "why.left-out": both(moreAndLess, chordNow),
	"why.called": func(p *page, _ here, g stated) bool {
		n := g.note()
		c, ok := p.Score.ChordAt(n.At)
		d, in := c.Chord.Degree(n.Pitch.Name)
		said, _ := g["Degree"].(theory.Degree)
		return ok && in && d.Class() == said.Class() && n.Pitch.Name == g.name("Note")
	},
	"why.called-ghost": func(_ *page, _ here, g stated) bool { return g.note().Marks.Has(score.Ghost) },
	"why.called-bass": func(p *page, _ here, g stated) bool {
		c, ok := p.Score.ChordAt(g.note().At)
		return ok && c.Chord.Lowest().Class() == g.note().Pitch.Class()
	},
	"why.called-approach": func(p *page, _ here, g stated) bool {
		next, ok := p.leftAfter(g.note())
		return ok && abs(next.Pitch.MIDI()-g.note().Pitch.MIDI()) <= 7
	},
	"why.ghost": func(_ *page, _ here, g stated) bool {
		return g.note().Marks.Has(score.Ghost) && g.note().Pitch.Name == g.name("Note")
	},
	"why.left-plays":    strikesOf(score.Left),
	"why.left-plays-in": both(strikesOf(score.Left), inEach("Bars", func(p *page, b int) bool { return !leftRests(p, p.barHere(b), nil) })),
	"why.leads-half":    leads(1), "why.leads-whole": leads(2),
	"why.under": under, "why.under-tone": both(under, tone),
	"why.under-octave": octaveUnder, "why.under-octave-tone": both(octaveUnder, tone),
	"why.under-octave-and": both(octaveUnder, under), "why.under-octave-and-tone": both(both(octaveUnder, under), tone),
	"why.dropped": func(p *page, h here, g stated) bool {
		n := g.note()
		top, ok := p.tuneNear(h.at, h.end)
		return ok && n.Hand == score.Left && n.Pitch.MIDI()+12 < top.Pitch.MIDI() && n.Pitch.Name == g.name("Note")
	},
	"why.nearest": nearest, "why.lies-below": nearest,
	"why.pushed": early,
	"why.of-that-beat": func(p *page, _ here, g stated) bool {
		return toneHolds(p, here{g.note().At, g.note().End()}, g.note().Pitch.Name, g["Tone"])
	},
	"why.signed": signed, "why.signed-tone": both(signed, tone),
	"why.graced": halfBelow, "why.graced-tone": both(halfBelow, tone),
	"why.encloses": func(p *page, _ here, g stated) bool {
		above, below := false, false
		next, ok := g["next"].(score.Note)
		for _, n := range g.notes("notes") {
			d := n.Pitch.MIDI() - next.Pitch.MIDI()
			above, below = above || d > 0 && d <= 2, below || d < 0 && d >= -2
		}
		return ok && above && below && next.Pitch.Name == g.name("Note")
	},
	"why.enclosed": always, "why.enclosed-tone": func(p *page, _ here, g stated) bool {
		next, _ := g["next"].(score.Note)
		return toneHolds(p, here{next.At, next.End()}, next.Pitch.Name, g["Tone"])
	},
	"why.while-held": added(func(p *page, n score.Note, tune theory.Name) bool {
		m, ok := p.tuneAt(n.At)
		return ok && m.At < n.At && m.Pitch.Name == tune
	}),
	"why.after": added(func(p *page, n score.Note, tune theory.Name) bool {
		m, ok := p.tuneBefore(n.At)
		return ok && m.Pitch.Name == tune
	}),
	"why.in-rest": added(func(p *page, n score.Note, _ theory.Name) bool { _, sounds := p.tuneAt(n.At); return !sounds }),
	"why.goes-on": goesOn, "why.goes-on-tone": both(goesOn, func(p *page, h here, g stated) bool {
		next, ok := p.tuneAfter(h.end)
		return ok && toneHolds(p, here{next.At, next.End()}, next.Pitch.Name, g["Tone"])
	}),

	"plan.tune-alone": tuneAlone, "plan.rests": leftRests,
	"plan.single": kindOfNotes(score.Left, false, true), "plan.chords": kindOfNotes(score.Left, true, false), "plan.mixed": kindOfNotes(score.Left, true, true),
	"plan.more": func(p *page, h here, g stated) bool { return !tuneAlone(p, h, g) },
	"plan.left": shownHere("ids"), "plan.right": shownHere("ids"),
	"plan.pedal-last": func(p *page, _ here, _ stated) bool { return len(pedalBars(p.Score)) > 0 },
	"plan.spot":       inPlace, "plan.spot-over": inPlace,
	"plan.asks-more": func(p *page, _ here, _ stated) bool { return len(p.Hardest) > 0 },
	"plan.as":        sameAs, "plan.as-bare": sameAs, "plan.but-end": sameAs,
	"cadence.authentic": cadence(func(k theory.Key, a, b theory.Chord) bool {
		return step(k, b) == 0 && (step(k, a) == 7 || step(k, a) == 11)
	}),
	"cadence.half": cadence(func(k theory.Key, _, b theory.Chord) bool { return step(k, b) == 7 }),
	"cadence.plagal": cadence(func(k theory.Key, a, b theory.Chord) bool {
		return step(k, b) == 0 && (step(k, a) == 5 || step(k, a) == 2)
	}),
	"cadence.deceptive": cadence(func(k theory.Key, a, b theory.Chord) bool { return step(k, a) == 7 && step(k, b) != 0 }),

	"cadence.plain.authentic": cadence(func(k theory.Key, _, b theory.Chord) bool { return step(k, b) == 0 }),
	"cadence.plain.plagal":    cadence(func(k theory.Key, _, b theory.Chord) bool { return step(k, b) == 0 }),
	"cadence.plain.half":      cadence(func(k theory.Key, _, b theory.Chord) bool { return step(k, b) != 0 }),
	"cadence.plain.deceptive": cadence(func(k theory.Key, _, b theory.Chord) bool { return step(k, b) != 0 }),

	"talk.as":     sameAs,
	"talk.pickup": both(tuneAlone, leftRests), "talk.tune-alone": both(tuneAlone, leftRests),
	"talk.chord": func(p *page, h here, g stated) bool { return p.sets(g.chord("Chord"), h) },
	"talk.again": shownHere("ids"), "talk.again-names": shownHere("ids"), "talk.again-sound": shownHere("ids"), "talk.wrong": shownHere("ids"),

	"caution.wide.text": func(p *page, _ here, g stated) bool {
		n, _ := g["Width"].(words.HalfSteps)
		return widest(p.Score) == int(n)
	},
}
