package smf

import (
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Division is the division of Plain: one tick is one theory.Dur, so that every
// length is exact.
const Division = int(theory.Quarter)

// How Plain plays what has no exact length or loudness; our own choices, no
// source.
const (
	graceLength  = theory.Quarter / 10 // a grace note, taken from before its main note
	ghostPercent = 50
	usualTempo   = 500_000 // microseconds per quarter
)

// velocities of the dynamics from ppp to fff (common practice, no source).
var velocities = [...]int{16, 33, 49, 64, 80, 96, 112, 126}

// velocityOf is the velocity of a step of the dynamics, straight between two signs.
func velocityOf(s score.Step) int {
	i := min(max(int(s)/1000, 1), len(velocities)) - 1
	if i == len(velocities)-1 {
		return velocities[i]
	}
	return velocities[i] + (velocities[i+1]-velocities[i])*(int(s)%1000)/1000
}

// Plain plays a score exactly as written: straight eighths, no ornament played
// out, chords together, the pedal where it is printed. The right hand is on the
// first track and channel, the left on the second.
func Plain(s score.Score) Sequence {
	q := Sequence{Division: Division, Title: s.Title, Copyright: s.Rights, End: int64(s.End()),
		Tempos: []Tempo{{0, microsPerQuarter(s.Tempo)}},
		Tracks: []Track{{Name: "Right hand", Channel: 0}, {Name: "Left hand", Channel: 1}},
	}
	if len(s.Bars) == 0 {
		return q
	}
	meter, key := leadsheet.Meter{}, theory.Key{}
	for i, b := range s.Bars {
		m := leadsheet.Meter{Beats: b.Meter.Beats, Unit: b.Meter.Unit}
		if short, ok := exactMeter(b.Dur); ok && (b.Pickup || m.Valid() && b.Dur < m.Bar() && i+1 < len(s.Bars)) {
			m = short // so that the bars that follow fall on their bar lines
		}
		if m != meter && m.Valid() {
			q.Meters = append(q.Meters, Meter{int64(b.At), m.Beats, m.Unit})
			meter = m
		}
		if b.Key != key && b.Key.Valid() && b.Key.Fifths() >= -7 && b.Key.Fifths() <= 7 {
			q.Keys = append(q.Keys, Key{int64(b.At), b.Key.Fifths(), b.Key.Mode.Minorish()})
			key = b.Key
		}
		if b.Section != "" {
			q.Markers = append(q.Markers, Marker{int64(b.At), b.Section})
		}
	}
	for _, d := range s.Directions {
		if d.At < 0 || d.At > s.End() {
			continue
		}
		switch d.Kind {
		case score.PedalDown, score.PedalUp:
			value := 0
			if d.Kind == score.PedalDown {
				value = 127
			}
			for i := range q.Tracks {
				q.Tracks[i].Controls = append(q.Tracks[i].Controls, Control{int64(d.At), DamperPedal, value})
			}
		case score.Rehearsal:
			if d.Text != "" && s.Bars[s.BarAt(d.At)].Section != d.Text {
				q.Markers = append(q.Markers, Marker{int64(d.At), d.Text})
			}
		}
	}
	groups := graceGroups(s)
	loud := [2]score.Loudness{s.Loudness(score.Right), s.Loudness(score.Left)}
	for _, n := range s.Notes {
		if n.At < 0 || n.At >= s.End() || n.Pitch.MIDI() < 0 || n.Pitch.MIDI() > 127 {
			continue
		}
		usual := velocityOf(loud[0].At(n.At))
		if n.Hand == score.Left {
			usual = velocityOf(loud[1].At(n.At))
		}
		out := Note{At: int64(n.At), Length: int64(min(n.End(), s.End()) - n.At), Key: n.Pitch.MIDI(),
			Velocity: velocity(usual, n)}
		if n.Grace > 0 {
			count := theory.Dur(groups[graceKey{n.Hand, n.Voice, n.At}])
			start := max(0, n.At-count*graceLength) + theory.Dur(n.Grace-1)*graceLength
			out.At, out.Length = int64(min(start, s.End()-1)), int64(graceLength)
		}
		if out.Length < 1 {
			continue
		}
		t := &q.Tracks[0]
		if n.Hand == score.Left {
			t = &q.Tracks[1]
		}
		t.Notes = append(t.Notes, out)
	}
	return q
}

type graceKey struct {
	hand  score.Hand
	voice uint8
	at    theory.Dur
}

// graceGroups counts the grace notes before each main note.
func graceGroups(s score.Score) map[graceKey]uint8 {
	groups := map[graceKey]uint8{}
	for _, n := range s.Notes {
		if n.Grace > 0 {
			k := graceKey{n.Hand, n.Voice, n.At}
			groups[k] = max(groups[k], n.Grace)
		}
	}
	return groups
}

func velocity(usual int, n score.Note) int {
	percent := 100 + int(n.Velocity)
	if n.Velocity == 0 && n.Marks.Has(score.Ghost) {
		percent = ghostPercent
	}
	return min(max((usual*percent+50)/100, 1), 127)
}

func microsPerQuarter(t leadsheet.Tempo) int {
	if !t.Set() {
		return usualTempo
	}
	beats := int64(t.PerMinute) * int64(t.Beat)
	micros := (60_000_000*int64(theory.Quarter) + beats/2) / beats
	return int(min(max(micros, 1), 1<<24-1))
}

// exactMeter returns the metre whose full bar has the given length.
func exactMeter(d theory.Dur) (leadsheet.Meter, bool) {
	for unit := 4; unit <= 64; unit *= 2 {
		u := theory.Whole / theory.Dur(unit)
		if d > 0 && d%u == 0 && d/u <= 64 {
			return leadsheet.Meter{Beats: int(d / u), Unit: unit}, true
		}
	}
	return leadsheet.Meter{}, false
}
