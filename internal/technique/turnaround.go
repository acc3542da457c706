package technique

import (
	"gradatim/internal/harmony"
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/theory"
)

// turnaround fills a tonic at a section's end with chords that lead back.
var turnaround = &Technique{
	ID: "turnaround", Stage: Device,
	Needs: []string{"secondary-dominant", "related-ii"},
	Rewrite: func(p Passage) []Rewrite {
		key := p.Span.Key
		deg, alter := key.Degree(p.Span.Chord.Root)
		if p.Final || deg != 1 || alter != 0 || !p.Cadence || !p.Next.Sounding() || p.meter().Compound() || p.meter().BeatCount() != 4 {
			return nil
		}
		to, talter := key.Degree(p.Next.Chord.Root)
		bar := p.meter().Bar()
		if (to != 1 && to != 2) || talter != 0 || p.Span.Dur() < bar {
			return nil
		}
		scale := key.Scale()
		six, two, five := minorSeventhOn(scale[5]), minorSeventhOn(scale[1]), seventhOn(scale[4])
		if key.Mode.Minorish() {
			six, two = halfDiminishedOn(scale[5].Up(raised)), halfDiminishedOn(scale[1])
		}
		unit := 2 * p.pulse()
		if p.Span.Dur() < 2*bar {
			if p.shortest() > p.pulse() && !p.Manner.QuickChords {
				return nil
			}
			unit = p.pulse()
		}
		start := p.Span.End - 4*unit
		var second, dominant reason.Reason = reason.Fact("turnaround-ii"), reason.Fact("turnaround-v")
		forms := []struct {
			chords    [4]theory.Chord
			whys      [4]reason.Reason
			chromatic int
			cost      int
		}{
			{[4]theory.Chord{p.Span.Chord, six, two, five}, [4]reason.Reason{nil, reason.Fact("turnaround-vi"), second, dominant}, 0, 1},
			{[4]theory.Chord{p.Span.Chord, seventhOn(six.Root), two, five}, [4]reason.Reason{nil, reason.DominantOf{Goal: theory.Numeral{Degree: 2, Lower: true}}, second, dominant}, 1, 0},
		}
		var out []Rewrite
		for _, f := range forms {
			rw := Rewrite{Cost: f.cost, Chromatic: f.chromatic}
			if start > p.Span.At {
				rw.Chords = append(rw.Chords, Chord{At: p.Span.At, End: start, Chord: p.Span.Chord})
			}
			ok := true
			for k, ch := range f.chords {
				from, until := start+theory.Dur(k)*unit, start+theory.Dur(k+1)*unit
				fit := harmony.Fits(p.Song, ch, from, until)
				ok = ok && (k == 0 || fit.Verdict != harmony.Refused)
				rw.Cost += fit.Cost / 4
				rw.Chords = append(rw.Chords, Chord{At: from, End: until, Chord: ch, Why: f.whys[k]})
			}
			if ok {
				out = append(out, rw)
			}
		}
		return out
	},
	Recognise: recogniseTurnaround,
	Also:      []string{"secondary-dominant", "inserted-dominant", "related-ii"},
	Drill:     ChangedChords,
}

// recogniseTurnaround finds I–vi–ii–V (vi and ii of any quality), the last three
// within two bars.
func recogniseTurnaround(page *sight.Page) []Finding {
	var out []Finding
	hs := page.Harmonies()
	for i := 0; i+3 < len(hs); i++ {
		match := true
		for n, want := range []int{1, 6, 2, 5} {
			h := hs[i+n]
			deg, _ := h.Key.Degree(h.Chord().Root)
			match = match && deg == want && !h.Chord().Slash && (n == 0 || h.At == hs[i+n-1].End)
		}
		if bar := page.Score.Bars[page.Score.BarAt(hs[i].At)]; match && hs[i+3].At-hs[i+1].At < 2*bar.Meter.Bar() {
			f := Finding{At: hs[i+1].At, End: hs[i+3].End}
			for n := range 4 {
				if n > 0 {
					f.Detail += " – "
				}
				f.Detail += hs[i+n].Chord().Pretty()
			}
			out = append(out, f)
		}
	}
	return out
}
