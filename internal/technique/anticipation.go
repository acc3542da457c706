package technique

import (
	"gradatim/internal/sight"
	"gradatim/theory"
)

// anticipation pushes a note of the tune half a beat early and ties it over.
var anticipation = &Technique{
	ID: "anticipation", Stage: Line,
	Needs:     []string{"counting eighths", "ties"},
	Shift:     pushEarly,
	Recognise: recogniseAnticipation,
	Drill:     RhythmTap,
}

// pushEarly moves the start of note i half a beat forward where that makes
// sense: a note of a beat or more, on the first beat or the middle of a bar,
// with a longer neighbour before it to give way; never the first note, never the
// last, never against a repeated note, and in compound metres not at all, since
// half of a dotted beat belongs to neither eighth.
func pushEarly(t Tune, i int) (theory.Dur, bool) {
	n, before := t.Notes[i], t.Notes[i-1]
	bar := t.Song.Bars[t.Song.BarAt(n.At)]
	if bar.Meter.Compound() || bar.Pickup || i+1 == len(t.Notes) {
		return 0, false
	}
	beat := bar.Meter.BeatDur()
	if bar.Meter.Unit == 2 {
		beat = theory.Quarter
	}
	off := n.At - bar.At
	strong := off == 0 || bar.Meter.BeatCount()%2 == 0 && off == bar.Dur/2
	at := n.At - beat/2
	switch {
	case !strong, n.End-n.At < beat, off == 0 && n.End-n.At < 2*beat:
		return 0, false
	case before.End != n.At, before.Pushed, at-before.At < beat/2:
		return 0, false
	case before.Pitch == n.Pitch:
		return 0, false
	case bar.At == 0 && off == 0:
		return 0, false
	case bar.Section != "" && off == 0: // a section starts on its beat
		return 0, false
	}
	return at, true
}

// recogniseAnticipation finds top notes that begin half a beat before a strong
// beat and are held over it.
func recogniseAnticipation(page *sight.Page) []Finding {
	var out []Finding
	for _, p := range page.Right() {
		if p.Bar < 0 || p.Compound {
			continue
		}
		bar := page.Score.Bars[p.Bar]
		target := p.At + p.Pulse/2 - bar.At
		over := target == bar.Dur || bar.Meter.BeatCount()%2 == 0 && target == bar.Dur/2
		top := p.Top()
		if over && top.Dur > p.Pulse/2 {
			out = append(out, Finding{At: top.At, End: top.End(), Notes: []string{top.ID}, Detail: "half a beat early"})
		}
	}
	return out
}
