package desk

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"io"
	"io/fs"
	"maps"
	"mime"
	"net/http"
	"path"
	"slices"
	"strings"
	"sync"

	"gradatim"
	"gradatim/leadsheet"
)

// A lesson is looked at before it is made, without sound, or after. Its pages have scripts
// of their own, and one that was made may have come with a shelf from somebody else. So a
// browser is told to treat it as a stranger ("sandbox": HTML Living Standard, 7.1.5): it can
// neither read a page of the desk nor ask for one, and brings no cookie. It is therefore let
// in by an address that nobody can guess, given only to pages of the desk.

// previews are the lessons that can be looked at.
type previews struct {
	mu    sync.Mutex
	by    map[string]*preview
	order []string // keys, oldest first
}

// preview is a lesson that is looked at, or on its way to that.
type preview struct {
	tune  string
	of    string // what it is made of: the same is not made twice
	mu    sync.Mutex
	share float64
	store gradatim.Store // nil: it is not there yet
	files []string
	told  leadsheet.Problems
	err   error
}

// mostPreviews bounds those that are kept: one without sound is about 4 MB.
const mostPreviews = 6

func newPreviews() *previews { return &previews{by: map[string]*preview{}} }

func (ps *previews) get(key string) *preview {
	ps.mu.Lock()
	defer ps.mu.Unlock()
	return ps.by[key]
}

// add keeps a preview under a new key, or finds the key of one that is made of the same.
func (ps *previews) add(p *preview) (key string, there bool) {
	ps.mu.Lock()
	defer ps.mu.Unlock()
	for _, k := range ps.order {
		if x := ps.by[k]; x.of == p.of && !x.failed() {
			return k, true
		}
	}
	key = rand.Text()
	ps.by[key] = p
	if ps.order = append(ps.order, key); len(ps.order) > mostPreviews {
		delete(ps.by, ps.order[0])
		ps.order = ps.order[1:]
	}
	return key, false
}

func (p *preview) failed() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.err != nil
}

// ready says that a preview is there, or why it will not be.
func (p *preview) ready(ctx context.Context, s gradatim.Store, told leadsheet.Problems, err error) {
	var files []string
	if err == nil {
		files, err = s.List(ctx)
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.err = err; err == nil {
		p.store, p.files, p.told, p.share = s, files, told, 1
	}
}

// makePreview begins to make the lesson as it would be now, without sound, and shows how far
// it is.
func (d *Desk) makePreview(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	st, err := d.state(ctx, r.PathValue("tune"))
	if err != nil {
		return err
	}
	job, err := d.lessonJob(ctx, st)
	if err != nil {
		return err
	}
	job.Audio, job.Levels = gradatim.NoAudio, levelsAsked(r)
	p := &preview{tune: st.Tune.ID, of: key(st.Tune.ID, job)}
	k, there := d.previews.add(p)
	if !there {
		d.wait.Go(func() {
			s := &kept{name: st.Tune.Name}
			told, err := d.packed(d.life, job, s, p)
			p.ready(d.life, s, told, err)
		})
	}
	http.Redirect(w, r, "/tunes/"+st.Tune.ID+"/preview/"+k, http.StatusSeeOther)
	return nil
}

func (d *Desk) packed(ctx context.Context, job gradatim.Job, to gradatim.Store, p *preview) (leadsheet.Problems, error) {
	s, err := d.studio.Open(ctx, job)
	if err != nil {
		return nil, err
	}
	report, err := s.Pack(ctx, to, func(x gradatim.Progress) {
		p.mu.Lock()
		defer p.mu.Unlock()
		p.share = float64(x.Done) / float64(max(1, x.Parts))
	})
	return report.Problems, err
}

// lookAtBuild shows a lesson that was made.
func (d *Desk) lookAtBuild(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	b, found, err := d.shelf.Build(ctx, r.PathValue("build"))
	if err != nil {
		return err
	}
	if !found || b.Tune != r.PathValue("tune") {
		return errNoPage
	}
	p := &preview{tune: b.Tune, of: "build " + b.ID}
	k, there := d.previews.add(p)
	if !there {
		p.ready(ctx, d.shelf.Built(ctx, b), nil, nil)
	}
	http.Redirect(w, r, "/tunes/"+b.Tune+"/preview/"+k, http.StatusSeeOther)
	return nil
}

// previewView shows a lesson inside a page of the desk.
type previewView struct {
	frame
	Ready   bool
	Failed  bool
	Percent int
	Reason  []problem
	Site    string // address of its first page
	Papers  []place
	Gave    []problem
}

func (d *Desk) showPreview(w http.ResponseWriter, r *http.Request) error {
	st, err := d.state(r.Context(), r.PathValue("tune"))
	if err != nil {
		return err
	}
	k := r.PathValue("key")
	p := d.previews.get(k)
	if p == nil || p.tune != st.Tune.ID {
		return errNoPage
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	v := &previewView{frame: d.head(st, "lesson"), Ready: p.store != nil, Failed: p.err != nil, Percent: int(100 * p.share), Gave: d.problems(p.told)}
	v.Title = d.say("preview.title") + " · " + v.Tune.Title
	var ps leadsheet.Problems
	switch {
	case errors.As(p.err, &ps):
		v.Reason = d.problems(ps)
	case p.err != nil:
		d.log.Error("desk: a preview", "error", p.err)
	}
	root := "/look/" + k + "/"
	for _, f := range p.files {
		switch {
		case f == "index.html":
			v.Site = root + f
		case path.Ext(f) == ".pdf" && strings.HasPrefix(path.Base(f), "workbook"):
			v.Papers = append([]place{{Path: root + f, Text: d.say("preview.workbook")}}, v.Papers...)
		case path.Ext(f) == ".pdf":
			v.Papers = append(v.Papers, place{Path: root + f, Text: path.Base(f)})
		}
	}
	if !v.Ready && !v.Failed { // a browser asks again by itself, with script or without
		w.Header().Set("Refresh", "1")
	}
	return d.render(w, r, http.StatusOK, "preview", v)
}

// stranger is what a page of a lesson may do: run what it brings, and nothing at the desk.
const stranger = "sandbox allow-scripts allow-popups allow-downloads; default-src 'self' data: blob:; script-src 'self'; style-src 'self' 'unsafe-inline'; frame-ancestors 'self'; form-action 'none'; base-uri 'none'"

// serveLook answers with a file of a lesson that is looked at.
func (d *Desk) serveLook(w http.ResponseWriter, r *http.Request) error {
	p := d.previews.get(r.PathValue("key"))
	if p == nil {
		return errNoPage
	}
	p.mu.Lock()
	s := p.store
	p.mu.Unlock()
	if s == nil {
		return errNoPage
	}
	name := r.PathValue("path")
	in, err := s.Open(r.Context(), name)
	if errors.Is(err, fs.ErrNotExist) {
		return errNoPage
	}
	if err != nil {
		return err
	}
	defer in.Close()
	data, err := io.ReadAll(in)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Referrer-Policy", "no-referrer") // the address is the key
	if path.Ext(name) != ".pdf" {           // no browser shows one in a sandbox, and none runs anything of ours
		h.Set("Content-Security-Policy", stranger)
		h.Del("Cross-Origin-Opener-Policy") // a page in a sandbox may not have one
		h.Set("Cross-Origin-Resource-Policy", "cross-origin")
		h.Set("Access-Control-Allow-Origin", "null") // letters are asked for so; whoever knows the address may read it anyway
	}
	h.Set("Content-Type", typeOf(name))
	_, err = w.Write(data)
	return err
}

// typeOf is the kind of a file of a lesson, by its name: what the system says of it differs.
func typeOf(name string) string {
	ext := strings.ToLower(path.Ext(name))
	if t, ok := map[string]string{".html": "text/html; charset=utf-8", ".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".json": "application/json", ".webmanifest": "application/manifest+json",
		".svg": "image/svg+xml", ".pdf": "application/pdf", ".mp3": "audio/mpeg", ".ogg": "audio/ogg", ".wav": "audio/wav", ".mid": "audio/midi", ".woff": "font/woff", ".woff2": "font/woff2",
		".ttf": "font/ttf", ".png": "image/png", ".jpg": "image/jpeg", ".jpeg": "image/jpeg"}[ext]; ok {
		return t
	}
	if t := mime.TypeByExtension(ext); strings.HasPrefix(t, "audio/") || strings.HasPrefix(t, "video/") {
		return t
	}
	return "application/octet-stream"
}

// kept is a store that is nowhere but here.
type kept struct {
	name        string
	mu          sync.Mutex
	files, next map[string][]byte
}

func (m *kept) Name() string { return m.name }

func (m *kept) List(context.Context) ([]string, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return slices.Sorted(maps.Keys(m.files)), nil
}

func (m *kept) Open(_ context.Context, name string) (io.ReadCloser, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	data, ok := m.files[name]
	if !ok {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return io.NopCloser(bytes.NewReader(data)), nil
}

func (m *kept) Begin(context.Context) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.next = map[string][]byte{}
	return nil
}

func (m *kept) Put(_ context.Context, name string, data []byte) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.next[name] = data
	return nil
}

func (m *kept) Keep(_ context.Context, name string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	data, ok := m.files[name]
	if !ok {
		return &fs.PathError{Op: "keep", Path: name, Err: fs.ErrNotExist}
	}
	m.next[name] = data
	return nil
}

func (m *kept) Commit(context.Context) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.files, m.next = m.next, nil
	return nil
}

func (m *kept) Discard() error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.next = nil
	return nil
}
