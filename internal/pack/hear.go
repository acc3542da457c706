package pack

import (
	"bytes"
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html/template"

	"gradatim/internal/perform"
	"gradatim/internal/sound/codec"
	"gradatim/internal/teach"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Small music (examples, drills, chords) sounds where it stands. Recordings of all of it
// would be as long again as those of the scores; so one file has some notes of the piano,
// a major third apart, and a page plays them at the times of a performance, each at most a
// whole tone faster or slower. A page from a folder may fetch no file, but it may take in
// a script: the file is one, and is taken in with the first press. A lesson without
// recordings has plain tones instead, which the page makes itself.

// notesName is that script.
const notesName = "sound/notes.js"

// heard is what the pages that sound know: by id of a picture its notes.
type heard struct {
	Words map[string]string      `json:"words"`
	Notes map[string][]heardNote `json:"notes"`
	Tempo map[string]int         `json:"tempo"` // at which a picture is played first, in percent; none: 100
}

// heardNote is one key that goes down and comes up, in seconds of the full tempo.
type heardNote struct {
	Start, End    float64
	Key, Velocity int
	ID            string // of the note in the page; "" where it has none
	Hand          string // "R" or "L"
}

// MarshalJSON writes a note as a list, for a page has hundreds.
func (n heardNote) MarshalJSON() ([]byte, error) {
	return json.Marshal([]any{millis(n.Start), millis(n.End), n.Key, n.Velocity, n.ID, n.Hand})
}

func (s *site) newHeard() heard {
	h := heard{Words: map[string]string{}, Notes: map[string][]heardNote{}, Tempo: map[string]int{}}
	for _, key := range []string{"hear", "hear-stop", "hear-wait", "no-sound"} {
		h.Words[key] = s.say("script." + key)
	}
	return h
}

// add takes a small score, whose notes are found in the page by the prefix of its ids.
// What cannot be performed stays silent: it has no button.
func (h heard) add(id string, m teach.Music, percent int) {
	if len(m.Score.Bars) == 0 {
		return
	}
	played, err := perform.Perform(m.Score, perform.Options{})
	if err != nil {
		return
	}
	var out []heardNote
	for _, n := range played.Notes {
		if n.Shared {
			continue
		}
		hand := "R"
		if n.Hand == score.Left {
			hand = "L"
		}
		out = append(out, heardNote{n.Start, n.End, n.Key, n.Velocity, id + "-" + n.ID, hand})
	}
	if len(out) == 0 {
		return
	}
	h.Notes[id] = out
	if percent > 0 && percent != 100 {
		h.Tempo[id] = percent
	}
}

// chord takes the keys of a chord, struck together and held for two seconds.
func (h heard) chord(id string, keys []teach.Key) {
	for _, k := range keys {
		hand := "R"
		if k.Hand == "left" {
			hand = "L"
		}
		h.Notes[id] = append(h.Notes[id], heardNote{0, 2, k.MIDI, 64, "", hand})
	}
}

// Has tells whether a picture sounds.
func (h heard) Has(id string) bool { return len(h.Notes[id]) > 0 }

// sounds tells whether the lesson has recordings.
func (s *site) sounds() bool { return len(s.takes) > 0 }

// hearButton plays a picture; "" where it is silent. Without script it is not there.
func (s *site) hearButton(h heard, id, label string) template.HTML {
	if !h.Has(id) {
		return ""
	}
	return template.HTML(fmt.Sprintf(`<button type="button" class="hear" data-of="%s" hidden><span class="do">%s</span><span class="unseen">: %s</span></button>`,
		id, template.HTMLEscapeString(h.Words["hear"]), template.HTMLEscapeString(label)))
}

// hearStep plays a picture at a step of tempo, which it names; of a silent one it is the name.
func (s *site) hearStep(h heard, id string, percent int, text, label string) template.HTML {
	text = template.HTMLEscapeString(text)
	if !h.Has(id) {
		return template.HTML(text)
	}
	return template.HTML(fmt.Sprintf(`<button type="button" class="hear step" data-of="%s" data-percent="%d" data-say="%s" disabled><span class="do">%s</span><span class="unseen">: %s, %s</span></button>`,
		id, percent, text, text, template.HTMLEscapeString(h.Words["hear"]), template.HTMLEscapeString(label)))
}

// run is a row of bars one after another.
type run struct {
	From, To int
	Text     string
}

// runs parts bars into rows, each named.
func (s *site) runs(bars []int) []run {
	var out []run
	for _, b := range bars {
		if n := len(out); n > 0 && out[n-1].To == b-1 {
			out[n-1].To = b
			continue
		}
		out = append(out, run{From: b, To: b})
	}
	for i, r := range out {
		out[i].Text = s.words.Value(words.Span(r.From, r.To))
	}
	return out
}

// The notes of the file: C, E and G sharp of every octave from E1 to C7, two seconds each.
const (
	lowestNote, highestNote, noteStep = 28, 96, 4
	noteBeats                         = 3 // of a bar of four, at 90 a minute: two seconds
)

// scale is the score that is recorded for the file: a bar for each note.
func scale() score.Score {
	s := score.Score{Tempo: leadsheet.Tempo{Beat: theory.Quarter, PerMinute: 90}}
	names := []theory.Name{{Letter: theory.C}, {Letter: theory.E}, {Letter: theory.G, Alter: 1}}
	at := theory.Dur(0)
	for k := lowestNote; k <= highestNote; k += noteStep {
		n := len(s.Bars) + 1
		s.Bars = append(s.Bars, score.Bar{At: at, Dur: theory.Whole, Meter: leadsheet.Meter{Beats: 4, Unit: 4}, Number: n})
		hand := score.Right
		if k < 60 {
			hand = score.Left
		}
		s.Notes = append(s.Notes, score.Note{ID: fmt.Sprintf("n%d", k), Hand: hand, Voice: 1, At: at, Dur: noteBeats * theory.Quarter, Pitch: names[k%12/4].Nearest(k)})
		at += theory.Whole
	}
	return s
}

// notes is the file with the notes of the piano.
func (s *site) notes() part {
	scale := scale()
	p := part{name: "notes of the piano", files: []string{notesName}}
	var d digest
	d.text(s.code)
	err := d.value([]int{lowestNote, highestNote, noteStep, noteBeats, Kbps})
	p.inputs = d.sum()
	p.make = func(ctx context.Context, w *workshop, progress func(float64)) ([]made, error) {
		if err != nil {
			return nil, err
		}
		played, err := perform.Perform(scale, perform.Options{})
		if err != nil {
			return nil, err
		}
		var sound bytes.Buffer
		err = in(ctx, w.recordings, func() error {
			_, err := w.tools.Recorder.Record(ctx, &sound, scale, perform.Take{}, codec.MP3, progress)
			return err
		})
		if err != nil {
			return nil, err
		}
		var at [][2]float64
		for _, n := range played.Notes {
			at = append(at, [2]float64{float64(n.Key), millis(n.Start)})
		}
		list, err := json.Marshal(at)
		if err != nil {
			return nil, err
		}
		return []made{{notesName, fmt.Appendf(nil, "lessonNotes(%s, \"%s\");\n", list, base64.StdEncoding.EncodeToString(sound.Bytes()))}}, nil
	}
	return p
}
