package choice

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/ladder"
	"gradatim/internal/settings"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Version is that of the form of a file. In version 1, of a file that names none, bars
// were counted in the order of playing.
const Version = 2

type file struct {
	Version int        `toml:"version"`
	Choice  []entry    `toml:"choice"`
	Lock    []lockFile `toml:"lock"`
}

type entry struct {
	Level  any     `toml:"level"`
	Part   string  `toml:"part"`
	Bar    int     `toml:"bar"`
	Pass   int     `toml:"pass"`
	Beat   any     `toml:"beat"`
	Bars   int     `toml:"bars"`
	Beats  float64 `toml:"beats"`
	Length string  `toml:"length"`
	Hand   string  `toml:"hand"`
	Chord  string  `toml:"chord"`
	Use    string  `toml:"technique"`
	Left   string  `toml:"texture"`
	Avoid  string  `toml:"avoid"`
	Figure string  `toml:"figure"`
	Add    string  `toml:"add"`
	Take   string  `toml:"take"`
	Move   string  `toml:"move"`
	To     string  `toml:"to"`
	Note   string  `toml:"note"`
	Finger int     `toml:"finger"`
	Octave int     `toml:"octave"`
	Loud   string  `toml:"dynamic"`
}

type lockFile struct {
	Level any    `toml:"level"`
	Notes string `toml:"notes"`
	File  string `toml:"file"`
}

// Head reads of a file its version and the names of the files of locked bars that it
// wants beside it; ok is false where it cannot be read.
func Head(data []byte) (version int, beside []string, ok bool) {
	var f file
	if _, ok := form.Decode("", data, &f); !ok {
		return 0, nil, false
	}
	for _, l := range f.Lock {
		if l.File != "" && !slices.Contains(beside, l.File) {
			beside = append(beside, l.File)
		}
	}
	return max(1, f.Version), beside, true
}

// reader reads one file for one song.
type reader struct {
	name    string
	song    leadsheet.Song
	levels  []ladder.Level
	version int
	out     []Choice
	ps      leadsheet.Problems
}

var form = settings.Form{Encoding: "choice-syntax.encoding", Syntax: "choice-syntax", Key: "choice-key"}

// Parse reads a file of choices (docs/formats.md) for a song, in its own key. beside
// opens a file of locked bars that lies beside it; nil: there is none. What cannot mean
// anything is reported, all of it, and stops the run: a choice is never dropped
// silently. The list of problems may hold warnings only; then the error is nil.
func Parse(name string, data []byte, song leadsheet.Song, levels []ladder.Level, beside func(name string) ([]byte, error)) ([]Choice, leadsheet.Problems, error) {
	var f file
	ps, ok := form.Decode(name, data, &f)
	if !ok {
		return nil, nil, ps
	}
	r := reader{name: name, song: song, levels: levels, version: max(1, f.Version), ps: ps}
	if f.Version < 0 || f.Version > Version {
		r.ps.Tell(leadsheet.Error, leadsheet.Pos{File: name}, "choice-version.unknown", "Version", f.Version, "Known", Version)
	}
	if f.Version == 0 && len(f.Choice) > 0 && repeats(song) {
		r.ps.Tell(leadsheet.Warning, leadsheet.Pos{File: name}, "choice-version.none", "Known", Version)
	}
	lines := headers(data, "[[choice]]")
	for i, e := range f.Choice {
		pos := leadsheet.Pos{File: name, Bar: e.Bar, Beat: leadsheet.BeatUnit}
		if i < len(lines) {
			pos.Line = lines[i]
		}
		r.entry(e, pos)
	}
	lines = headers(data, "[[lock]]")
	for i, l := range f.Lock {
		pos := leadsheet.Pos{File: name}
		if i < len(lines) {
			pos.Line = lines[i]
		}
		r.lock(l, pos, beside)
	}
	r.overlaps()
	r.ps.Sort()
	if err := r.ps.Err(); err != nil {
		return nil, nil, err
	}
	return r.out, r.ps, nil
}

// headers lists the lines, from 1, that begin a table of a name.
func headers(data []byte, name string) []int {
	var out []int
	n := 0
	for l := range bytes.Lines(data) {
		n++
		if l, _, _ = bytes.Cut(l, []byte("#")); strings.Join(strings.Fields(string(l)), "") == name {
			out = append(out, n)
		}
	}
	return out
}

func repeats(song leadsheet.Song) bool {
	for _, b := range song.Bars {
		if b.Sheet != b.Number {
			return true
		}
	}
	return false
}

// entry reads one [[choice]].
func (r *reader) entry(e entry, pos leadsheet.Pos) {
	bad := func(says leadsheet.Saying, parts ...any) { r.ps.Tell(leadsheet.Error, pos, says, parts...) }
	level, ok := levelNumber(e.Level, r.levels)
	if !ok {
		bad("choice-level", "Level", fmt.Sprint(e.Level), "Levels", levelNames(r.levels))
		return
	}
	if e.Part != "" && e.Part != "tune" {
		bad("choice-place.part", "Part", e.Part)
		return
	}
	if r.version == 1 && (e.Pass != 0 || e.Hand != "" || e.Figure != "" || e.Add != "" || e.Take != "" || e.Move != "" || e.Note != "" || e.Octave != 0 || e.Loud != "") {
		bad("choice-version.two")
		return
	}
	runs, ok := r.runs(e, &pos)
	if !ok {
		return
	}
	hand, ok := handNamed(e.Hand)
	if !ok {
		bad("choice-hand", "Hand", leadsheet.Quoted(e.Hand))
		return
	}
	before := len(r.out)
	add := func(run run, f Fix) {
		r.out = append(r.out, Choice{Level: level, At: run.at, Until: run.until, Fix: f, Pos: pos})
	}
	if e.Chord != "" {
		if sym, err := theory.ParseSymbol(e.Chord); err != nil || sym.Repeat || sym.NoChord {
			bad("choice-chord", "Chord", leadsheet.Quoted(e.Chord))
			return
		} else {
			for _, run := range runs {
				add(run, Chord{sym.Chord})
			}
		}
	}
	if t, ok := technique.ByID(e.Left); e.Left != "" && (!ok || t.Stage != technique.LeftHand) {
		bad("choice-texture", "Technique", leadsheet.Quoted(e.Left))
		return
	}
	for _, id := range []string{e.Use, e.Avoid} {
		if _, ok := technique.ByID(id); id != "" && !ok {
			bad("choice-technique", "Technique", leadsheet.Quoted(id))
			return
		}
	}
	for _, run := range runs {
		for _, id := range []string{e.Left, e.Use} {
			if id != "" {
				add(run, Use{id})
			}
		}
		if e.Avoid != "" {
			add(run, Avoid{e.Avoid})
		}
		if e.Octave != 0 {
			add(run, Octave{e.Octave})
		}
		if e.Loud != "" {
			add(run, Loud{e.Loud})
		}
	}
	if _, ok := score.StepOf(e.Loud); e.Loud != "" && !ok {
		bad("choice-dynamic", "Sign", leadsheet.Quoted(e.Loud))
		return
	}
	if e.Octave < -3 || e.Octave > 3 {
		bad("choice-octave", "n", e.Octave)
		return
	}
	for _, run := range runs {
		if !run.whole { // it begins after the bar that is named
			continue
		}
		fixes, err := r.notes(e, hand, run)
		if err != nil {
			bad("choice-note", "Error", err.Error())
			return
		}
		for _, f := range fixes {
			add(run, f)
		}
	}
	if len(r.out) == before {
		bad("choice-empty.nothing")
	}
}

// notes reads what a choice says of single notes and figures, for one pass.
func (r *reader) notes(e entry, hand score.Hand, run run) ([]Fix, error) {
	var out []Fix
	bar := r.song.Bars[r.song.BarAt(run.at)]
	pitch := func(text string) (theory.Pitch, error) {
		p, err := theory.ParsePitch(text)
		if err != nil {
			return p, fmt.Errorf("%q is no pitch such as C#3", text)
		}
		return p, nil
	}
	if e.Figure != "" {
		if hand == 0 {
			return nil, fmt.Errorf("whose is the figure? Say hand = \"left\" or \"right\"")
		}
		f, err := ParseFigure(bar, hand, e.Figure)
		if err != nil {
			return nil, err
		}
		out = append(out, f)
	}
	if e.Add != "" {
		if hand == 0 {
			return nil, fmt.Errorf("which hand plays the note? Say hand = \"left\" or \"right\"")
		}
		t, err := parseTone(bar, run.at, e.Add)
		if err != nil {
			return nil, err
		}
		out = append(out, Added{hand, t.Tone})
	}
	if e.Take != "" {
		p, err := pitch(e.Take)
		if err != nil {
			return nil, err
		}
		out = append(out, TakenAway{hand, p})
	}
	if (e.Move == "") != (e.To == "") {
		return nil, fmt.Errorf("move and to belong together")
	}
	if e.Move != "" {
		p, err := pitch(e.Move)
		if err != nil {
			return nil, err
		}
		t, err := parseTone(bar, run.at, e.To)
		if err != nil {
			return nil, err
		}
		out = append(out, Moved{hand, p, t.Tone})
	}
	if (e.Note == "") != (e.Finger == 0) || e.Finger < 0 || e.Finger > 5 {
		return nil, fmt.Errorf("note and finger belong together, and a finger is 1 to 5")
	}
	if e.Note != "" {
		p, err := pitch(e.Note)
		if err != nil {
			return nil, err
		}
		out = append(out, Finger{hand, p, uint8(e.Finger)})
	}
	return out, nil
}

// run is a stretch of the tune that a choice holds for.
type run struct {
	at, until theory.Dur
	whole     bool // it begins where the choice says, not in a later bar of it
}

// runs finds where a choice holds: a stretch for each time that its bars are played.
// Without a length it holds to the end of its bar.
func (r *reader) runs(e entry, pos *leadsheet.Pos) ([]run, bool) {
	var out []run
	misses := func() ([]run, bool) {
		says := leadsheet.Saying("choice-place.sheet")
		switch {
		case r.version == 1:
			says = "choice-place.played"
		case e.Pass > 0:
			says = "choice-place.pass"
		}
		r.ps.Tell(leadsheet.Error, *pos, says, "Bar", e.Bar, "Beat", fmt.Sprint(beatOf(e.Beat)), "Pass", e.Pass)
		return nil, false
	}
	number := func(b leadsheet.Bar) int {
		if r.version == 1 {
			return b.Number
		}
		return b.Sheet
	}
	bars := r.song.Bars
	last := e.Bar + max(1, e.Bars) - 1
	in := func(i int) bool { return number(bars[i]) >= e.Bar && number(bars[i]) <= last }
	for i := 0; i < len(bars); {
		if !in(i) {
			i++
			continue
		}
		j := i + 1
		for j < len(bars) && in(j) && number(bars[j]) > number(bars[j-1]) {
			j++
		}
		run := run{bars[i].At, bars[j-1].End(), number(bars[i]) == e.Bar}
		first := bars[i]
		i = j
		if e.Pass != 0 && first.Pass != e.Pass {
			continue
		}
		if run.whole {
			off, ok := r.beatIn(first, e.Beat)
			if !ok || off >= first.Dur {
				return misses()
			}
			run.at = first.At + off
			if e.Beats > 0 {
				run.until = min(r.song.End(), run.at+theory.Dur(e.Beats*float64(first.Meter.BeatDur())+0.5))
			}
			if e.Length != "" {
				d, ok := length(e.Length)
				if !ok || run.at+d > r.song.End() {
					return misses()
				}
				run.until = run.at + d
			}
			pos.Beat = first.Meter.BeatAt(off)
			if first.Pickup {
				pos.Beat = first.Meter.BeatAt(off + first.Meter.Bar() - first.Dur)
			}
		} else if e.Beats > 0 || e.Length != "" {
			continue
		}
		if run.until > run.at {
			out = append(out, run)
		}
	}
	if !slices.ContainsFunc(out, func(r run) bool { return r.whole }) {
		return misses()
	}
	return out, true
}

func beatOf(v any) any {
	if v == nil {
		return 1
	}
	return v
}

// beatIn reads a beat of the file: a number, or text such as "3+1/3".
func (r *reader) beatIn(b leadsheet.Bar, v any) (theory.Dur, bool) {
	switch v := v.(type) {
	case nil:
		return 0, true
	case int64:
		return offset(b, fmt.Sprint(v))
	case float64:
		if v < 1 || v > 99 {
			return 0, false
		}
		off := theory.Dur((v-1)*float64(b.Meter.BeatDur()) + 0.5)
		if b.Pickup {
			off -= b.Meter.Bar() - b.Dur
		}
		return off, off >= 0
	case string:
		return offset(b, v)
	}
	return 0, false
}

// lock reads one [[lock]].
func (r *reader) lock(l lockFile, pos leadsheet.Pos, beside func(string) ([]byte, error)) {
	bad := func(says leadsheet.Saying, parts ...any) { r.ps.Tell(leadsheet.Error, pos, says, parts...) }
	level, ok := levelNumber(l.Level, r.levels)
	if !ok {
		bad("choice-level", "Level", fmt.Sprint(l.Level), "Levels", levelNames(r.levels))
		return
	}
	if r.version == 1 {
		bad("choice-version.two")
		return
	}
	text, from := l.Notes, pos
	if l.File != "" {
		data, err := []byte(nil), error(nil)
		if beside != nil {
			data, err = beside(l.File)
		}
		if err != nil || beside == nil {
			bad("choice-file", "File", l.File)
			return
		}
		text, from = string(data), leadsheet.Pos{File: l.File}
	}
	bars := ParseBars(r.song, text, func(line int, what string) {
		at := from
		at.Line += line
		r.ps.Tell(leadsheet.Error, at, "choice-lock", "Error", what)
	})
	if len(bars) == 0 {
		bad("choice-empty.lock")
	}
	for _, b := range bars {
		i := r.song.BarAt(b.At)
		at := pos
		at.Bar, at.Beat = r.song.Bars[i].Sheet, leadsheet.BeatUnit
		r.out = append(r.out, Choice{Level: level, At: b.At, Until: r.song.Bars[i].End(), Fix: Lock{b}, Pos: at})
	}
}

// overlaps reports choices that contradict one another.
func (r *reader) overlaps() {
	for i, a := range r.out {
		for _, b := range r.out[:i] {
			if a.Level != b.Level || a.At >= b.Until || b.At >= a.Until {
				continue
			}
			if says := contradict(a.Fix, b.Fix); says != "" {
				r.ps.Tell(leadsheet.Error, a.Pos, says)
			}
		}
	}
	// Once is enough for a bar that is played often.
	r.ps = dedupe(r.ps)
}

func dedupe(ps leadsheet.Problems) leadsheet.Problems {
	var out leadsheet.Problems
	for _, p := range ps {
		if !out.Has(p) {
			out = append(out, p)
		}
	}
	return out
}

// contradict tells why two things cannot both hold; "": they can.
func contradict(a, b Fix) leadsheet.Saying {
	if _, ok := a.(Lock); ok {
		a, b = b, a
	}
	switch b.(type) {
	case Lock:
		switch a.(type) {
		case Lock:
			return "choice-overlap.locks"
		case Chord, Figure, Added, TakenAway, Moved, Finger:
			return "choice-overlap.locked"
		}
		return "" // of wishes for a longer stretch a locked bar is left out
	}
	switch a := a.(type) {
	case Chord:
		if _, ok := b.(Chord); ok {
			return "choice-overlap.chords"
		}
	case Figure:
		if b, ok := b.(Figure); ok && a.Hand == b.Hand {
			return "choice-overlap.figures"
		}
	case Octave:
		if _, ok := b.(Octave); ok {
			return "choice-overlap.octaves"
		}
	case Loud:
		if _, ok := b.(Loud); ok {
			return "choice-overlap.dynamics"
		}
	}
	return ""
}

func handNamed(s string) (score.Hand, bool) {
	switch s {
	case "":
		return 0, true
	case "left":
		return score.Left, true
	case "right":
		return score.Right, true
	}
	return 0, false
}

func levelNumber(v any, levels []ladder.Level) (int, bool) {
	for _, l := range levels {
		switch v := v.(type) {
		case int64:
			if int(v) == l.Number {
				return l.Number, true
			}
		case string:
			if v == l.Name || v == l.Hyphenated() {
				return l.Number, true
			}
		}
	}
	return 0, false
}

func levelNames(ls []ladder.Level) string {
	names := make([]string, len(ls))
	for i, l := range ls {
		names[i] = fmt.Sprintf("%d %s", l.Number, l.Hyphenated())
	}
	return strings.Join(names, ", ")
}
