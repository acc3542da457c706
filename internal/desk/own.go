package desk

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/BurntSushi/toml"

	"gradatim"
	"gradatim/leadsheet"
)

// What a teacher gives to a lesson of her own is a file (docs/formats.md, Lesson). On the
// shelf it is a text of the tune; here each of its texts stands in a field where it belongs,
// and the whole file below for what has none.

// ownHistory is where it stands.
var ownHistory = gradatim.TextHistory("lesson")

// ownView is that file in a form.
type ownView struct {
	Seen       int
	Fields     []ownField // of the whole lesson
	Levels     []ownGroup
	Sections   []ownGroup
	File       string
	Logo       string        // the file's name; "": none
	Recordings []optionRowOf // files, and what they are called
	Problems   []problem
	Open       bool
}

type ownGroup struct {
	Name   string
	Fields []ownField
}

// ownField is a text of it; Name is its key in the file, with dots.
type ownField struct {
	Name, Label, Value string
	Long               bool
}

// ownKeys are the texts for the whole lesson, in the order of the form; true: a long one.
var ownKeys = []struct {
	name string
	long bool
}{{"introduction", true}, {"dedication", false}, {"studio", false}, {"contact", false}, {"price", false}, {"licence", false}}

// ownText reads the file as it stands on the shelf.
func (d *Desk) ownText(ctx context.Context, tune string) (string, int, error) {
	data, _, err := d.shelf.Current(ctx, tune, ownHistory)
	if err != nil {
		return "", 0, err
	}
	on, err := d.newest(ctx, tune, ownHistory)
	return string(data), on, err
}

// lessonFile is the file as a job has it.
func lessonFile(t gradatim.ShelfTune, text string) gradatim.File {
	if strings.TrimSpace(text) == "" {
		return gradatim.File{}
	}
	return gradatim.File{Name: gradatim.Stem(t.Name, 0) + ".lesson.toml", Data: []byte(text)}
}

// lessonJob is the job of a tune's lesson: what its pages are made from, and what the
// teacher gives to it.
func (d *Desk) lessonJob(ctx context.Context, st *state) (gradatim.Job, error) {
	job := st.Job
	text, _, err := d.ownText(ctx, st.Tune.ID)
	if err != nil {
		return job, err
	}
	job.Lesson, job.Language = lessonFile(st.Tune, text), d.words.ID()
	files, err := d.beside(ctx, st.Tune.ID, text)
	job.Beside = slices.Concat(job.Beside, files)
	return job, err
}

// levelsAsked are the levels that a form of a lesson asks for; none: all.
func levelsAsked(r *http.Request) (out []int) {
	r.PostFormValue("level") // reads the form
	for _, l := range r.PostForm["level"] {
		if n, err := strconv.Atoi(l); err == nil && !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	return out
}

// ownOf fills in the form of a file. A field of a key that the file has as something else
// than a text is empty, and left alone when the form comes back.
func (d *Desk) ownOf(st *state, levels []optionValue, text string, seen int) ownView {
	v := ownView{Seen: seen, File: text}
	table := map[string]any{}
	if toml.Unmarshal([]byte(text), &table) != nil {
		table = map[string]any{}
	}
	v.ownFiles(table)
	field := func(name, label string, long bool) ownField {
		value, _ := at(table, name).(string)
		v.Open = v.Open || value != ""
		return ownField{name, label, strings.TrimRight(value, "\n"), long}
	}
	for _, k := range ownKeys {
		v.Fields = append(v.Fields, field(k.name, d.say("own."+k.name), k.long))
	}
	for _, l := range levels {
		v.Levels = append(v.Levels, ownGroup{l.Text, []ownField{field("levels."+l.Value+".words", d.say("own.for-pupil"), true), field("levels."+l.Value+".teacher", d.say("own.for-teacher"), true)}})
	}
	known := map[string]bool{}
	for _, s := range sectionsOf(st.Session.Song()) {
		if s.name == "" || known[s.name] || strings.Contains(s.name, ".") {
			continue
		}
		known[s.name] = true
		v.Sections = append(v.Sections, ownGroup{d.say("own.section", "Name", s.name), []ownField{field("sections."+s.name, d.say("own.for-pupil"), true), field("notes."+s.name, d.say("own.for-teacher"), true)}})
	}
	return v
}

// at is what stands at a key of a table, with dots; nil: nothing.
func at(table map[string]any, name string) any {
	head, rest, more := strings.Cut(name, ".")
	if !more {
		return table[head]
	}
	sub, _ := table[head].(map[string]any)
	return at(sub, rest)
}

// put writes a text at a key of a table; an empty one takes the key away, and the tables
// that nothing is left in.
func put(table map[string]any, name, value string) {
	head, rest, more := strings.Cut(name, ".")
	switch {
	case more:
		sub, ok := table[head].(map[string]any)
		if !ok {
			sub = map[string]any{}
			table[head] = sub
		}
		if put(sub, rest, value); len(sub) == 0 {
			delete(table, head)
		}
	case value == "":
		delete(table, head)
	default:
		table[head] = value
	}
}

// setOwn keeps what was written: of the form the fields that are otherwise than when it was
// made, so that what another window has written in the others stays; or the whole file.
func (d *Desk) setOwn(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	st, err := d.state(ctx, r.PathValue("tune"))
	if err != nil {
		return err
	}
	seen, err := strconv.Atoi(r.PostFormValue("seen"))
	if err != nil {
		return errNoPage
	}
	turn := d.tunes.turn(st.Tune.ID)
	turn.Lock()
	defer turn.Unlock()
	now, on, err := d.ownText(ctx, st.Tune.ID)
	if err != nil {
		return err
	}
	text := strings.ReplaceAll(r.PostFormValue("file"), "\r\n", "\n")
	if r.PostFormValue("do") != "file" {
		if text, err = d.ownMerged(ctx, st, r, now, seen); err != nil {
			return err
		}
		seen = on
	}
	job := gradatim.Job{Sheet: st.Job.Sheet, Lesson: lessonFile(st.Tune, text), Language: d.words.ID()}
	if job.Beside, err = d.beside(ctx, st.Tune.ID, text); err != nil {
		return err
	}
	var ps leadsheet.Problems
	if _, err = d.studio.Open(ctx, job); errors.As(err, &ps) {
		return d.lessonPage(w, r, st, http.StatusUnprocessableEntity, &text, seen, ps)
	} else if err != nil {
		return err
	}
	if _, err := d.shelf.Write(ctx, st.Tune.ID, ownHistory, []byte(text), d.say("note.own"), seen); meanwhile(err) {
		errors.As(err, &ps)
		return d.lessonPage(w, r, st, http.StatusConflict, &text, on, ps)
	} else if err != nil {
		return err
	}
	http.Redirect(w, r, "/tunes/"+st.Tune.ID+"/lesson?told=own", http.StatusSeeOther)
	return nil
}

// ownMerged is the file that holds now with the fields that a form has changed since the
// version that it was made from.
func (d *Desk) ownMerged(ctx context.Context, st *state, r *http.Request, now string, seen int) (string, error) {
	var was []byte
	if seen > 0 {
		var err error
		if was, err = d.shelf.At(ctx, st.Tune.ID, ownHistory, seen); err != nil {
			return "", err
		}
	}
	before, table := map[string]any{}, map[string]any{}
	if toml.Unmarshal(was, &before) != nil || toml.Unmarshal([]byte(now), &table) != nil {
		return now, nil // it can be mended as a file alone
	}
	changed := false
	for name := range r.PostForm {
		key, ok := strings.CutPrefix(name, "own-")
		if !ok {
			continue
		}
		value := strings.TrimSpace(strings.ReplaceAll(r.PostFormValue(name), "\r\n", "\n"))
		if old, _ := at(before, key).(string); value != strings.TrimSpace(old) {
			put(table, key, value)
			changed = true
		}
	}
	if !changed {
		return now, nil
	}
	var b bytes.Buffer
	err := toml.NewEncoder(&b).Encode(table)
	return b.String(), err
}
