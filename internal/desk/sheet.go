package desk

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"gradatim"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// sheetView is a tune's lead sheet: its text beside what it looks like engraved.
type sheetView struct {
	frame
	Text     string
	Seen     int    // newest entry of the sheet's history
	Foreign  string // what the sheet is kept as where it is no text: "MusicXML"
	Facts    []fact
	Look     look
	Mended   bool       // likely readings were taken
	Chords   []chordRow // that are proposed for a bare tune
	Typed    bool       // the text is not the one that is kept
	Keyboard []pianoKey // on the screen, for notes
	Names    string     // of all notes, from C flat to B sharp, a list in JSON
	Lengths  []noteLength
}

// noteLength is a length that a note can be written with.
type noteLength struct {
	Of            int // the part of a whole note
	Plain, Dotted string
}

// pianoKey is a key on the screen.
type pianoKey struct {
	MIDI, Octave int
	Name         string
	Black        bool
}

// keyboard are two octaves of keys from middle C, named as the language does.
func (d *Desk) keyboard() []pianoKey {
	var out []pianoKey
	for octave := 4; octave <= 6; octave++ {
		for i, name := range strings.Fields("C C# D D# E F F# G G# A A# B") {
			if p, err := theory.ParsePitch(name + strconv.Itoa(octave)); err == nil && (octave < 6 || i == 0) {
				out = append(out, pianoKey{p.MIDI(), octave, d.words.Name(p.Name), len(name) > 1})
			}
		}
	}
	return out
}

// fact is a thing that is known of a tune, with its name.
type fact struct{ Name, Value string }

// look is what a text looks like: pictures, and what was said in reading it.
type look struct {
	Tune     string
	Pictures []sheetPicture
	Problems []problem
	Fatal    bool // it could not be read
	Mending  bool // likely readings can be taken: what is shown is what is kept
}

// sheetPicture is a picture of a sheet, and the same with fewer bars on a line; "": there is
// none.
type sheetPicture struct{ Wide, Narrow string }

// Plain are the problems that have no button of their own.
func (l look) Plain() []problem {
	return slices.DeleteFunc(slices.Clone(l.Problems), func(p problem) bool { return p.Make != "" || l.Mending && p.Mend != "" && p.Code != "sheet-mended" })
}

// places are the pages of a tune, by their path and the message that names them.
var places = []struct{ path, name string }{
	{"whole", "whole"}, {"sheet", "sheet"}, {"plan", "plan"}, {"other", "beside"}, {"listen", "listen"}, {"history", "history"}, {"rights", "rights"}, {"lesson", "lesson"},
}

// head is what stands above every page of a tune.
func (d *Desk) head(st *state, here string) frame {
	h := &tuneHead{ID: st.Tune.ID, Title: d.titleOf(st.Tune), Version: st.Version}
	h.Undo, h.Redo = d.steps(st.History)
	title := h.Title
	for _, p := range places {
		x := place{h.Href(p.path), d.say("place." + p.name), p.path == here}
		if x.Here {
			title = x.Text + " · " + h.Title
		}
		h.Places = append(h.Places, x)
	}
	return frame{Title: title, Tune: h, Undoes: true}
}

// newest is the version that a history stands at.
func (d *Desk) newest(ctx context.Context, id, what string) (int, error) {
	rs, err := d.shelf.History(ctx, id, what)
	if err != nil || len(rs) == 0 {
		return 0, err
	}
	return rs[len(rs)-1].Version, nil
}

// written is a sheet as a text that can be changed: its own where it is ABC, else written
// anew. as is what it is kept as then.
func written(f gradatim.File, song leadsheet.Song) (text, as string) {
	head := bytes.TrimLeft(f.Data[:min(len(f.Data), 64)], "\xef\xbb\xbf\xfe\xff\x00 \t\r\n")
	switch {
	case bytes.HasPrefix(head, []byte("MThd")), bytes.HasPrefix(head, []byte("RIFF")):
		as = "MIDI"
	case bytes.HasPrefix(head, []byte("PK")), bytes.HasPrefix(head, []byte("<")):
		as = "MusicXML"
	default:
		return strings.ReplaceAll(string(f.Data), "\r\n", "\n"), ""
	}
	abc, err := gradatim.WriteSheet(song, gradatim.SheetABC)
	if err != nil {
		return "", as
	}
	return string(abc), as
}

func (d *Desk) showSheet(w http.ResponseWriter, r *http.Request) error {
	st, err := d.state(r.Context(), r.PathValue("tune"))
	if err != nil {
		return err
	}
	return d.sheetPage(w, r, st, http.StatusOK, nil)
}

// allNames are the names of all notes with a flat, plain and with a sharp, as a script reads them.
func (d *Desk) allNames() string {
	var names []string
	for l := theory.C; l <= theory.B; l++ {
		for alter := int8(-1); alter <= 1; alter++ {
			names = append(names, d.words.Name(theory.Name{Letter: l, Alter: alter}))
		}
	}
	text, _ := json.Marshal(names) // strings can always be written
	return string(text)
}

// noteLengths are the lengths that notes are written with, the longest first.
func (d *Desk) noteLengths() (out []noteLength) {
	for of := 1; of <= 16; of *= 2 {
		long := theory.Whole / theory.Dur(of)
		out = append(out, noteLength{of, d.words.Value(long), d.words.Value(long * 3 / 2)})
	}
	return out
}

// sheetPage shows a sheet as it stands on the shelf, or the text that somebody is at.
func (d *Desk) sheetPage(w http.ResponseWriter, r *http.Request, st *state, status int, typed *string) error {
	ctx := r.Context()
	song := st.Session.Song()
	v := &sheetView{frame: d.head(st, "sheet"), Keyboard: d.keyboard(), Names: d.allNames(), Lengths: d.noteLengths()}
	v.Text, v.Foreign = written(st.Job.Sheet, song)
	var err error
	if v.Seen, err = d.newest(ctx, st.Tune.ID, gradatim.SheetHistory); err != nil {
		return err
	}
	sheet := st.Job.Sheet
	if typed != nil {
		v.Text, sheet = *typed, gradatim.File{Name: sheetName(st), Data: []byte(*typed)}
		if seen, err := strconv.Atoi(r.PostFormValue("seen")); err == nil {
			v.Seen = seen
		}
	}
	mends := st.Job.Mend
	if typed != nil {
		mends = nil
	}
	if v.Look, err = d.looks(ctx, st.Tune.ID, sheet, v.Text, mends); err != nil {
		return err
	}
	v.Look.Mending, v.Mended = typed == nil, len(mends) > 0
	if v.Look.Fatal && v.Wrong == "" && typed != nil {
		v.Wrong = d.say("sheet.unread")
	}
	form := song.Form
	if form == "" {
		form = d.say("sheet.no-form")
	}
	v.Facts = []fact{{d.say("sheet.key"), d.words.Key(song.Key)}, {d.say("sheet.metre"), song.Meter.String()}, {d.say("sheet.form"), form}, {d.say("sheet.length"), d.length(song)}}
	if verses := versesOf(song); verses > 0 {
		v.Facts = append(v.Facts, fact{d.say("sheet.verses"), strconv.Itoa(verses)})
	}
	if st.Tune.Chords == 0 && typed == nil {
		if v.Chords, err = d.proposed(ctx, st, song); err != nil {
			return err
		}
	}
	v.Typed = typed != nil
	return d.render(w, r, status, "sheet", v)
}

// versesOf counts the verses under the notes of a song.
func versesOf(s leadsheet.Song) int {
	n := 0
	for _, x := range s.Melody {
		for i, syllable := range x.Sung {
			if syllable != (leadsheet.Syllable{}) {
				n = max(n, i+1)
			}
		}
	}
	return n
}

// sheetName is what a text of the tune's sheet is called as a file.
func sheetName(st *state) string { return gradatim.Stem(st.Tune.Name, 0) + ".abc" }

// looks engraves a sheet and gathers what was said in reading it. What cannot be read is
// told, and has no picture.
func (d *Desk) looks(ctx context.Context, tune string, f gradatim.File, text string, mends []string) (look, error) {
	l := look{Tune: tune}
	k, n, told, err := d.drawSheet(ctx, f, mends)
	var ps leadsheet.Problems
	switch {
	case errors.As(err, &ps):
		l.Fatal, told = true, ps
	case err != nil:
		return l, err
	}
	for i := range n {
		l.Pictures = append(l.Pictures, sheetPicture{fmt.Sprintf("/drawn/%s/%d", k, i), ""})
	}
	if n == 1 { // for a narrow window it is set anew
		l.Pictures[0].Narrow = fmt.Sprintf("/drawn/%s/narrow", k)
	}
	told = oneEach(told)
	l.Problems = d.problems(told)
	lines := strings.Split(text, "\n")
	quoted := 0
	for i, p := range l.Problems {
		if p.Mend != "" {
			l.Problems[i].Fix = d.say("sheet." + likely(p.Likely)) // the way out is a button
		}
		if p.Line > 0 && p.Line <= len(lines) && p.Line != quoted {
			quoted = p.Line
			l.Problems[i].Quote = strings.TrimSpace(lines[p.Line-1])
		}
		if symbol, near, ok := near(p.told); ok && p.Line > 0 && p.Line <= len(lines) && strings.Contains(lines[p.Line-1], `"`+symbol+`"`) {
			instead := slices.Clone(lines)
			instead[p.Line-1] = strings.Replace(instead[p.Line-1], `"`+symbol+`"`, `"`+near+`"`, 1)
			l.Problems[i].Fix, l.Problems[i].Make, l.Problems[i].Instead = "", d.say("sheet.make", "Near", near), strings.Join(instead, "\n")
		}
	}
	return l, nil
}

// oneEach leaves out what another Problem of the same place says better: that a bar is too
// short or too long, where it is also said what was likely meant.
func oneEach(ps leadsheet.Problems) leadsheet.Problems {
	return slices.DeleteFunc(slices.Clone(ps), func(p leadsheet.Problem) bool {
		return (p.Code == "bar-short" || p.Code == "bar-long") && slices.ContainsFunc(ps, func(q leadsheet.Problem) bool {
			return q.Code == "bar-doubtful" && q.Pos.Line == p.Pos.Line && q.Pos.Bar == p.Pos.Bar
		})
	})
}

// likely is the message that says how likely a reading is: a percentage would promise a
// count that nobody has made.
func likely(percent int) string {
	switch {
	case percent >= 90:
		return "likely-sure"
	case percent > 60:
		return "likely-well"
	}
	return "likely-even"
}

// near is the chord symbol that could not be read, and the one that is like it.
func near(p leadsheet.Problem) (symbol, other string, ok bool) {
	if p.Says != "chord-unknown.near" {
		return "", "", false
	}
	for i := 0; i+1 < len(p.Parts); i += 2 {
		text, _ := p.Parts[i+1].(leadsheet.Quoted)
		switch p.Parts[i] {
		case "Symbol":
			symbol = string(text)
		case "Near":
			other = string(text)
		}
	}
	return symbol, other, symbol != "" && other != ""
}

// drawSheet engraves a lead sheet, with the chords that were found for it where it has
// none, and tells under which key the pictures lie and how many there are. One page is
// arranged for it and thrown away: the façade writes lead sheets in the key of pages.
func (d *Desk) drawSheet(ctx context.Context, f gradatim.File, mends []string) (string, int, leadsheet.Problems, error) {
	s, err := d.session(ctx, "sheet", gradatim.Job{Sheet: f, Levels: []int{1}, Mend: mends})
	if err != nil {
		return "", 0, nil, err
	}
	told, bare := s.Song().Problems, len(s.Song().Chords) == 0
	xml, err := s.LeadSheet(ctx)
	if err != nil {
		return "", 0, told, err
	}
	k := fmt.Sprintf("%x", sha256.Sum256(fmt.Appendf(nil, "sheet %s %t\n%s", d.words.ID(), bare, xml)))
	if svgs, ok := d.drawn.get(k); ok {
		return k, len(svgs), told, nil
	}
	d.drawn.put(k+" xml", [][]byte{xml}) // for other widths
	if bare {
		d.drawn.put(k+" bare", [][]byte{{}})
	}
	svgs, err := d.column(ctx, k, xml, wideSheet)
	return k, len(svgs), told, err
}

// Widths of a sheet on a screen, in mm: of a staff that is 7 mm high 4 to 5 bars on a line,
// and about 2 where the window is narrow.
const (
	wideSheet   = 165
	narrowSheet = 84
)

// column engraves a lead sheet for a screen and keeps it. Chords that were found for a bare
// tune are grey and slanted: they do not stand on its sheet.
func (d *Desk) column(ctx context.Context, key string, xml []byte, width float64) ([][]byte, error) {
	of := key
	if width != wideSheet {
		key = fmt.Sprintf("%s %g", key, width)
	}
	if svgs, ok := d.drawn.get(key); ok {
		return svgs, nil
	}
	e, err := d.studio.EngraveFile(ctx, gradatim.File{Name: "sheet.musicxml", Data: xml}, gradatim.Layout{Fingers: gradatim.AllFingers, Column: width, Language: d.words.ID()})
	if err != nil {
		return nil, err
	}
	svgs := drawnOf(e)
	if _, found := d.drawn.get(of + " bare"); found {
		for i, svg := range svgs {
			svgs[i] = bytes.ReplaceAll(svg, []byte(`<g class="harm"`), []byte(`<g class="harm" fill="#6b655c" font-style="italic"`))
		}
	}
	d.drawn.put(key, svgs)
	return svgs, nil
}

// showDrawn answers with a picture that was drawn.
func (d *Desk) showDrawn(w http.ResponseWriter, r *http.Request) error {
	key := r.PathValue("key")
	if r.PathValue("n") == "narrow" {
		xml, ok := d.drawn.get(key + " xml")
		if !ok {
			return errNoPage
		}
		svgs, err := d.column(r.Context(), key, xml[0], narrowSheet)
		if err != nil {
			return err
		}
		sendSVG(w, r, svgs[0])
		return nil
	}
	svgs, ok := d.drawn.get(key)
	n, err := strconv.Atoi(r.PathValue("n"))
	if !ok || err != nil || n < 0 || n >= len(svgs) {
		return errNoPage
	}
	sendSVG(w, r, svgs[n])
	return nil
}

// typed is the text that a form brings.
func typed(r *http.Request) string {
	return strings.TrimRight(strings.ReplaceAll(r.PostFormValue("text"), "\r\n", "\n"), "\n \t") + "\n"
}

// lookAt answers with what a text looks like: the part of the page that changes while
// somebody types.
func (d *Desk) lookAt(w http.ResponseWriter, r *http.Request) error {
	t, err := d.shelf.Tune(r.Context(), r.PathValue("tune"))
	if err != nil {
		return err
	}
	text := typed(r)
	l, err := d.looks(r.Context(), t.ID, gradatim.File{Name: gradatim.Stem(t.Name, 0) + ".abc", Data: []byte(text)}, text, nil)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := d.pages.by["sheet"].ExecuteTemplate(&b, "look", l); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Write(b.Bytes())
	return nil
}

// changeSheet looks at a text, or keeps it as the tune's sheet.
func (d *Desk) changeSheet(w http.ResponseWriter, r *http.Request) error {
	st, err := d.state(r.Context(), r.PathValue("tune"))
	if err != nil {
		return err
	}
	text := typed(r)
	if r.PostFormValue("do") != "keep" {
		return d.sheetPage(w, r, st, http.StatusOK, &text)
	}
	seen, err := strconv.Atoi(r.PostFormValue("seen"))
	if err != nil {
		return errNoPage
	}
	how, err := d.keepSheet(r.Context(), st.Tune.ID, seen, text, d.say("note.sheet"))
	var ps leadsheet.Problems
	if errors.As(err, &ps) {
		return d.sheetPage(w, r, st, http.StatusUnprocessableEntity, &text)
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/tunes/"+st.Tune.ID+"/sheet?told="+how, http.StatusSeeOther)
	return nil
}

// keepSheet writes a text as a tune's sheet. Where the sheet was changed since the writer
// saw it, bars that only one of the two has touched hold from both; where they touched the
// same, what holds stays and the text is put aside in the history. The result says which.
func (d *Desk) keepSheet(ctx context.Context, id string, seen int, text, note string) (string, error) {
	turn := d.tunes.turn(id)
	turn.Lock()
	defer turn.Unlock()
	st, err := d.state(ctx, id)
	if err != nil {
		return "", err
	}
	f := gradatim.File{Name: sheetName(st), Data: []byte(text)}
	now, err := d.newest(ctx, id, gradatim.SheetHistory)
	if err != nil {
		return "", err
	}
	current := strings.ReplaceAll(string(st.Job.Sheet.Data), "\r\n", "\n")
	if text == current {
		return "same", nil
	}
	if seen == now {
		_, err := d.shelf.ReplaceSheet(ctx, id, f, note)
		return "sheet", err
	}
	base, err := d.shelf.At(ctx, id, gradatim.SheetHistory, seen)
	if err != nil {
		return "", err
	}
	if both, ok := mergeBars(strings.ReplaceAll(string(base), "\r\n", "\n"), current, text); ok {
		f.Data = []byte(both)
		if _, err := d.shelf.ReplaceSheet(ctx, id, f, note); err == nil {
			return "merged", nil
		}
		f.Data = []byte(text)
	}
	if _, err := d.shelf.ReplaceSheet(ctx, id, f, d.say("note.aside", "Note", note)); err != nil {
		return "", err
	}
	_, err = d.shelf.ReplaceSheet(ctx, id, st.Job.Sheet, d.say("note.stays"))
	return "kept", err
}

// mergeBars joins two texts that were both made of a third, bar by bar, where they have
// changed different stretches of it. ok is false where the stretches meet.
func mergeBars(base, a, b string) (string, bool) {
	was, as, bs := bars(base), bars(a), bars(b)
	a0, a1 := changed(was, as)
	b0, b1 := changed(was, bs)
	if a0 > b0 || a0 == b0 && a1 > b1 {
		as, bs, a0, a1, b0, b1 = bs, as, b0, b1, a0, a1
	}
	if a1 >= b0 { // also where they touch: one may need the other
		return "", false
	}
	var out strings.Builder
	for _, part := range [][]string{was[:a0], as[a0 : len(as)-(len(was)-a1)], was[a1:b0], bs[b0 : len(bs)-(len(was)-b1)], was[b1:]} {
		for _, s := range part {
			out.WriteString(s)
		}
	}
	return out.String(), true
}

// bars cuts a text after its bar lines and line ends.
func bars(text string) []string {
	var out []string
	for text != "" {
		i := strings.IndexAny(text, "|\n")
		if i < 0 {
			return append(out, text)
		}
		out, text = append(out, text[:i+1]), text[i+1:]
	}
	return out
}

// changed is the stretch of the first list that is otherwise in the second.
func changed(was, is []string) (from, to int) {
	for from < len(was) && from < len(is) && was[from] == is[from] {
		from++
	}
	to = len(was)
	for n := len(is); to > from && n > from && was[to-1] == is[n-1]; n-- {
		to--
	}
	return from, to
}
