package shelf

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"github.com/BurntSushi/toml"

	"gradatim/leadsheet"
)

// exportVersion is the version of an exported folder.
const exportVersion = 1

// ExportOptions say what goes into an exported folder. The zero value is everything.
type ExportOptions struct {
	WithoutBuilds bool // what was made is left out; it can be made again
}

// Export writes the shelf as plain files into a folder that is not there yet, or that
// holds an export, which it takes the place of: of each tune its sheet, choices, texts,
// rights and history, and every file as it was handed in. What is on the shelf while it
// begins is written; the same shelf, the same files. It returns how many tunes there are.
func (s *Shelf) Export(ctx context.Context, dir string, o ExportOptions) (tunes int, err error) {
	if names, err := os.ReadDir(dir); err == nil && len(names) > 0 {
		if _, err := os.Stat(filepath.Join(dir, "shelf.toml")); err != nil {
			return 0, tell(leadsheet.Pos{File: dir}, "shelf-export.foreign")
		}
	} else if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return 0, tell(leadsheet.Pos{File: dir}, "shelf-broken", "Error", err.Error())
	}
	dir, err = filepath.Abs(dir)
	if err != nil {
		return 0, s.place.broken(err)
	}
	if err := os.MkdirAll(filepath.Dir(dir), 0o777); err != nil {
		return 0, s.place.broken(err)
	}
	aside, err := os.MkdirTemp(filepath.Dir(dir), ".gradatim-*")
	if err != nil {
		return 0, s.place.broken(err)
	}
	defer os.RemoveAll(aside)
	t, err := s.db.BeginTx(ctx, s.engine.snapshot())
	if err != nil {
		return 0, s.place.broken(err)
	}
	defer t.Rollback()
	x := &exporter{s: s, ctx: ctx, q: t, dir: aside, o: o, files: map[string]bool{}}
	if err := x.all(); err != nil {
		return 0, err
	}
	if err := os.Chmod(aside, 0o755); err != nil {
		return 0, s.place.broken(err)
	}
	gone := aside + ".old"
	if err := os.Rename(dir, gone); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return 0, s.place.broken(err)
	}
	if err := os.Rename(aside, dir); err != nil {
		return 0, errors.Join(s.place.broken(err), os.Rename(gone, dir))
	}
	return x.tunes, s.place.broken2(os.RemoveAll(gone))
}

// exporter writes a shelf into a folder.
type exporter struct {
	s     *Shelf
	ctx   context.Context
	q     querier
	dir   string
	o     ExportOptions
	tunes int
	files map[string]bool // that builds have, by hash
}

func (x *exporter) all() error {
	if err := x.toml("shelf.toml", struct {
		Version int `toml:"version"`
	}{exportVersion}); err != nil {
		return err
	}
	if err := x.hands(); err != nil {
		return err
	}
	if err := x.sources(); err != nil {
		return err
	}
	var ts []Tune
	err := x.s.each(x.ctx, x.q, "SELECT "+tuneColumns+" FROM tune ORDER BY id", nil, func(scan func(...any) error) error {
		t, err := scanTune(scan)
		ts = append(ts, t)
		return err
	})
	if err != nil {
		return err
	}
	for _, t := range ts {
		if err := context.Cause(x.ctx); err != nil {
			return err
		}
		if err := x.tune(t); err != nil {
			return err
		}
	}
	x.tunes = len(ts)
	for _, h := range sorted(x.files) {
		data, err := x.s.File(x.ctx, h)
		if err != nil {
			return err
		}
		if err := x.write("files/"+key(h), data); err != nil {
			return err
		}
	}
	return nil
}

func sorted(set map[string]bool) []string {
	var out []string
	for k := range set {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

func (x *exporter) write(name string, data []byte) error {
	to := filepath.Join(x.dir, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(to), 0o777); err != nil {
		return x.s.place.broken(err)
	}
	if err := os.WriteFile(to, data, 0o666); err != nil {
		return x.s.place.broken(err)
	}
	return nil
}

func (x *exporter) toml(name string, v any) error {
	var b bytes.Buffer
	e := toml.NewEncoder(&b)
	e.Indent = ""
	if err := e.Encode(v); err != nil {
		return x.s.place.broken(err)
	}
	return x.write(name, b.Bytes())
}

func (x *exporter) hands() error {
	var out struct {
		Hands []handRecord `toml:"hand"`
	}
	err := x.s.each(x.ctx, x.q, "SELECT name, version, spans, note, author, at FROM hand ORDER BY name, version", nil, func(scan func(...any) error) error {
		var h handRecord
		err := scan(&h.Name, &h.Version, &h.Spans, &h.Note, &h.Author, &h.At)
		out.Hands = append(out.Hands, h)
		return err
	})
	if err != nil || len(out.Hands) == 0 {
		return err
	}
	return x.toml("hands.toml", out)
}

func (x *exporter) sources() error {
	var out struct {
		Sources []sourceRecord `toml:"source"`
	}
	err := x.s.each(x.ctx, x.q, "SELECT hash, name, bytes, added, author FROM source ORDER BY hash", nil, func(scan func(...any) error) error {
		var r sourceRecord
		err := scan(&r.Hash, &r.Name, &r.Bytes, &r.Added, &r.Author)
		out.Sources = append(out.Sources, r)
		return err
	})
	if err != nil || len(out.Sources) == 0 {
		return err
	}
	for _, r := range out.Sources {
		data, err := x.s.File(x.ctx, r.Hash)
		if err != nil {
			return err
		}
		if err := x.write("sources/"+r.Hash, data); err != nil {
			return err
		}
	}
	return x.toml("sources.toml", out)
}

// tune writes the folder of a tune: what holds now under plain names, and its history.
func (x *exporter) tune(t Tune) error {
	in := "tunes/" + t.ID + "/"
	if err := x.toml(in+"tune.toml", recordOfTune(t)); err != nil {
		return err
	}
	if err := x.revisions(t, in); err != nil {
		return err
	}
	var rights struct {
		Rights []rightRecord `toml:"right"`
	}
	err := x.s.each(x.ctx, x.q, "SELECT "+rightColumns+" FROM rights WHERE tune = ? ORDER BY territory, version", []any{t.seq}, func(scan func(...any) error) error {
		r, err := scanRight(scan)
		rights.Rights = append(rights.Rights, recordOf(r))
		return err
	})
	if err != nil {
		return err
	}
	if len(rights.Rights) > 0 {
		if err := x.toml(in+"territories.toml", rights); err != nil {
			return err
		}
	}
	if x.o.WithoutBuilds {
		return nil
	}
	return x.builds(t, in)
}

// plainName is where what holds of a history stands.
func plainName(what, sheet string) string {
	if name, is := IsText(what); is {
		return "texts/" + name + ".md"
	}
	switch what {
	case SheetHistory:
		return "sheet" + strings.ToLower(path.Ext(sheet))
	case RightsHistory:
		return "sheet.rights.toml"
	}
	return what + ".toml"
}

// folderName is where the versions of a history stand.
func folderName(what string) string { return strings.ReplaceAll(what, " ", "-") }

func (x *exporter) revisions(t Tune, in string) error {
	type history struct {
		Of        string           `toml:"of"`
		Revisions []revisionRecord `toml:"revision"`
	}
	var all []history
	data := map[string][]byte{}
	err := x.s.each(x.ctx, x.q, "SELECT what, version, act, shows, author, at, note, hash, data FROM revision WHERE tune = ? ORDER BY what, version", []any{t.seq}, func(scan func(...any) error) error {
		var what string
		var r revisionRecord
		var b []byte
		if err := scan(&what, &r.Version, &r.Act, &r.Shows, &r.Author, &r.At, &r.Note, &r.Hash, &b); err != nil {
			return err
		}
		if r.Act == Set {
			r.File = versionName(what, r.Version)
			data[r.File] = b
		}
		if n := len(all); n == 0 || all[n-1].Of != what {
			all = append(all, history{Of: what})
		}
		h := &all[len(all)-1]
		h.Revisions = append(h.Revisions, r)
		return nil
	})
	if err != nil {
		return err
	}
	for _, h := range all {
		last := h.Revisions[len(h.Revisions)-1]
		if last.Shows == 0 {
			continue
		}
		if err := x.write(in+plainName(h.Of, t.Name), data[versionName(h.Of, last.Shows)]); err != nil {
			return err
		}
	}
	for name, b := range data {
		if err := x.write(in+"history/"+name, b); err != nil {
			return err
		}
	}
	return x.toml(in+"history.toml", struct {
		Histories []history `toml:"history"`
	}{all})
}

func versionName(what string, version int) string {
	digits := "0000" + itoa(version)
	return folderName(what) + "/" + digits[len(digits)-max(4, len(itoa(version))):]
}

func (x *exporter) builds(t Tune, in string) error {
	var out struct {
		Builds       []buildRecord       `toml:"build"`
		Publications []publicationRecord `toml:"publication"`
		Pages        []pageRecord        `toml:"page"`
	}
	err := x.s.each(x.ctx, x.q, "SELECT id, what, slot, job, program, levels, key, manifest, made, author FROM build WHERE tune = ? ORDER BY made, id", []any{t.seq}, func(scan func(...any) error) error {
		var b buildRecord
		err := scan(&b.ID, &b.What, &b.Slot, &b.Job, &b.Program, &b.Levels, &b.Key, &b.Manifest, &b.Made, &b.Author)
		out.Builds = append(out.Builds, b)
		return err
	})
	if err != nil || len(out.Builds) == 0 {
		return err
	}
	for _, b := range out.Builds {
		x.files[b.Manifest] = true
		if b.Job != "" {
			x.files[b.Job] = true
		}
		fs, err := x.s.filesOf(x.ctx, Build{Manifest: b.Manifest})
		if err != nil {
			return err
		}
		for _, f := range fs {
			x.files[f.SHA256] = true
		}
	}
	err = x.s.each(x.ctx, x.q, "SELECT publication.build, publication.territory, publication.at, publication.author, publication.rights FROM publication JOIN build ON build.id = publication.build WHERE build.tune = ? ORDER BY publication.at, publication.build, publication.territory", []any{t.seq}, func(scan func(...any) error) error {
		var p publicationRecord
		var rights string
		if err := scan(&p.Build, &p.Territory, &p.At, &p.Author, &rights); err != nil {
			return err
		}
		out.Publications = append(out.Publications, p)
		return json.Unmarshal([]byte(rights), &out.Publications[len(out.Publications)-1].Right)
	})
	if err != nil {
		return err
	}
	err = x.s.each(x.ctx, x.q, "SELECT level, build, key, rating, scale FROM page WHERE tune = ? ORDER BY level", []any{t.seq}, func(scan func(...any) error) error {
		var p pageRecord
		err := scan(&p.Level, &p.Build, &p.Key, &p.Rating, &p.Scale)
		out.Pages = append(out.Pages, p)
		return err
	})
	if err != nil {
		return err
	}
	err = x.s.each(x.ctx, x.q, "SELECT level, technique, bars FROM page_technique WHERE tune = ? ORDER BY level, technique", []any{t.seq}, func(scan func(...any) error) error {
		var level int
		var u techniqueRecord
		var bars string
		if err := scan(&level, &u.ID, &bars); err != nil {
			return err
		}
		if err := json.Unmarshal([]byte(bars), &u.Bars); err != nil {
			return err
		}
		for i := range out.Pages {
			if out.Pages[i].Level == level {
				out.Pages[i].Techniques = append(out.Pages[i].Techniques, u)
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	return x.toml(in+"builds.toml", out)
}
