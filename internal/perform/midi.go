package perform

import (
	"gradatim/internal/smf"
	"gradatim/score"
)

// The metronome in MIDI files: the wood blocks of General MIDI's percussion,
// which is on the tenth channel.
const (
	percussion  = 9
	woodHigh    = 76
	woodLow     = 77
	clickLength = Division / 8
)

// MIDI returns the performance as a MIDI file's contents: the hands on two
// tracks and channels, the pedal on both, the metronome on the percussion
// channel. What is heard from the file is what a recording plays.
func (p Performance) MIDI(title, copyright string) smf.Sequence {
	s := smf.Sequence{Division: Division, Title: title, Copyright: copyright}
	hands := []smf.Track{{Name: "Right hand"}, {Name: "Left hand", Channel: 1}}
	click := smf.Track{Name: "Metronome", Channel: percussion}
	open := map[[2]int]int{} // hand and key to the index of the note that is down
	for _, e := range p.Events() {
		at := int64(e.Tick)
		s.End = max(s.End, at)
		switch e.Kind {
		case TempoEvent:
			s.Tempos = append(s.Tempos, smf.Tempo{At: at, MicrosPerQuarter: e.Micros})
		case MeterEvent:
			s.Meters = append(s.Meters, smf.Meter{At: at, Beats: e.Meter.Beats, Unit: e.Meter.Unit})
		case KeyEvent:
			s.Keys = append(s.Keys, smf.Key{At: at, Fifths: fifths(e), Minor: e.Signature.Mode.Minorish()})
		case MarkerEvent:
			s.Markers = append(s.Markers, smf.Marker{At: at, Text: e.Text})
		case PedalEvent:
			for i := range hands {
				hands[i].Controls = append(hands[i].Controls, smf.Control{At: at, Number: smf.DamperPedal, Value: e.Value})
			}
		case ClickEvent:
			key := woodLow
			if e.Value == 1 {
				key = woodHigh
			}
			click.Notes = append(click.Notes, smf.Note{At: at, Length: int64(clickLength), Key: key, Velocity: 90 + 20*e.Value})
		case NoteOn:
			t := &hands[trackOf(e.Hand)]
			open[[2]int{trackOf(e.Hand), e.Key}] = len(t.Notes)
			t.Notes = append(t.Notes, smf.Note{At: at, Length: 1, Key: e.Key, Velocity: e.Velocity})
		case NoteOff:
			t := &hands[trackOf(e.Hand)]
			n := &t.Notes[open[[2]int{trackOf(e.Hand), e.Key}]]
			n.Length = max(at-n.At, 1)
		}
	}
	s.Tracks = hands
	if click.Notes != nil {
		s.Tracks = append(s.Tracks, click)
	}
	return s
}

func trackOf(h score.Hand) int {
	if h == score.Left {
		return 1
	}
	return 0
}

// fifths is a key signature within what a MIDI file can say.
func fifths(e Event) int { return min(max(e.Signature.Fifths(), -7), 7) }
