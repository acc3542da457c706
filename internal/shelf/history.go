package shelf

import (
	"context"
	"slices"
	"strings"
	"time"

	"gradatim/leadsheet"
)

// Revision is one entry of the history of something that a person writes about a tune:
// its sheet, its choices, its rights file, a text. Entries are only ever added. That one
// is undone is an entry of its own, so every state of the past can be had again.
type Revision struct {
	Version int // from 1
	Act     Act // what was done
	Shows   int // the version whose bytes hold after it; 0: none, as before the first
	Author  string
	At      time.Time
	Note    string // why, in the writer's words
	Hash    string // of the bytes that hold after it; "": none
}

// Act is what a Revision did.
type Act string

// Acts: something was written; the last thing written was taken back; what was taken back
// last was put there again.
const (
	Set  Act = "set"
	Undo Act = "undo"
	Redo Act = "redo"
)

// Texts are written under a name of their own.
func text(name string) string { return "text " + name }

// IsText tells whether a history is that of a text, and of which.
func IsText(what string) (name string, is bool) { return strings.CutPrefix(what, "text ") }

// TextHistory is what the history of a text is called: of a lesson's words for a level, a
// note to parents, anything that is written for people.
func TextHistory(name string) string { return text(name) }

// Choices and the others name histories that a tune has one of.
const (
	SheetHistory   = "sheet"
	ChoicesHistory = "choices"
	RightsHistory  = "rights"
)

// cursor replays a history: what was taken back, and can be put there again, until
// something new is written.
type cursor struct {
	shows  int
	parent map[int]int // of a version, the one that it was written on top of
	undone []int
}

func replay(rs []Revision) cursor {
	c := cursor{parent: map[int]int{}}
	for _, r := range rs {
		switch r.Act {
		case Set:
			c.parent[r.Version] = c.shows
			c.undone = nil
		case Undo:
			c.undone = append(c.undone, c.shows)
		case Redo:
			if n := len(c.undone); n > 0 {
				c.undone = c.undone[:n-1]
			}
		}
		c.shows = r.Shows
	}
	return c
}

// History lists what was done, oldest first.
func (s *Shelf) History(ctx context.Context, id, what string) ([]Revision, error) {
	var out []Revision
	err := s.each(ctx, s.db, "SELECT revision.version, revision.act, revision.shows, revision.author, revision.at, revision.note, revision.hash FROM revision JOIN tune ON tune.seq = revision.tune WHERE tune.id = ? AND revision.what = ? ORDER BY revision.version",
		[]any{id, what}, func(scan func(...any) error) error {
			r, err := scanRevision(scan)
			out = append(out, r)
			return err
		})
	return out, err
}

func scanRevision(scan func(...any) error) (Revision, error) {
	var r Revision
	var at string
	err := scan(&r.Version, &r.Act, &r.Shows, &r.Author, &at, &r.Note, &r.Hash)
	r.At = parseTime(at)
	return r, err
}

// Histories lists what there is a history of, sorted.
func (s *Shelf) Histories(ctx context.Context, id string) ([]string, error) {
	var out []string
	err := s.each(ctx, s.db, "SELECT DISTINCT revision.what FROM revision JOIN tune ON tune.seq = revision.tune WHERE tune.id = ?", []any{id}, func(scan func(...any) error) error {
		var what string
		err := scan(&what)
		out = append(out, what)
		return err
	})
	slices.Sort(out)
	return out, err
}

// Current is what holds now, with its version; nil and 0 where nothing was written or all
// of it was taken back.
func (s *Shelf) Current(ctx context.Context, id, what string) ([]byte, int, error) {
	var version int
	found, err := s.one(ctx, "SELECT shows FROM revision JOIN tune ON tune.seq = revision.tune WHERE tune.id = ? AND what = ? ORDER BY version DESC LIMIT 1", []any{id, what}, &version)
	if err != nil || !found || version == 0 {
		return nil, 0, err
	}
	data, err := s.written(ctx, id, what, version)
	return data, version, err
}

// written is what a version wrote.
func (s *Shelf) written(ctx context.Context, id, what string, version int) ([]byte, error) {
	var data []byte
	_, err := s.one(ctx, "SELECT data FROM revision JOIN tune ON tune.seq = revision.tune WHERE tune.id = ? AND what = ? AND version = ?", []any{id, what, version}, &data)
	return data, err
}

// At is what held after a version, any of the past.
func (s *Shelf) At(ctx context.Context, id, what string, version int) ([]byte, error) {
	var shows int
	found, err := s.one(ctx, "SELECT shows FROM revision JOIN tune ON tune.seq = revision.tune WHERE tune.id = ? AND what = ? AND version = ?", []any{id, what, version}, &shows)
	switch {
	case err != nil:
		return nil, err
	case !found:
		return nil, s.place.problem("shelf-version", "Version", version, "Of", what)
	case shows == 0:
		return nil, nil
	}
	return s.written(ctx, id, what, shows)
}

// Write puts something new on top of a history, and returns its version. on is the
// version that the writer has seen (of the newest Revision, 0: none): where somebody else
// has written meanwhile, nothing is written and the error says so. on -1 writes in any
// case. What holds already, byte for byte, is not written again.
func (s *Shelf) Write(ctx context.Context, id, what string, data []byte, note string, on int) (version int, err error) {
	if what == SheetHistory {
		return 0, s.place.problem("shelf-history.sheet")
	}
	err = s.within(ctx, func(t *tx) error {
		seq, err := t.find(ctx, id)
		if err != nil {
			return err
		}
		if on >= 0 {
			var newest int
			if _, err := t.row(ctx, "SELECT coalesce(max(version), 0) FROM revision WHERE tune = ? AND what = ?", []any{seq, what}, &newest); err != nil {
				return err
			}
			if newest != on {
				return s.place.problem("shelf-history.meanwhile", "Of", what, "Seen", on, "Newest", newest)
			}
		}
		version, err = t.revise(ctx, seq, what, data, note, s.now())
		return err
	})
	return version, err
}

// revise adds a 'set' to a history.
func (t *tx) revise(ctx context.Context, seq int64, what string, data []byte, note, at string) (int, error) {
	hash := Hash(data)
	var newest, shows int
	var before string
	if _, err := t.row(ctx, "SELECT version, shows, hash FROM revision WHERE tune = ? AND what = ? ORDER BY version DESC LIMIT 1", []any{seq, what}, &newest, &shows, &before); err != nil {
		return 0, err
	}
	if shows > 0 && before == hash {
		return newest, nil
	}
	if data == nil {
		data = []byte{}
	}
	return newest + 1, t.entry(ctx, seq, what, Revision{Version: newest + 1, Act: Set, Shows: newest + 1, Author: t.s.cfg.Author, Note: note, Hash: hash}, data, at)
}

func (t *tx) entry(ctx context.Context, seq int64, what string, r Revision, data []byte, at string) error {
	_, err := t.exec(ctx, "INSERT INTO revision (tune, what, version, act, shows, author, at, note, hash, data) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
		seq, what, r.Version, string(r.Act), r.Shows, r.Author, at, r.Note, r.Hash, data)
	return err
}

// Undo takes back what was written last, and Redo puts there again what was taken back
// last. They return the version whose bytes hold then, 0: none. Of a sheet that is
// SetSheet's to do: the facts change with it.
func (s *Shelf) Undo(ctx context.Context, id, what string) (int, error) {
	return s.step(ctx, id, what, Undo)
}

// Redo: see Undo.
func (s *Shelf) Redo(ctx context.Context, id, what string) (int, error) {
	return s.step(ctx, id, what, Redo)
}

func (s *Shelf) step(ctx context.Context, id, what string, act Act) (shows int, err error) {
	if what == SheetHistory {
		return 0, s.place.problem("shelf-history.sheet")
	}
	err = s.within(ctx, func(t *tx) error {
		seq, err := t.find(ctx, id)
		if err != nil {
			return err
		}
		var rs []Revision
		err = s.each(ctx, t, "SELECT version, act, shows, author, at, note, hash FROM revision WHERE tune = ? AND what = ? ORDER BY version", []any{seq, what}, func(scan func(...any) error) error {
			r, err := scanRevision(scan)
			rs = append(rs, r)
			return err
		})
		if err != nil {
			return err
		}
		c := replay(rs)
		switch {
		case act == Undo && c.shows == 0:
			return s.place.problem("shelf-history.undo", "Of", what)
		case act == Redo && len(c.undone) == 0:
			return s.place.problem("shelf-history.redo", "Of", what)
		case act == Undo:
			shows = c.parent[c.shows]
		default:
			shows = c.undone[len(c.undone)-1]
		}
		r := Revision{Version: len(rs) + 1, Act: act, Shows: shows, Author: s.cfg.Author}
		if i := slices.IndexFunc(rs, func(r Revision) bool { return r.Version == shows }); i >= 0 {
			r.Hash = rs[i].Hash
		}
		return t.entry(ctx, seq, what, r, nil, s.now())
	})
	return shows, err
}

// bad tells of a history that is none.
func (s *Shelf) bad(what string) error {
	return s.place.problem("shelf-history.unknown", "Of", leadsheet.Quoted(what))
}

// CheckHistory tells whether there can be a history of that name.
func (s *Shelf) CheckHistory(what string) error {
	switch what {
	case SheetHistory, ChoicesHistory, RightsHistory:
		return nil
	}
	name, is := IsText(what)
	if !is || name == "" || len(name) > 60 || strings.Trim(name, "abcdefghijklmnopqrstuvwxyz0123456789-") != "" {
		return s.bad(what)
	}
	return nil
}
