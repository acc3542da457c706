package shelf

import (
	"bytes"
	"context"
	"encoding/json"
	"slices"
	"time"

	"gradatim/leadsheet"
)

// Build is a set of files that was made of a tune. It is known by what it is made from
// and by which program, so that it is made once; its files lie under their hashes, so
// that what two builds have in common lies there once.
type Build struct {
	ID       string // hash of job, program and What
	Tune     string // id
	What     string // "lesson", "pages", "scores"
	Slot     string // the newest build of a slot stands in the place of those before it
	Job      string // hash of the job's text, which lies among the files
	Program  string
	Levels   string // "1 2 3 4 5"
	Key      string
	Files    []BuiltFile // by path
	Manifest string      // hash of the list of files as JSON, which lies among the files
	Made     time.Time
	Author   string
	Pages    []Page // what the pages ask for; of a build in the tune's own key
}

// BuiltFile is one file of a build.
type BuiltFile struct {
	Path   string `json:"path"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
}

// BuildID is the id of what is made of a job by a program.
func BuildID(job, program, what string) string {
	return Hash([]byte("gradatim build 1\n" + job + "\n" + program + "\n" + what + "\n"))
}

// Publication is a build that was made for the public: where, when, and what was written
// down of the rights then.
type Publication struct {
	Build     string
	Territory string
	At        time.Time
	Author    string
	Right     Right
}

// manifest writes the list of a build's files; the same list, the same bytes.
func manifest(files []BuiltFile) []byte {
	b, err := json.MarshalIndent(struct {
		Version int         `json:"version"`
		Files   []BuiltFile `json:"files"`
	}{1, files}, "", " ")
	if err != nil {
		panic(err) // texts and numbers
	}
	return append(b, '\n')
}

// Record puts a build on the shelf whose files are Kept already. With a territory it is
// published there: in the same transaction the rights are asked, and where they do not
// carry it, nothing is recorded. first is false where the same build was there.
func (s *Shelf) Record(ctx context.Context, b Build, territory string) (first bool, err error) {
	err = s.within(ctx, func(t *tx) error {
		first, err = t.record(ctx, &b, territory)
		return err
	})
	return first, err
}

func (t *tx) record(ctx context.Context, b *Build, territory string) (first bool, err error) {
	slices.SortFunc(b.Files, func(x, y BuiltFile) int { return bytes.Compare([]byte(x.Path), []byte(y.Path)) })
	list := manifest(b.Files)
	b.Manifest = Hash(list)
	if err := t.s.keep(ctx, b.Manifest, list); err != nil {
		return false, err
	}
	seq, err := t.find(ctx, b.Tune)
	if err != nil {
		return false, err
	}
	var bytes int64
	for _, f := range b.Files {
		bytes += f.Bytes
	}
	now := t.s.now()
	n, err := t.exec(ctx, "INSERT INTO build (id, tune, what, slot, job, program, levels, key, files, bytes, manifest, made, author) VALUES ("+marksOf(13)+") ON CONFLICT (id) DO NOTHING",
		b.ID, seq, b.What, b.Slot, b.Job, b.Program, b.Levels, b.Key, len(b.Files), bytes, b.Manifest, now, t.s.cfg.Author)
	if err != nil {
		return false, err
	}
	for _, p := range b.Pages {
		if err := t.page(ctx, seq, b.ID, p); err != nil {
			return false, err
		}
	}
	if territory != "" {
		if err := t.publish(ctx, seq, b, territory, now); err != nil {
			return false, err
		}
	}
	return n > 0, nil
}

// publish is the gate at its place: who is refused leaves no row.
func (t *tx) publish(ctx context.Context, seq int64, b *Build, territory, now string) error {
	r, err := t.carried(ctx, seq, b.Tune, territory)
	if err != nil {
		return err
	}
	_, err = t.exec(ctx, "INSERT INTO publication (build, territory, at, author, rights) VALUES (?, ?, ?, ?, ?) ON CONFLICT DO NOTHING", b.ID, territory, now, t.s.cfg.Author, r.json())
	return err
}

// page writes what the newest page of a level asks for.
func (t *tx) page(ctx context.Context, seq int64, build string, p Page) error {
	if _, err := t.exec(ctx, "INSERT INTO page (tune, level, build, key, rating, scale) VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT (tune, level) DO UPDATE SET build = excluded.build, key = excluded.key, rating = excluded.rating, scale = excluded.scale",
		seq, p.Level, build, p.Key, p.Rating, p.Scale); err != nil {
		return err
	}
	if _, err := t.exec(ctx, "DELETE FROM page_technique WHERE tune = ? AND level = ?", seq, p.Level); err != nil {
		return err
	}
	for _, u := range p.Techniques {
		bars, err := json.Marshal(u.Bars)
		if err != nil {
			return err
		}
		if _, err := t.exec(ctx, "INSERT INTO page_technique (tune, level, technique, bars) VALUES (?, ?, ?, ?)", seq, p.Level, u.ID, string(bars)); err != nil {
			return err
		}
	}
	return nil
}

const buildColumns = "build.id, tune.id, build.what, build.slot, build.job, build.program, build.levels, build.key, build.manifest, build.made, build.author"

func (s *Shelf) scanBuilds(ctx context.Context, and string, args ...any) ([]Build, error) {
	var out []Build
	err := s.each(ctx, s.db, "SELECT "+buildColumns+" FROM build JOIN tune ON tune.seq = build.tune WHERE "+and, args, func(scan func(...any) error) error {
		var b Build
		var made string
		err := scan(&b.ID, &b.Tune, &b.What, &b.Slot, &b.Job, &b.Program, &b.Levels, &b.Key, &b.Manifest, &made, &b.Author)
		b.Made = parseTime(made)
		out = append(out, b)
		return err
	})
	return out, err
}

// Builds lists what was made of a tune, oldest first, without its files.
func (s *Shelf) Builds(ctx context.Context, id string) ([]Build, error) {
	return s.scanBuilds(ctx, "tune.id = ? ORDER BY build.made, build.id", id)
}

// Build is a build with the list of its files; found is false where there is none.
func (s *Shelf) Build(ctx context.Context, id string) (b Build, found bool, err error) {
	bs, err := s.scanBuilds(ctx, "build.id = ?", id)
	if err != nil || len(bs) == 0 {
		return Build{}, false, err
	}
	b = bs[0]
	b.Files, err = s.filesOf(ctx, b)
	return b, true, err
}

// Newest is the newest build of a tune's slot, with the list of its files.
func (s *Shelf) Newest(ctx context.Context, tune, slot string) (b Build, found bool, err error) {
	bs, err := s.scanBuilds(ctx, "tune.id = ? AND build.slot = ? ORDER BY build.made DESC, build.id DESC LIMIT 1", tune, slot)
	if err != nil || len(bs) == 0 {
		return Build{}, false, err
	}
	b = bs[0]
	b.Files, err = s.filesOf(ctx, b)
	return b, true, err
}

func (s *Shelf) filesOf(ctx context.Context, b Build) ([]BuiltFile, error) {
	data, err := s.File(ctx, b.Manifest)
	if err != nil {
		return nil, err
	}
	var m struct{ Files []BuiltFile }
	if err := json.Unmarshal(data, &m); err != nil {
		return nil, s.place.broken(err)
	}
	return m.Files, nil
}

// Publications lists when and where what was made of a tune was published, oldest first.
func (s *Shelf) Publications(ctx context.Context, id string) ([]Publication, error) {
	var out []Publication
	err := s.each(ctx, s.db, "SELECT publication.build, publication.territory, publication.at, publication.author, publication.rights FROM publication JOIN build ON build.id = publication.build JOIN tune ON tune.seq = build.tune WHERE tune.id = ? ORDER BY publication.at, publication.build, publication.territory",
		[]any{id}, func(scan func(...any) error) error {
			var p Publication
			var at, rights string
			if err := scan(&p.Build, &p.Territory, &at, &p.Author, &rights); err != nil {
				return err
			}
			var r rightRecord
			if err := json.Unmarshal([]byte(rights), &r); err != nil {
				return s.place.broken(err)
			}
			p.At, p.Right = parseTime(at), r.right()
			out = append(out, p)
			return nil
		})
	return out, err
}

// Pages lists what the newest page of each level asks for.
func (s *Shelf) Pages(ctx context.Context, id string) ([]Page, error) {
	var out []Page
	err := s.each(ctx, s.db, "SELECT page.level, page.key, page.rating, page.scale FROM page JOIN tune ON tune.seq = page.tune WHERE tune.id = ? ORDER BY page.level", []any{id}, func(scan func(...any) error) error {
		var p Page
		err := scan(&p.Level, &p.Key, &p.Rating, &p.Scale)
		out = append(out, p)
		return err
	})
	if err != nil {
		return nil, err
	}
	err = s.each(ctx, s.db, "SELECT page_technique.level, page_technique.technique, page_technique.bars FROM page_technique JOIN tune ON tune.seq = page_technique.tune WHERE tune.id = ? ORDER BY page_technique.level, page_technique.technique", []any{id}, func(scan func(...any) error) error {
		var level int
		var u Technique
		var bars string
		if err := scan(&level, &u.ID, &bars); err != nil {
			return err
		}
		if err := json.Unmarshal([]byte(bars), &u.Bars); err != nil {
			return s.place.broken(err)
		}
		if i := slices.IndexFunc(out, func(p Page) bool { return p.Level == level }); i >= 0 {
			out[i].Techniques = append(out[i].Techniques, u)
		}
		return nil
	})
	return out, err
}

// Hand is a player's hand, as it was measured last.
type Hand struct {
	Name    string
	Spans   string // as options take it: "right 168.5mm, left 168.5mm", "octave"
	Note    string
	Version int
	Author  string
	At      time.Time
}

// SetHand writes down a hand; what was measured before stays.
func (s *Shelf) SetHand(ctx context.Context, h Hand) error {
	if h.Name == "" || len(h.Name) > 100 {
		return tell(leadsheet.Pos{}, "shelf-hand", "Name", leadsheet.Quoted(h.Name))
	}
	return s.within(ctx, func(t *tx) error {
		var newest int
		if _, err := t.row(ctx, "SELECT coalesce(max(version), 0) FROM hand WHERE name = ?", []any{h.Name}, &newest); err != nil {
			return err
		}
		_, err := t.exec(ctx, "INSERT INTO hand (name, version, spans, note, author, at) VALUES (?, ?, ?, ?, ?, ?)", h.Name, newest+1, h.Spans, h.Note, s.cfg.Author, s.now())
		return err
	})
}

// Hands lists the hands as they were measured last, by name.
func (s *Shelf) Hands(ctx context.Context) ([]Hand, error) {
	hs, err := s.allHands(ctx)
	var out []Hand
	for i, h := range hs {
		if i == len(hs)-1 || hs[i+1].Name != h.Name {
			out = append(out, h)
		}
	}
	return out, err
}

func (s *Shelf) allHands(ctx context.Context) ([]Hand, error) {
	var out []Hand
	err := s.each(ctx, s.db, "SELECT name, spans, note, version, author, at FROM hand ORDER BY name, version", nil, func(scan func(...any) error) error {
		var h Hand
		var at string
		err := scan(&h.Name, &h.Spans, &h.Note, &h.Version, &h.Author, &at)
		h.At = parseTime(at)
		out = append(out, h)
		return err
	})
	return out, err
}
