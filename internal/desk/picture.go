package desk

import (
	"cmp"
	"container/list"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"mime"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"sync"

	"gradatim"
	"gradatim/score"
)

// drawings keeps engraved pictures by the hash of what they show and how: a bar that a
// change has left alone is not engraved again.
type drawings struct {
	mu    sync.Mutex
	by    map[string]*list.Element // of *drawing
	order *list.List               // least lately used last
	bytes int
}

type drawing struct {
	key   string
	svgs  [][]byte
	bytes int
}

// maxDrawn bounds the pictures that are kept, in bytes: about a thousand bars.
const maxDrawn = 32 << 20

func newDrawings() *drawings { return &drawings{by: map[string]*list.Element{}, order: list.New()} }

func (d *drawings) get(key string) ([][]byte, bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	e, ok := d.by[key]
	if !ok {
		return nil, false
	}
	d.order.MoveToFront(e)
	return e.Value.(*drawing).svgs, true
}

func (d *drawings) put(key string, svgs [][]byte) {
	x := &drawing{key: key, svgs: svgs}
	for _, svg := range svgs {
		x.bytes += len(svg)
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if _, ok := d.by[key]; ok || x.bytes > maxDrawn/4 {
		return
	}
	d.by[key] = d.order.PushFront(x)
	for d.bytes += x.bytes; d.bytes > maxDrawn; {
		last := d.order.Back()
		old := last.Value.(*drawing)
		delete(d.by, old.key)
		d.order.Remove(last)
		d.bytes -= old.bytes
	}
}

// draw engraves a score, or bars of it, as pictures: one a page, or a single one where the
// layout asks for one system. Their ids begin with prefix, so that several can stand in one
// page.
func (d *Desk) draw(ctx context.Context, s score.Score, l gradatim.Layout, prefix string) ([][]byte, error) {
	l.Language = d.words.ID()
	seen, err := l.Cut(s) // what stands elsewhere does not change the picture
	if err != nil {
		return nil, err
	}
	l.From, l.To, l.Fingers = 0, 0, gradatim.AllFingers
	k := fmt.Sprintf("%x", sha256.Sum256(fmt.Appendf(nil, "%+v\n%+v", l, seen)))
	svgs, ok := d.drawn.get(k)
	if !ok {
		e, err := d.studio.Engrave(ctx, seen, l)
		if err != nil {
			return nil, err
		}
		svgs = drawnOf(e)
		d.drawn.put(k, svgs)
	}
	return prefixed(svgs, prefix), nil
}

// drawnOf are the pictures of an engraving.
func drawnOf(e *gradatim.Engraving) [][]byte {
	var out [][]byte
	for i := range e.Pages() {
		out = append(out, e.SVG(i))
	}
	return out
}

// reID finds ids and what refers to them in a picture of ours.
var reID = regexp.MustCompile(`( id="| href="#| xlink:href="#| aria-labelledby="| aria-describedby="|url\(#)`)

// prefixed puts a prefix before every id of some pictures.
func prefixed(svgs [][]byte, prefix string) [][]byte {
	if prefix == "" {
		return svgs
	}
	out := make([][]byte, len(svgs))
	for i, svg := range svgs {
		out[i] = reID.ReplaceAll(svg, []byte("${1}"+prefix))
	}
	return out
}

// sendSVG answers with a picture. A browser asks again, and is told that it has it.
func sendSVG(w http.ResponseWriter, r *http.Request, svg []byte) {
	sum := sha256.Sum256(svg)
	tag := `"` + hex.EncodeToString(sum[:12]) + `"`
	h := w.Header()
	h.Set("ETag", tag)
	h.Set("Cache-Control", "private, no-cache")
	if r.Header.Get("If-None-Match") == tag {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	h.Set("Content-Type", "image/svg+xml")
	h.Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; sandbox")
	w.Write(svg)
}

// prefixOf reads which ids a page wants in a picture.
var prefixOf = regexp.MustCompile(`^[a-z][a-z0-9]{0,15}-$`)

// pagePicture draws bars of a level's page: level, from, to, at (a version of the choices;
// absent: what holds), ids (a prefix) and beside (another version: the notes that it does
// not have get a ring).
func (d *Desk) pagePicture(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	st, err := d.state(r.Context(), r.PathValue("tune"))
	if err != nil {
		return err
	}
	s := st.Session
	if v, err := strconv.Atoi(q.Get("at")); err == nil {
		if s, err = d.at(r.Context(), st, v); err != nil {
			return err
		}
	}
	level, _ := strconv.Atoi(q.Get("level"))
	p, ok, err := pageOf(r.Context(), s, level)
	if err != nil {
		return err
	}
	if !ok || p.Failed {
		return errNoPage
	}
	from, _ := strconv.Atoi(q.Get("from"))
	to, err := strconv.Atoi(q.Get("to"))
	if err != nil {
		to = from
	}
	prefix := q.Get("ids")
	if !prefixOf.MatchString(prefix) {
		prefix = ""
	}
	svgs, err := d.draw(r.Context(), p.Score, gradatim.Layout{From: from, To: to, OneSystem: true, Continued: true}, prefix)
	if err != nil {
		return err
	}
	if v, err := strconv.Atoi(q.Get("beside")); err == nil {
		other, err := d.at(r.Context(), st, v)
		if err != nil {
			return err
		}
		o, ok, err := pageOf(r.Context(), other, level)
		if err != nil {
			return err
		}
		if ok && !o.Failed {
			svgs = [][]byte{ringed(svgs[0], prefix, changedNotes(o.Score, p.Score))}
		}
	}
	sendSVG(w, r, svgs[0])
	return nil
}

// print answers with the page of a level as a PDF file, as the tune's options say.
func (d *Desk) print(w http.ResponseWriter, r *http.Request) error {
	st, err := d.state(r.Context(), r.PathValue("tune"))
	if err != nil {
		return err
	}
	number, found := strings.CutSuffix(r.PathValue("page"), ".pdf")
	level, err := strconv.Atoi(number)
	if err != nil || !found || level < 1 {
		return errNoPage
	}
	if p, ok, err := pageOf(r.Context(), st.Session, level); err != nil {
		return err
	} else if !ok || p.Failed {
		return errNoPage
	}
	pdf, err := st.Session.PDF(r.Context(), level)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "application/pdf")
	h.Set("Cache-Control", "private, no-cache")
	h.Set("Content-Disposition", mime.FormatMediaType("inline", map[string]string{"filename": fmt.Sprintf("%s.%d.pdf", gradatim.Stem(st.Tune.Name, 0), level)}))
	w.Write(pdf)
	return nil
}

// pageOf is a session's page of a level.
func pageOf(ctx context.Context, s *gradatim.Session, level int) (gradatim.Page, bool, error) {
	ps, err := s.Ladder(ctx)
	for _, p := range ps {
		if p.Level.Number == cmp.Or(level, p.Level.Number) {
			return p, true, nil
		}
	}
	return gradatim.Page{}, false, err
}

// barPicture draws a bar of the tune on the page of a level, without the degrees of its
// chords, which are said beside it: small figures above a staff are read as fingers.
// level, bar (in playing order), at (a version) and way (what the bar would be), or key and
// hand (of a page beside it); mark (a note that gets a ring), only (right or left: one staff).
func (d *Desk) barPicture(w http.ResponseWriter, r *http.Request) error {
	ctx, q := r.Context(), r.URL.Query()
	st, err := d.state(ctx, r.PathValue("tune"))
	if err != nil {
		return err
	}
	s, err := d.sessionAsked(ctx, st, q)
	if err != nil {
		return err
	}
	b, _, err := barOf(s, q.Get("bar"))
	if err != nil {
		return err
	}
	level, _ := strconv.Atoi(q.Get("level"))
	p, ok, err := pageOf(ctx, s, level)
	if err != nil {
		return err
	}
	at, stands := standsAt(p.Score, b)
	if !ok || p.Failed || !stands {
		return errNoPage
	}
	svgs, err := d.draw(ctx, p.Score, gradatim.Layout{From: at.Number, To: at.Number, OneSystem: true, Continued: true, Fingers: gradatim.AllFingers}, "")
	if err != nil {
		return err
	}
	svg := svgs[0]
	if id := q.Get("mark"); id != "" {
		svg = ringed(svg, "", map[string]bool{id: true})
	}
	sendSVG(w, r, oneStaff(svg, q.Get("only")))
	return nil
}

// sessionAsked is the session that an address asks for: that of a version, of what a bar would be if
// one of its ways or another chord were taken, or of the same in another key or for another hand.
func (d *Desk) sessionAsked(ctx context.Context, st *state, q url.Values) (*gradatim.Session, error) {
	s := st.Session
	version := st.Version
	if v, err := strconv.Atoi(q.Get("at")); err == nil && v != st.Version {
		version = v
		if s, err = d.at(ctx, st, v); err != nil {
			return nil, err
		}
	}
	level, _ := strconv.Atoi(q.Get("level"))
	if q.Get("key") != "" || q.Get("hand") != "" {
		job, err := otherJob(s.Job(), level, q.Get("key"), q.Get("hand"))
		if err != nil {
			return nil, errNoPage
		}
		return d.session(ctx, st.Tune.ID, job)
	}
	if q.Get("way") == "" && q.Get("chord") == "" {
		return s, nil
	}
	bar, _ := strconv.Atoi(q.Get("bar"))
	k := fmt.Sprintf("%s way %d %d %d %s %q %q", key(st.Tune.ID, s.Job()), version, level, bar, q.Get("way"), q.Get("chord"), q.Get("beat"))
	if tried := d.tunes.get(k); tried != nil {
		return tried, nil
	}
	choices, err := d.choicesAsked(ctx, s, level, bar, q)
	if err != nil {
		return nil, err
	}
	tried, err := s.Change(ctx, choices...)
	if err != nil {
		return nil, err
	}
	return d.tunes.put(k, tried), nil
}

// choicesAsked are the choices of a way, or of a chord on a beat, that an address tries.
func (d *Desk) choicesAsked(ctx context.Context, s *gradatim.Session, level, bar int, q url.Values) ([]gradatim.Choice, error) {
	if q.Get("way") != "" {
		cs, _, err := d.waysAt(ctx, s, level, bar, q.Get("way"))
		return cs, err
	}
	b, _, err := barOf(s, q.Get("bar"))
	if err != nil {
		return nil, err
	}
	p, ok, err := pageOf(ctx, s, level)
	if err != nil {
		return nil, err
	}
	c, _, err := chordChoice(p, s.Song(), b, q.Get("chord"), q.Get("beat"))
	if err != nil || !ok {
		return nil, errNoPage
	}
	return []gradatim.Choice{c}, nil
}
