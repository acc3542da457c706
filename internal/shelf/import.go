package shelf

import (
	"context"
	"encoding/json"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/BurntSushi/toml"

	"gradatim/leadsheet"
)

func itoa(n int) string { return strconv.Itoa(n) }

// Import puts on the shelf what Export wrote: tunes with their whole history, files,
// rights, hands and builds. Tunes that are on the shelf already stay as they are there,
// and are listed. All of a folder is read and checked before anything is written; the
// error tells of everything that is missing or damaged.
func (s *Shelf) Import(ctx context.Context, dir string) (tunes int, there []string, err error) {
	im := &importer{s: s, dir: dir}
	if err := im.read(ctx); err != nil {
		return 0, nil, err
	}
	for _, data := range im.files {
		if _, err := s.Keep(ctx, data); err != nil {
			return 0, nil, err
		}
	}
	err = s.within(ctx, func(t *tx) error { return im.write(ctx, t) })
	if err != nil {
		return 0, nil, err
	}
	return len(im.tunes) - len(im.there), im.there, nil
}

type importer struct {
	s   *Shelf
	dir string
	ps  leadsheet.Problems

	sources []sourceRecord
	hands   []handRecord
	tunes   []importedTune
	files   [][]byte
	there   []string
}

type importedTune struct {
	tuneRecord
	histories []importedHistory
	rights    []rightRecord
	builds    importedBuilds
}

type importedHistory struct {
	Of        string           `toml:"of"`
	Revisions []revisionRecord `toml:"revision"`
	data      map[int][]byte
}

type importedBuilds struct {
	Builds       []buildRecord       `toml:"build"`
	Publications []publicationRecord `toml:"publication"`
	Pages        []pageRecord        `toml:"page"`
}

func (im *importer) bad(file string, says leadsheet.Saying, parts ...any) {
	im.ps.Tell(leadsheet.Error, leadsheet.Pos{File: file}, says, parts...)
}

// toml reads a file; one that need not be there may be missing.
func (im *importer) toml(name string, v any, must bool) {
	file := filepath.Join(im.dir, filepath.FromSlash(name))
	data, err := os.ReadFile(file)
	switch {
	case err != nil && !must && os.IsNotExist(err):
	case err != nil:
		im.bad(file, "shelf-import.missing")
	default:
		if md, err := toml.Decode(string(data), v); err != nil || len(md.Undecoded()) > 0 {
			im.bad(file, "shelf-import.form")
		}
	}
}

// bytes reads a file whose hash is known.
func (im *importer) bytes(name, hash string) []byte {
	file := filepath.Join(im.dir, filepath.FromSlash(name))
	if !filepath.IsLocal(filepath.FromSlash(name)) {
		im.bad(file, "shelf-import.form")
		return nil
	}
	data, err := os.ReadFile(file)
	switch {
	case err != nil:
		im.bad(file, "shelf-import.missing")
	case Hash(data) != hash:
		im.bad(file, "shelf-import.damaged", "Hash", hash)
	}
	return data
}

func (im *importer) read(ctx context.Context) error {
	var head struct {
		Version int `toml:"version"`
	}
	im.toml("shelf.toml", &head, true)
	if len(im.ps) == 0 && head.Version != exportVersion {
		im.bad(im.dir, "shelf-import.version", "Have", head.Version, "Most", exportVersion)
	}
	if err := im.ps.Err(); err != nil {
		return err
	}
	var hands struct {
		Hands []handRecord `toml:"hand"`
	}
	im.toml("hands.toml", &hands, false)
	im.hands = hands.Hands
	var sources struct {
		Sources []sourceRecord `toml:"source"`
	}
	im.toml("sources.toml", &sources, false)
	im.sources = sources.Sources
	for _, r := range im.sources {
		im.files = append(im.files, im.bytes("sources/"+r.Hash, r.Hash))
	}
	ids, err := os.ReadDir(filepath.Join(im.dir, "tunes"))
	if err != nil && !os.IsNotExist(err) {
		im.bad(filepath.Join(im.dir, "tunes"), "shelf-import.missing")
	}
	for _, d := range ids {
		if err := context.Cause(ctx); err != nil {
			return err
		}
		im.tune(d.Name())
	}
	err = filepath.WalkDir(filepath.Join(im.dir, "files"), func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			if os.IsNotExist(err) {
				return nil
			}
			return err
		}
		rel, err := filepath.Rel(im.dir, p)
		if err == nil {
			im.files = append(im.files, im.bytes(filepath.ToSlash(rel), d.Name()))
		}
		return err
	})
	if err != nil {
		return im.s.place.broken(err)
	}
	return im.ps.Err()
}

func (im *importer) tune(id string) {
	in := "tunes/" + id + "/"
	var t importedTune
	im.toml(in+"tune.toml", &t.tuneRecord, true)
	var h struct {
		Histories []importedHistory `toml:"history"`
	}
	im.toml(in+"history.toml", &h, true)
	for i := range h.Histories {
		x := &h.Histories[i]
		x.data = map[int][]byte{}
		if im.s.CheckHistory(x.Of) != nil {
			im.bad(filepath.Join(im.dir, in, "history.toml"), "shelf-import.form")
			continue
		}
		for _, r := range x.Revisions {
			if r.Act == Set {
				x.data[r.Version] = im.bytes(in+"history/"+r.File, r.Hash)
			}
		}
	}
	t.histories = h.Histories
	var rights struct {
		Rights []rightRecord `toml:"right"`
	}
	im.toml(in+"territories.toml", &rights, false)
	t.rights = rights.Rights
	im.toml(in+"builds.toml", &t.builds, false)
	// Who changed a plain file, not the history, meant something that would be lost.
	for _, x := range t.histories {
		if n := len(x.Revisions); n > 0 && x.Revisions[n-1].Shows > 0 {
			im.bytes(in+plainName(x.Of, t.Sheet), x.Revisions[n-1].Hash)
		}
	}
	im.tunes = append(im.tunes, t)
}

func (im *importer) write(ctx context.Context, t *tx) error {
	for _, r := range im.sources {
		if _, err := t.exec(ctx, "INSERT INTO source (hash, name, bytes, added, author) VALUES (?, ?, ?, ?, ?) ON CONFLICT (hash) DO NOTHING", r.Hash, r.Name, r.Bytes, r.Added, r.Author); err != nil {
			return err
		}
	}
	for _, h := range im.hands {
		if _, err := t.exec(ctx, "INSERT INTO hand (name, version, spans, note, author, at) VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT (name, version) DO NOTHING", h.Name, h.Version, h.Spans, h.Note, h.Author, h.At); err != nil {
			return err
		}
	}
	// In the order of adding, so that the first of two alike stays the first.
	slices.SortStableFunc(im.tunes, func(a, b importedTune) int { return strings.Compare(a.Added+a.ID, b.Added+b.ID) })
	im.there = nil
	for _, x := range im.tunes {
		var seq int64
		found, err := t.row(ctx, "SELECT seq FROM tune WHERE id = ?", []any{x.ID}, &seq)
		if err != nil {
			return err
		}
		if found {
			im.there = append(im.there, x.ID)
			continue
		}
		if err := im.writeTune(ctx, t, x); err != nil {
			return err
		}
	}
	return nil
}

func (im *importer) writeTune(ctx context.Context, t *tx, x importedTune) error {
	tune := x.tune()
	if err := t.insert(ctx, &tune); err != nil {
		return err
	}
	for _, h := range x.histories {
		for _, r := range h.Revisions {
			if err := t.entry(ctx, tune.seq, h.Of, Revision{Version: r.Version, Act: r.Act, Shows: r.Shows, Author: r.Author, Note: r.Note, Hash: r.Hash}, h.data[r.Version], r.At); err != nil {
				return err
			}
		}
	}
	newest := map[string]int{}
	for _, r := range x.rights {
		newest[r.Territory] = max(newest[r.Territory], r.Version)
	}
	for _, r := range x.rights {
		if err := t.insertRight(ctx, tune.seq, r.right(), r.Version == newest[r.Territory], r.At); err != nil {
			return err
		}
	}
	for _, b := range x.builds.Builds {
		fs, err := im.s.filesOf(ctx, Build{Manifest: b.Manifest})
		if err != nil {
			return err
		}
		var bytes int64
		for _, f := range fs {
			bytes += f.Bytes
		}
		if _, err := t.exec(ctx, "INSERT INTO build (id, tune, what, slot, job, program, levels, key, files, bytes, manifest, made, author) VALUES ("+marksOf(13)+")",
			b.ID, tune.seq, b.What, b.Slot, b.Job, b.Program, b.Levels, b.Key, len(fs), bytes, b.Manifest, b.Made, b.Author); err != nil {
			return err
		}
	}
	for _, p := range x.builds.Publications {
		rights, err := json.Marshal(p.Right)
		if err != nil {
			return err
		}
		if _, err := t.exec(ctx, "INSERT INTO publication (build, territory, at, author, rights) VALUES (?, ?, ?, ?, ?)", p.Build, p.Territory, p.At, p.Author, string(rights)); err != nil {
			return err
		}
	}
	for _, p := range x.builds.Pages {
		page := Page{Level: p.Level, Key: p.Key, Rating: p.Rating, Scale: p.Scale}
		for _, u := range p.Techniques {
			page.Techniques = append(page.Techniques, Technique(u))
		}
		if err := t.page(ctx, tune.seq, p.Build, page); err != nil {
			return err
		}
	}
	return nil
}
