package pack

import (
	"fmt"
	"html/template"
	"strings"

	"gradatim/internal/engrave"
	"gradatim/internal/teach"
	"gradatim/score"
)

// chordCard draws the keyboards of a chord.
func chordCard(g *glyphs, id string, c teach.ChordCard) (chordView, error) {
	v := chordView{ChordCard: c, ID: id}
	var err error
	if v.Keyboard, err = keyPicture(g, id+"-keys", c.Symbol+" on the keyboard", c.Keys); err != nil {
		return v, err
	}
	v.Played, err = keyPicture(g, id+"-played", c.Symbol+" as it is played here", c.Hands)
	return v, err
}

// keyPicture draws a piece of the keyboard with its degrees; keys that two hands
// share are marked once.
func keyPicture(g *glyphs, id, label string, keys []teach.Key) (picture, error) {
	var marks []engrave.Key
	var names []string
	seen := map[int]bool{}
	for _, k := range keys {
		if seen[k.MIDI] || k.MIDI < 21 || k.MIDI > 108 {
			continue
		}
		seen[k.MIDI] = true
		m := engrave.Key{MIDI: k.MIDI, Label: k.Degree, Name: k.Note}
		name := fmt.Sprintf("%s (%s)", k.Note, k.Degree)
		switch k.Hand {
		case "right":
			m.Hand = engrave.RightHand
			name = "right hand " + name
		case "left":
			m.Hand = engrave.LeftHand
			name = "left hand " + name
		}
		marks = append(marks, m)
		names = append(names, name)
	}
	if len(marks) == 0 {
		return picture{}, nil
	}
	low, high := marks[0].MIDI, marks[0].MIDI
	for _, m := range marks {
		low, high = min(low, m.MIDI), max(high, m.MIDI)
	}
	for high-low < 16 { // no picture smaller than an octave and a half
		low, high = max(21, low-1), min(108, high+1)
	}
	p, err := engrave.Keyboard(marks, engrave.KeyboardOptions{Low: low, High: high, Title: label, IDPrefix: id})
	if err != nil {
		return picture{}, err
	}
	w, h := p.Size()
	return picture{inlineSVG(g.take(p.SVG()), id+"-title", label+": "+strings.Join(names, ", "), engrave.Box{W: w, H: h}, "keys"), label}, nil
}

// keyboard is the picture on which the player shows what sounds: the range of
// the piece in whole octaves from C to B, each key with an id "key-60".
func keyboard(s score.Score) template.HTML {
	low, high := 127, 0
	for _, n := range s.Notes {
		low, high = min(low, n.Pitch.MIDI()), max(high, n.Pitch.MIDI())
	}
	if low > high {
		low, high = 60, 71
	}
	low -= low % 12
	high += 11 - high%12
	const whiteW, whiteH, blackW, blackH = 24, 96, 14, 60
	var white, black strings.Builder
	x := 0
	for k := low; k <= high; k++ {
		switch k % 12 {
		case 1, 3, 6, 8, 10:
			fmt.Fprintf(&black, `<rect class="black" id="key-%d" x="%d" y="0" width="%d" height="%d"/>`, k, x-blackW/2, blackW, blackH)
		default:
			fmt.Fprintf(&white, `<rect class="white" id="key-%d" x="%d" y="0" width="%d" height="%d"/>`, k, x, whiteW, whiteH)
			if k%12 == 0 {
				fmt.Fprintf(&black, `<text class="octave" x="%d" y="%d">C%d</text>`, x+whiteW/2, whiteH+14, k/12-1)
			}
			x += whiteW
		}
	}
	return template.HTML(fmt.Sprintf(`<svg class="keyboard" id="keyboard" role="img" aria-labelledby="keyboard-title" viewBox="-1 -1 %d %d" style="--w:%d"><title id="keyboard-title">Keyboard with the keys that sound</title>%s%s<g id="key-marks"></g></svg>`,
		x+2, whiteH+20, x, white.String(), black.String()))
}
