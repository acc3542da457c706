package shelf

import (
	"context"
	"errors"
	"os"
	"path/filepath"

	"gradatim/leadsheet"
)

// Checked says what Check has looked at.
type Checked struct {
	Tunes, Revisions, Files int
	Bytes                   int64 // of the files
	Loose                   int   // files that no row names: left over from work that was broken off
	Problems                leadsheet.Problems
}

// Check compares every file and every version with its hash, and every row with those it
// names. What is damaged or missing is told, each with the tune that it belongs to; the
// error is only that the check itself could not be done.
func (s *Shelf) Check(ctx context.Context) (Checked, error) {
	var c Checked
	bad := func(says leadsheet.Saying, parts ...any) {
		c.Problems.Tell(leadsheet.Error, leadsheet.Pos{File: s.place.String()}, says, parts...)
	}
	if err := s.engine.check(ctx, s, func(text string) { bad("shelf-check.database", "Error", text) }); err != nil {
		return c, err
	}
	seen := map[string]bool{}
	file := func(tune, hash, what string) error {
		if seen[hash] {
			return nil
		}
		seen[hash] = true
		data, err := s.File(ctx, hash)
		var ps leadsheet.Problems
		switch {
		case context.Cause(ctx) != nil:
			return context.Cause(ctx)
		case errors.As(err, &ps):
			bad("shelf-check.file", "File", what, "Tune", tune, "Why", ps[0])
		case err != nil:
			return err
		}
		c.Files++
		c.Bytes += int64(len(data))
		return nil
	}
	var sources [][2]string
	err := s.each(ctx, s.db, "SELECT source.hash, coalesce(min(tune.id), '') FROM source LEFT JOIN tune ON tune.source = source.hash GROUP BY source.hash ORDER BY source.hash", nil, func(scan func(...any) error) error {
		var r [2]string
		err := scan(&r[0], &r[1])
		sources = append(sources, r)
		return err
	})
	if err != nil {
		return c, err
	}
	for _, r := range sources {
		if err := file(r[1], r[0], r[0]); err != nil {
			return c, err
		}
	}
	if err := s.checkRevisions(ctx, &c, bad); err != nil {
		return c, err
	}
	bs, err := s.scanBuilds(ctx, "1 = 1 ORDER BY build.id")
	if err != nil {
		return c, err
	}
	for _, b := range bs {
		if err := file(b.Tune, b.Manifest, "manifest"); err != nil {
			return c, err
		}
		if b.Job != "" {
			if err := file(b.Tune, b.Job, "job"); err != nil {
				return c, err
			}
		}
		fs, err := s.filesOf(ctx, b)
		if err != nil {
			continue // told above
		}
		for _, f := range fs {
			if err := file(b.Tune, f.SHA256, f.Path); err != nil {
				return c, err
			}
		}
	}
	err = s.eachFile(ctx, func(hash string) error {
		if !seen[hash] {
			c.Loose++
		}
		return nil
	})
	if err != nil {
		return c, err
	}
	c.Problems.Sort()
	return c, nil
}

// checkRevisions goes through all that was written.
func (s *Shelf) checkRevisions(ctx context.Context, c *Checked, bad func(leadsheet.Saying, ...any)) error {
	err := s.each(ctx, s.db, "SELECT tune.id, revision.what, revision.version, revision.act, revision.shows, revision.hash, revision.data FROM revision JOIN tune ON tune.seq = revision.tune ORDER BY revision.tune, revision.what, revision.version",
		nil, func(scan func(...any) error) error {
			var id, what, act, hash string
			var version, shows int
			var data []byte
			if err := scan(&id, &what, &version, &act, &shows, &hash, &data); err != nil {
				return err
			}
			c.Revisions++
			if act == string(Set) && Hash(data) != hash || shows > version {
				bad("shelf-check.revision", "Tune", id, "Of", what, "Version", version)
			}
			return nil
		})
	if err != nil {
		return err
	}
	return s.each(ctx, s.db, "SELECT tune.id, tune.hash, coalesce((SELECT hash FROM revision WHERE revision.tune = tune.seq AND what = ? ORDER BY version DESC LIMIT 1), '') FROM tune ORDER BY tune.id", []any{SheetHistory}, func(scan func(...any) error) error {
		var id, has, shows string
		if err := scan(&id, &has, &shows); err != nil {
			return err
		}
		c.Tunes++
		if has != shows {
			bad("shelf-check.sheet", "Tune", id)
		}
		return nil
	})
}

// Backup copies an embedded shelf, also one that others work on, into a folder, which is a
// shelf itself then. Files that a backup there has already are not copied again.
func (s *Shelf) Backup(ctx context.Context, dir string) error {
	if s.place.folder == "" {
		return s.place.problem("shelf-backup.remote")
	}
	to := Place{folder: dir}
	if names, err := os.ReadDir(dir); err == nil && len(names) > 0 {
		if _, err := os.Stat(to.database()); err != nil {
			return to.problem("shelf-foreign")
		}
	}
	if err := os.MkdirAll(filepath.Join(dir, "files"), 0o777); err != nil {
		return to.broken(err)
	}
	// First the rows, then the files: files come before the rows that name them and are
	// never taken away, so all that the copied rows name are there.
	aside := filepath.Join(dir, ".shelf.db.new")
	if err := os.RemoveAll(aside); err != nil {
		return to.broken(err)
	}
	if _, err := s.db.ExecContext(ctx, "VACUUM INTO ?", aside); err != nil {
		return s.place.broken(err)
	}
	files, err := to.openFiles(ctx)
	if err != nil {
		return to.broken(err)
	}
	defer files.Close()
	err = s.eachFile(ctx, func(hash string) error {
		if there, err := files.Exists(ctx, key(hash)); err != nil || there {
			return to.broken2(err)
		}
		data, err := s.File(ctx, hash)
		if err != nil {
			return err
		}
		return to.broken2(writeWhole(ctx, files, key(hash), data, false))
	})
	if err != nil {
		return err
	}
	for _, old := range []string{"-wal", "-shm"} {
		if err := os.RemoveAll(to.database() + old); err != nil {
			return to.broken(err)
		}
	}
	return to.broken2(os.Rename(aside, to.database()))
}
