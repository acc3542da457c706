package pack

import (
	"fmt"
	"math"
	"strings"

	"gradatim/internal/perform"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// playerData is what the player knows of a page; it stands in the page as JSON.
// Positions are in 1/20160 of a whole note, times in seconds.
type playerData struct {
	Takes   []takeData   `json:"takes"`
	Timings []timingData `json:"timings"`
	Bars    []barData    `json:"bars"`
	Notes   []noteData   `json:"notes"`
	Chords  []chordData  `json:"chords"`
	// PerMinute is the printed tempo, in Beat.
	PerMinute int    `json:"perMinute"`
	Beat      string `json:"beat"`
	// Boxes tells by layout ("w" wide, "n" narrow) and id where a note or bar is:
	// part of the score, x, y, width, height.
	Boxes map[string]map[string][5]float64 `json:"boxes"`
	Words map[string]string                `json:"words"` // what the script says
	Tones []string                         `json:"tones"` // "the third of F"
	Whys  []string                         `json:"whys"`
}

// scriptWords are the messages that the script says, by key.
var scriptWords = []string{"play", "pause", "count-in", "bar", "place", "place-again", "place-chord", "of-total", "repeats", "no-sound", "no-start", "score", "tempo-is", "clean-so-far", "log-line",
	"note", "finger", "right-hand", "left-hand", "pick-first", "pick-last", "both", "right", "left", "without-tune"}

// takeData is one recording; Src is empty in a pack without sound.
type takeData struct {
	Name    string `json:"name"`
	Label   string `json:"label"`
	Hands   string `json:"hands"` // "both", "left", "right", "without-tune"
	Percent int    `json:"percent"`
	Src     string `json:"src"`
	Timing  int    `json:"timing"` // index
}

// timingData maps positions to seconds, for all takes of one tempo.
type timingData struct {
	Lead   float64      `json:"lead"`
	Start  float64      `json:"start"`
	End    float64      `json:"end"`
	Points [][2]float64 `json:"points"` // position, seconds; between them time runs evenly
}

type barData struct {
	ID     string `json:"id"`             // of its box
	Number int    `json:"n"`              // as leadsheet.Part.Place has it; for comparing, never shown
	Label  string `json:"l"`              // in a list of bars: "7", "Pick-up", "Introduction 2"
	Name   string `json:"name,omitempty"` // in a sentence, where it is not "bar" with its label
	Pass   int    `json:"p"`              // which playing of what is printed once, from 1
	At     int    `json:"at"`
	End    int    `json:"end"`
	Beat   int    `json:"beat"` // length of a beat
	Offset int    `json:"off"`  // what a pick-up lacks
}

type noteData struct {
	ID     string `json:"id"`
	Hand   string `json:"h"` // "R" or "L"
	Key    int    `json:"k"` // MIDI
	Name   string `json:"n"` // without its octave
	Finger int    `json:"f"` // 0: none
	Degree string `json:"d"` // of the chord, "" for a foreign note
	At     int    `json:"at"`
	End    int    `json:"end"`
	Tune   bool   `json:"t"`
	Tone   int    `json:"c"` // what it is to its chord: an index of Tones; -1: a foreign note
	Why    int    `json:"w"` // why it is there: an index of Whys; -1: not known
}

type chordData struct {
	At   int    `json:"at"`
	Text string `json:"text"`
}

// graceDur is how long a grace note is shown.
const graceDur = theory.Eighth / 2

// player gathers what the player knows.
func (site *site) player(s score.Score, beat string, takes []perform.Take, n names) (playerData, error) {
	say := func(key string) string { return site.words.Text("site.script." + key) }
	p := playerData{Tones: []string{}, Whys: []string{}, PerMinute: s.Tempo.PerMinute, Beat: beat, Words: map[string]string{}}
	for _, key := range scriptWords {
		p.Words[key] = say(key)
	}
	// The keys are those of the desk, where they do the same.
	for _, does := range []string{"stop", "help"} {
		p.Words["key-"+does] = site.words.Say("desk.letter." + does)
	}
	byPercent := map[int]int{}
	timing := func(o perform.Options) (int, error) {
		percent := o.Tempo.Percent
		if i, ok := byPercent[percent]; ok {
			return i, nil
		}
		o.CountIn, o.Hands = CountIn, perform.Both
		played, err := perform.Perform(s, o)
		if err != nil {
			return 0, err
		}
		byPercent[percent] = len(p.Timings)
		p.Timings = append(p.Timings, timingOf(played.Timing))
		return byPercent[percent], nil
	}
	if len(takes) == 0 {
		i, err := timing(perform.Options{})
		if err != nil {
			return p, err
		}
		p.Takes = []takeData{{Name: "full", Label: say("both"), Hands: perform.Both.String(), Percent: 100, Timing: i}}
	}
	for _, t := range takes {
		i, err := timing(t.Options)
		if err != nil {
			return p, err
		}
		percent := t.Options.Tempo.Percent
		if percent == 0 {
			percent = 100
		}
		p.Takes = append(p.Takes, takeData{t.Name, say(t.Options.Hands.String()), t.Options.Hands.String(), percent, n.take(t), i})
	}
	p.Bars = site.playBars(s)
	s, _ = s.Played() // the player goes through time; boxes are those of the page
	tones, whys := map[string]int{}, map[string]int{}
	for _, x := range s.Notes {
		d := noteData{Tone: -1, Why: -1, ID: score.Printed(x.ID), Hand: "R", Key: x.Pitch.MIDI(), Name: site.words.Name(x.Pitch.Name), Finger: int(x.Finger), At: int(x.At), End: int(x.End())}
		if x.Hand == score.Left {
			d.Hand = "L"
		}
		if x.Grace > 0 {
			d.End = d.At + int(graceDur)
		}
		if c, ok := s.ChordAt(x.At); ok && !c.Chord.Silent() {
			if deg, ok := c.Chord.Degree(x.Pitch.Name); ok {
				d.Degree = deg.Pretty()
				d.Tone = indexOf(&p.Tones, tones, site.words.Value(words.Tone{Degree: deg, Chord: c.Chord}))
			}
		}
		if x.Origin.Why != nil {
			d.Why = indexOf(&p.Whys, whys, words.Upper(strings.TrimSuffix(site.words.Reason(x.Origin.Why), "."))+".")
		}
		_, d.Tune = x.Origin.Event()
		p.Notes = append(p.Notes, d)
	}
	for _, c := range s.Chords {
		p.Chords = append(p.Chords, chordData{int(c.At), symbolText(c)})
	}
	return p, nil
}

// playBars lists the bars of a page in the order in which they are played.
func (site *site) playBars(s score.Score) []barData {
	s, order := s.Played()
	var out []barData
	times := make([]int, len(s.Bars))
	for k, b := range s.Bars {
		times[order[k]]++
		out = append(out, barData{ID: fmt.Sprintf("bar%d", order[k]+1), Pass: times[order[k]], Number: b.Part.Place(b.Number), Label: site.barLabel(b), Name: site.barName(b), At: int(b.At), End: int(b.End()), Beat: int(b.Meter.BeatDur()), Offset: int(b.Offset(b.At))})
	}
	return out
}

// indexOf finds a text in a list, where it is added once.
func indexOf(list *[]string, at map[string]int, text string) int {
	i, ok := at[text]
	if !ok {
		i = len(*list)
		at[text] = i
		*list = append(*list, text)
	}
	return i
}

// barLabel is what a bar is called in a list: a printed number, or what it is beside one.
func (site *site) barLabel(b score.Bar) string {
	switch {
	case b.Part != score.Tune && b.Pickup:
		return fmt.Sprintf("%s, %s", site.words.Say("part."+b.Part.String()), site.say("level.pickup"))
	case b.Part != score.Tune:
		return fmt.Sprintf("%s %d", site.words.Say("part."+b.Part.String()), b.Number)
	case b.Pickup:
		return words.Upper(site.say("level.pickup"))
	}
	return fmt.Sprint(b.Number)
}

// barName is what a bar is called in a sentence, where it has no number of the tune's; ""
// else.
func (site *site) barName(b score.Bar) string {
	if b.Part == score.Tune && !b.Pickup {
		return ""
	}
	return site.bars([]int{b.Part.Place(b.Number)})
}

func timingOf(t perform.Timing) timingData {
	d := timingData{Lead: t.Lead, Start: millis(t.Start), End: millis(t.End)}
	for _, p := range t.Points {
		d.Points = append(d.Points, [2]float64{float64(p.At), millis(p.Seconds)})
	}
	return d
}

func millis(s float64) float64 { return math.Round(s*1000) / 1000 }

func symbolText(c score.Symbol) string {
	if c.Text != "" {
		return c.Text
	}
	return c.Chord.Pretty()
}

// barRows is one bar of the table: a row for every moment at which something is
// struck.
type barRows struct {
	Name string
	ID   string
	Rows []tableRow
}

type tableRow struct{ Beat, Chord, Right, Left string }

// barTable writes the score as a table, for who does not see it.
func (site *site) barTable(s score.Score) []barRows {
	out := make([]barRows, len(s.Bars))
	moment := map[int]map[theory.Dur]int{}
	row := func(at theory.Dur) *tableRow {
		i := max(s.BarAt(at), 0)
		if moment[i] == nil {
			moment[i] = map[theory.Dur]int{}
		}
		k, ok := moment[i][at]
		if !ok {
			k = len(out[i].Rows)
			moment[i][at] = k
			out[i].Rows = append(out[i].Rows, tableRow{Beat: s.PosAt(at).Beat.String()})
		}
		return &out[i].Rows[k]
	}
	for i, b := range s.Bars {
		out[i].Name, out[i].ID = site.barLabel(b), fmt.Sprintf("row-bar-%d", i+1)
		out[i].Name = strings.Join(append([]string{out[i].Name}, site.signs(b.Signs)...), ", ")
	}
	// Moments in order of time: notes are, and chords are woven in.
	k := 0
	chord := func(until theory.Dur) {
		for ; k < len(s.Chords) && s.Chords[k].At <= until; k++ {
			row(s.Chords[k].At).Chord = symbolText(s.Chords[k])
		}
	}
	for _, n := range s.Notes {
		chord(n.At)
		r := row(n.At)
		text := site.words.Value(n.Pitch)
		if n.Finger > 0 {
			text += fmt.Sprintf(" (%d)", n.Finger)
		}
		switch {
		case n.Grace > 0:
			text = site.say("level.grace", "Note", text)
		default:
			text += " " + beats(n.Dur, s, n.At)
		}
		to := &r.Right
		if n.Hand == score.Left {
			to = &r.Left
		}
		if *to != "" {
			*to += ", "
		}
		*to += text
	}
	chord(s.End())
	return out
}

// beats tells how long a note lasts, in beats of its bar.
func beats(d theory.Dur, s score.Score, at theory.Dur) string {
	unit := theory.Quarter
	if i := s.BarAt(at); i >= 0 && s.Bars[i].Meter.Valid() {
		unit = s.Bars[i].Meter.BeatDur()
	}
	whole, part := int(d/unit), int(d%unit)
	u := int(unit)
	frac := ""
	for _, f := range []struct {
		n, d int
		sign string
	}{{1, 2, "½"}, {1, 4, "¼"}, {3, 4, "¾"}, {1, 3, "⅓"}, {2, 3, "⅔"}, {1, 6, "⅙"}, {5, 6, "⅚"}, {1, 8, "⅛"}, {3, 8, "⅜"}, {5, 8, "⅝"}, {7, 8, "⅞"}} {
		if part*f.d == u*f.n {
			frac = f.sign
		}
	}
	if part > 0 && frac == "" {
		frac = fmt.Sprintf(" %d/%d", part/gcd(part, u), u/gcd(part, u))
	}
	switch {
	case whole == 0:
		return strings.TrimSpace(frac)
	default:
		return fmt.Sprint(whole) + frac
	}
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// signs says what a bar has for the order of playing.
func (site *site) signs(s leadsheet.Signs) []string {
	var out []string
	if s.EndingOpens {
		out = append(out, site.say("level.ending", "Numbers", s.Ending.String()))
	}
	for _, x := range []struct {
		is  bool
		key string
	}{{s.Start, "repeat-opens"}, {s.Times > 0, "repeat-closes"}, {s.Segno, "segno"}, {s.Coda, "coda"}, {s.ToCoda, "to-coda"},
		{s.Fine, "fine"}, {s.DaCapo, "da-capo"}, {s.DalSegno, "dal-segno"}} {
		if x.is {
			out = append(out, site.say("level."+x.key))
		}
	}
	return out
}

// inWords reads a small score aloud: bar by bar, hand by hand.
func (site *site) inWords(s score.Score) string {
	var out []string
	for i, rows := range site.barTable(s) {
		var words []string
		for _, r := range rows.Rows {
			w := site.say("aloud.beat", "Beat", r.Beat)
			if r.Chord != "" {
				w += ", " + r.Chord
			}
			if r.Right != "" {
				w += ", " + site.say("aloud.right", "Notes", r.Right)
			}
			if r.Left != "" {
				w += ", " + site.say("aloud.left", "Notes", r.Left)
			}
			words = append(words, w)
		}
		key := "aloud.bar"
		if s.Bars[i].Pickup {
			key = "aloud.pickup"
		}
		out = append(out, site.say(key, "Bar", rows.Name, "Moments", strings.Join(words, "; ")))
	}
	return strings.Join(out, ". ")
}
