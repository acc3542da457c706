package desk

import (
	"archive/zip"
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"mime"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"gradatim"
	"gradatim/leadsheet"
)

// works makes lessons, one part after another, through the press of the shelf: what is
// queued and how far it is stands there, so that it goes on after the desk was ended.
type works struct {
	mu      sync.Mutex
	press   *gradatim.Press
	running bool
	counts  gradatim.PressCounters
}

// pressOf opens the press of the shelf.
func (d *Desk) pressOf(ctx context.Context) (*gradatim.Press, error) {
	d.works.mu.Lock()
	defer d.works.mu.Unlock()
	if d.works.press == nil {
		p, err := d.shelf.Press(ctx)
		if err != nil {
			return nil, err
		}
		d.works.press = p
	}
	return d.works.press, nil
}

// work sees to it that somebody makes what is queued.
func (d *Desk) work(p *gradatim.Press) {
	d.works.mu.Lock()
	defer d.works.mu.Unlock()
	if d.works.running {
		return
	}
	d.works.running = true
	d.wait.Go(func() {
		err := p.Work(d.life, gradatim.PressConfig{AtOnce: 1, Beat: time.Second, Words: d.words.Problems}, &d.works.counts, nil)
		if err != nil && d.life.Err() == nil {
			d.log.Error("desk: making lessons", "error", err)
		}
		d.works.mu.Lock()
		d.works.running = false
		d.works.mu.Unlock()
	})
}

// lessonView is the lesson of a tune: how it is made, how far it is, and what is there.
type lessonView struct {
	frame
	Levels  []optionValue
	Audio   []optionValue
	Runs    []runRow
	Builds  []buildRow
	Missing []problem // before it may be published
	Own     ownView
}

// runRow is something that was ordered of this tune.
type runRow struct {
	ID      int64
	When    string
	Percent int
	Text    string
	Over    bool
	Failed  bool
	Reason  []problem
	Parts   []runPart // of one that is being made
}

// runPart is a level of a lesson that is being made, or what else it has.
type runPart struct {
	Name    string `json:"name"`
	Text    string `json:"text"` // "3 of 9"
	Percent int    `json:"percent"`
}

// runParts gathers the steps of a part of the press by level.
func (d *Desk) runParts(steps []gradatim.PressStep) (out []runPart) {
	var of []int
	var done []int
	var share []float64
	for _, s := range steps {
		name, _, _ := strings.Cut(s.Name, ":")
		if n, err := strconv.Atoi(strings.TrimPrefix(name, "level ")); err == nil {
			name = d.say("listen.level-short", "Number", n)
		} else if name == "workbook" {
			name = d.say("lesson.part-workbook")
		}
		i := slices.IndexFunc(out, func(p runPart) bool { return p.Name == name })
		if i < 0 {
			i = len(out)
			out, of, done, share = append(out, runPart{Name: name}), append(of, 0), append(done, 0), append(share, 0)
		}
		of[i]++
		share[i] += s.Share
		if s.Share == 1 {
			done[i]++
		}
	}
	for i := range out {
		out[i].Text, out[i].Percent = d.say("lesson.part-of", "Done", done[i], "All", of[i]), int(100*share[i]/float64(of[i]))
	}
	return out
}

// buildRow is a lesson that was made.
type buildRow struct {
	When, Key, Size string
	Href            string
	Look            string // address at which it is looked at
}

// queryOf asks the press for one tune.
func queryOf(id string) string { return "id:" + id }

// runsOf are the lessons of a tune that were ordered. One that a desk left in the middle
// goes on.
func (d *Desk) runsOf(ctx context.Context, tune string) (out []runRow, err error) {
	p, err := d.pressOf(ctx)
	if err != nil {
		return nil, err
	}
	runs, err := p.Runs(ctx)
	if err != nil {
		return nil, err
	}
	for _, run := range runs {
		if run.Query != queryOf(tune) {
			continue
		}
		row, err := d.runRow(ctx, p, run.ID)
		if err != nil {
			return nil, err
		}
		out = append(out, row)
		if !row.Over { // a desk that was ended in the middle goes on here
			d.work(p)
		}
	}
	return out, nil
}

func (d *Desk) showLesson(w http.ResponseWriter, r *http.Request) error {
	st, err := d.state(r.Context(), r.PathValue("tune"))
	if err != nil {
		return err
	}
	return d.lessonPage(w, r, st, http.StatusOK, nil, 0, nil)
}

// lessonPage shows the lesson of a tune; own is what somebody is writing for it and what is
// wrong with that, nil: what stands on the shelf.
func (d *Desk) lessonPage(w http.ResponseWriter, r *http.Request, st *state, status int, own *string, seen int, told leadsheet.Problems) error {
	ctx := r.Context()
	v := &lessonView{frame: d.head(st, "lesson"), Missing: d.missing(st.Session.Publishable())}
	var err error
	if v.Levels, err = d.levelValues(ctx, st.Session, 0); err != nil {
		return err
	}
	text := ""
	if own != nil {
		text = *own
	} else if text, seen, err = d.ownText(ctx, st.Tune.ID); err != nil {
		return err
	}
	v.Own = d.ownOf(st, v.Levels, text, seen)
	if v.Own.Problems = d.problems(told); told != nil {
		v.Wrong, v.Own.Open = d.say("own.refused"), true
	}
	for _, a := range []gradatim.Audio{gradatim.SomeAudio, gradatim.NoAudio, gradatim.AllAudio} {
		v.Audio = append(v.Audio, optionValue{a.String(), d.say("lesson.audio-" + a.String()), a == gradatim.SomeAudio})
	}
	if d.only == "" { // the press writes where it looks
		if v.Runs, err = d.runsOf(ctx, st.Tune.ID); err != nil {
			return err
		}
	}
	builds, err := d.shelf.Builds(ctx, st.Tune.ID)
	if err != nil {
		return err
	}
	slices.Reverse(builds)
	for _, b := range builds {
		if b.What != string(gradatim.Lessons) {
			continue
		}
		full, found, err := d.shelf.Build(ctx, b.ID)
		if err != nil {
			return err
		}
		if !found {
			continue
		}
		var size int64
		for _, f := range full.Files {
			size += f.Bytes
		}
		v.Builds = append(v.Builds, buildRow{When: b.Made.Format("2006-01-02 15:04"), Key: b.Key, Size: d.say("lesson.size", "n", int((size+500_000)/1_000_000)), Href: "/tunes/" + st.Tune.ID + "/lesson/" + b.ID + ".zip", Look: "/tunes/" + st.Tune.ID + "/built/" + b.ID})
	}
	return d.render(w, r, status, "lesson", v)
}

// missing says what is to be done before a lesson may be published, and on which page of
// the desk: what the program says of files beside the sheet is of no use here.
func (d *Desk) missing(told leadsheet.Problems) []problem {
	out := d.problems(told)
	for i := range out {
		p := &out[i]
		switch fatal := p.Fatal; {
		case p.Code == "rights-title" || p.Code == "rights-composer":
			p.Fix = d.say("lesson.fix-sheet")
		case fatal:
			p.Fix = d.say("lesson.fix-rights")
		case p.Code == "rights-lyrics":
			p.Fix = ""
		}
		if p.Fatal {
			p.Gravity = d.say("lesson.todo")
		}
		p.Fatal, p.Code, p.Place, p.Line = false, "", "", 0
	}
	return out
}

// runRow says how a run gets on.
func (d *Desk) runRow(ctx context.Context, p *gradatim.Press, run int64) (runRow, error) {
	g, err := p.Progress(ctx, run)
	if err != nil {
		return runRow{}, err
	}
	row := runRow{ID: run, When: g.Run.At.Format("2006-01-02 15:04"), Over: g.Over()}
	share := float64(g.Counts[gradatim.PartDone])
	for _, x := range g.Making {
		share += x.Share
		row.Parts = append(row.Parts, d.runParts(x.Steps)...)
	}
	row.Percent = int(100 * share / float64(max(1, g.Parts())))
	for _, x := range g.Failed {
		row.Failed = true
		var ps []struct{ Text, Fix, Code string }
		if json.Unmarshal(x.Problems, &ps) == nil {
			for _, q := range ps {
				row.Reason = append(row.Reason, problem{Text: q.Text, Fix: d.fix(q.Fix), Code: q.Code, Gravity: d.say("gravity.error"), Fatal: true})
			}
		}
	}
	switch {
	case row.Failed:
		row.Text = d.say("lesson.failed")
	case g.Counts[gradatim.PartCancelled] > 0 && row.Over:
		row.Text = d.say("lesson.cancelled")
	case row.Over:
		row.Text, row.Percent = d.say("lesson.done"), 100
	case len(g.Making) > 0:
		row.Text = d.say("lesson.making")
	default:
		row.Text = d.say("lesson.waiting")
	}
	return row, nil
}

// makeLesson queues a lesson of a tune as it stands.
func (d *Desk) makeLesson(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	st, err := d.state(ctx, r.PathValue("tune"))
	if err != nil {
		return err
	}
	audio, err := gradatim.ParseAudio(cmp.Or(r.PostFormValue("audio"), "some"))
	if err != nil {
		return errNoPage
	}
	// The press takes sheet, choices, rights and the tune's own key from the shelf.
	job, err := d.lessonJob(ctx, st)
	if err != nil {
		return err
	}
	order := gradatim.PressOrder{Keys: job.Keys}
	job.Keys, job.Audio, job.Levels = nil, audio, levelsAsked(r)
	order.Job = job
	p, err := d.pressOf(ctx)
	if err != nil {
		return err
	}
	plan, err := p.Plan(ctx, queryOf(st.Tune.ID), order)
	if err != nil {
		return err
	}
	if _, err := p.Start(ctx, plan); err != nil {
		return err
	}
	d.work(p)
	http.Redirect(w, r, "/tunes/"+st.Tune.ID+"/lesson?told=ordered", http.StatusSeeOther)
	return nil
}

// cancelLesson gives up what is not made yet.
func (d *Desk) cancelLesson(w http.ResponseWriter, r *http.Request) error {
	p, run, err := d.runOf(r)
	if err != nil {
		return err
	}
	if _, err := p.Cancel(r.Context(), run); err != nil {
		return err
	}
	http.Redirect(w, r, "/tunes/"+r.PathValue("tune")+"/lesson?told=cancelled", http.StatusSeeOther)
	return nil
}

// runOf is the run of an address, if it is one of the tune there.
func (d *Desk) runOf(r *http.Request) (*gradatim.Press, int64, error) {
	run, err := strconv.ParseInt(r.PathValue("run"), 10, 64)
	if err != nil {
		return nil, 0, errNoPage
	}
	p, err := d.pressOf(r.Context())
	if err != nil {
		return nil, 0, err
	}
	runs, err := p.Runs(r.Context())
	if err != nil {
		return nil, 0, err
	}
	if !slices.ContainsFunc(runs, func(x gradatim.PressRun) bool { return x.ID == run && x.Query == queryOf(r.PathValue("tune")) }) {
		return nil, 0, errNoPage
	}
	return p, run, nil
}

// events tells how a run gets on until it is over (server-sent events, HTML Living
// Standard, 9.2). What is told stands on the shelf, so that a browser that comes back is
// told how it stands then. Only this goroutine writes, and the request ends it.
func (d *Desk) events(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	p, run, err := d.runOf(r)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	rc := http.NewResponseController(w)
	fmt.Fprint(w, "retry: 2000\n\n")
	tick := time.NewTicker(300 * time.Millisecond)
	defer tick.Stop()
	last, quiet := "", 0
	for {
		row, err := d.runRow(ctx, p, run)
		if err != nil {
			return nil // the browser asks again
		}
		data, _ := json.Marshal(map[string]any{"percent": row.Percent, "text": row.Text, "over": row.Over, "parts": row.Parts})
		if string(data) != last {
			last, quiet = string(data), 0
			fmt.Fprintf(w, "event: progress\ndata: %s\n\n", data)
		} else if quiet++; quiet%50 == 0 { // so that nobody between us thinks that we are gone
			fmt.Fprint(w, ": still here\n\n")
		}
		if rc.Flush() != nil || row.Over {
			return nil
		}
		select {
		case <-tick.C:
		case <-ctx.Done():
			return nil
		case <-d.life.Done():
			return nil
		}
	}
}

// download sends a lesson as a zip file, everything under one folder.
func (d *Desk) download(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	id, ok := strings.CutSuffix(r.PathValue("build"), ".zip")
	if !ok {
		return errNoPage
	}
	t, err := d.shelf.Tune(ctx, r.PathValue("tune"))
	if err != nil {
		return err
	}
	b, found, err := d.shelf.Build(ctx, id)
	if err != nil {
		return err
	}
	if !found || b.Tune != t.ID {
		return errNoPage
	}
	store := d.shelf.Built(ctx, b)
	names, err := store.List(ctx)
	if err != nil {
		return err
	}
	stem := gradatim.Stem(t.Name, 0)
	w.Header().Set("Content-Type", "application/zip")
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": stem + ".zip"}))
	z := zip.NewWriter(w)
	for _, name := range names {
		if err := addFile(ctx, z, store, stem+"/"+name, name); err != nil {
			// The head is gone: a file that is cut off is told by its end missing.
			d.log.Error("desk: sending a lesson", "error", err)
			panic(http.ErrAbortHandler)
		}
	}
	return z.Close()
}

func addFile(ctx context.Context, z *zip.Writer, store gradatim.Store, as, name string) error {
	in, err := store.Open(ctx, name)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := z.CreateHeader(&zip.FileHeader{Name: as, Method: zip.Deflate})
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return err
}
