package pack

import (
	"fmt"
	"html/template"
	"strings"

	"gradatim/internal/engrave"
	"gradatim/internal/teach"
	"gradatim/internal/words"
	"gradatim/score"
	"gradatim/theory"
)

// chordCards draws the keyboards of a page's chords: those of one kind with keys
// of one width, so that a hand's span can be compared by eye.
func (s *site) chordCards(g *glyphs, cards []teach.ChordCard) ([]chordView, error) {
	out := make([]chordView, len(cards))
	keys, played := make([]keyPlan, len(cards)), make([]keyPlan, len(cards))
	for k, c := range cards {
		id := fmt.Sprintf("chord%d", k+1)
		out[k] = chordView{ChordCard: c, ID: id, In: s.say("level.played-in", "Bars", words.Bars{c.First}), By: s.by(c)}
		keys[k] = s.planKeys(id+"-keys", s.say("level.on-keys", "Chord", c.Symbol), c.Keys)
		played[k] = s.planKeys(id+"-played", s.say("level.as-played", "Chord", c.Symbol), c.Hands)
	}
	ks, err := s.keyPictures(g, keys)
	if err != nil {
		return nil, err
	}
	ps, err := s.keyPictures(g, played)
	if err != nil {
		return nil, err
	}
	for k := range out {
		out[k].Keyboard, out[k].Played = ks[k], ps[k]
	}
	return out, nil
}

// by says which notes each hand plays of a chord where it comes first, and with which
// fingers, as far as these are printed.
func (s *site) by(c teach.ChordCard) []string {
	var out []string
	for _, shape := range c.Shapes() {
		notes, fingers, all := teach.Spelled(shape)
		key := "level.by"
		if !all {
			key = "level.by-bare"
		}
		out = append(out, s.say(key, "Hand", words.Upper(s.words.Say("lesson.hands."+shape[0].Hand)), "Notes", notes, "Fingers", fingers))
	}
	return out
}

// keyPlan is a piece of the keyboard to be drawn, empty without marks.
type keyPlan struct {
	id, label string
	low, high int
	marks     []engrave.Key
	names     []string
}

// planKeys marks keys with their degrees; those that two hands share are marked
// once.
func (s *site) planKeys(id, label string, keys []teach.Key) keyPlan {
	p := keyPlan{id: id, label: label}
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
			name = s.say("level.right-key", "Key", name)
		case "left":
			m.Hand = engrave.LeftHand
			name = s.say("level.left-key", "Key", name)
		}
		p.marks = append(p.marks, m)
		p.names = append(p.names, name)
	}
	if len(p.marks) == 0 {
		return p
	}
	p.low, p.high = p.marks[0].MIDI, p.marks[0].MIDI
	for _, m := range p.marks {
		p.low, p.high = min(p.low, m.MIDI), max(p.high, m.MIDI)
	}
	for p.high-p.low < 16 { // no picture smaller than an octave and a half
		p.low, p.high = max(21, p.low-1), min(108, p.high+1)
	}
	return p
}

// labelShare is the em of a degree in widths of the widest keyboard: 12 pixels
// where a card has 290.
const labelShare = 1.0 / 24

// keyPictures draws keyboards at one scale. Degrees stand above and below the
// keys: on a black key they could not be read.
func (s *site) keyPictures(g *glyphs, plans []keyPlan) ([]picture, error) {
	drawn := make([]*engrave.Picture, len(plans))
	draw := func(em float64) (widest float64, err error) {
		for k, p := range plans {
			if len(p.marks) == 0 {
				continue
			}
			o := engrave.KeyboardOptions{Low: p.low, High: p.high, Title: p.label, IDPrefix: p.id, LabelSize: em, Lang: s.in.Language}
			if drawn[k], err = engrave.Keyboard(p.marks, o); err != nil {
				return 0, err
			}
			w, _ := drawn[k].Size()
			widest = max(widest, w)
		}
		return widest, nil
	}
	widest, err := draw(0)
	if err != nil {
		return nil, err
	}
	if widest, err = draw(widest * labelShare); err != nil { // a label may stand out at the side
		return nil, err
	}
	out := make([]picture, len(plans))
	for k, p := range plans {
		if drawn[k] == nil {
			continue
		}
		w, h := drawn[k].Size()
		svg := inlineSVG(g.take(drawn[k].SVG()), p.id+"-title", p.label+": "+strings.Join(p.names, ", "), engrave.Box{W: w, H: h}, "keys")
		out[k] = picture{template.HTML(strings.Replace(string(svg), `style="`, fmt.Sprintf(`style="--part:%.4f;`, w/widest), 1)), p.label}
	}
	return out, nil
}

// keyboard is the picture on which the player shows what sounds: the range of
// the piece in whole octaves from C to B, each key with an id "key-60".
func (site *site) keyboard(s score.Score) template.HTML {
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
				fmt.Fprintf(&black, `<text class="octave" x="%d" y="%d">%s</text>`, x+whiteW/2, whiteH+14, site.words.Value(theory.Pitch{Name: theory.Name{Letter: theory.C}, Octave: int8(k/12 - 1)}))
			}
			x += whiteW
		}
	}
	return template.HTML(fmt.Sprintf(`<svg class="keyboard" id="keyboard" role="img" aria-labelledby="keyboard-title" viewBox="-1 -1 %d %d" style="--w:%d"><title id="keyboard-title">%s</title>%s%s<g id="key-marks"></g></svg>`,
		x+2, whiteH+20, x, template.HTMLEscapeString(site.say("player.sounding-keys")), white.String(), black.String()))
}
