package shelf

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"time"

	"github.com/pressly/goose/v3"
	"gocloud.dev/blob"

	"gradatim/leadsheet"
)

// Config says how a shelf is opened. The zero Config is ready.
type Config struct {
	Author string           // of what is written: a name, or a name and an address; "": "unknown"
	Now    func() time.Time // the clock; nil: the system's
	Logger *slog.Logger     // nil: nothing is logged
	// ReadOnly opens it to be looked at: nothing is written, and what asks for it is
	// refused. So a shelf of a newer release, and one where nothing can be written, can
	// still be read, as far as this release understands it.
	ReadOnly bool
}

// Shelf is an open catalogue. It may be used by several goroutines, and by several
// programs at once.
type Shelf struct {
	db     *sql.DB
	engine engine
	files  *blob.Bucket
	place  Place
	cfg    Config
	copy   string // folder of a copy of the database; "": it is read where it stands
}

// Create makes an empty shelf in a place that holds nothing, and opens it. On PostgreSQL
// the database has to be there, without a shelf.
func Create(ctx context.Context, at Place, cfg Config) (*Shelf, error) {
	if at.folder != "" {
		if st, err := os.Stat(at.folder); err == nil && !st.IsDir() {
			return nil, at.problem("shelf-foreign")
		}
		if names, err := os.ReadDir(at.folder); err == nil && len(names) > 0 {
			if _, err := os.Stat(at.database()); err == nil {
				return nil, at.problem("shelf-there")
			}
			return nil, at.problem("shelf-foreign")
		} else if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return nil, at.broken(err)
		}
		if err := os.MkdirAll(filepath.Join(at.folder, "files"), 0o777); err != nil {
			return nil, at.broken(err)
		}
	}
	return open(ctx, at, cfg, true)
}

// Open opens a shelf. One that an older release made is brought up to this one; one of a
// newer release is refused, but where it is only looked at (Config.ReadOnly).
func Open(ctx context.Context, at Place, cfg Config) (*Shelf, error) {
	if at.folder != "" {
		if _, err := os.Stat(at.database()); errors.Is(err, fs.ErrNotExist) {
			return nil, at.problem("shelf-missing")
		}
	}
	return open(ctx, at, cfg, false)
}

func open(ctx context.Context, at Place, cfg Config, create bool) (_ *Shelf, err error) {
	if cfg.Author == "" {
		cfg.Author = "unknown"
	}
	if cfg.Now == nil {
		cfg.Now = time.Now
	}
	if cfg.Logger == nil {
		cfg.Logger = slog.New(slog.DiscardHandler)
	}
	s := &Shelf{place: at, cfg: cfg, engine: at.engine()}
	defer func() {
		if err != nil {
			err = errors.Join(err, s.Close())
			s = nil
		}
	}()
	read := at
	if cfg.ReadOnly && at.folder != "" && !writable(at.folder) && unfinished(at) {
		if read, err = copied(at); err != nil {
			return nil, at.broken(err)
		}
		s.copy = read.folder
	}
	if s.db, err = s.engine.open(read, cfg.ReadOnly); err != nil {
		return nil, at.broken(err)
	}
	if err := s.db.PingContext(ctx); err != nil {
		return nil, at.broken(err)
	}
	if s.files, err = at.openFiles(ctx); err != nil {
		return nil, at.broken(err)
	}
	return s, s.migrate(ctx, create)
}

// migrate brings the schema up to this release.
func (s *Shelf) migrate(ctx context.Context, create bool) error {
	p, err := s.migrations()
	if err != nil {
		return err
	}
	there, err := s.engine.has(ctx, s.db, "tune")
	if err != nil {
		return s.place.broken(err)
	}
	switch {
	case create && there:
		return s.place.problem("shelf-there")
	case !create && !there:
		return s.place.problem("shelf-missing")
	}
	if there && s.cfg.ReadOnly {
		return nil
	}
	if there { // a version table without a shelf is nobody's business
		// A table of the name without one is another program's: nothing is written there.
		if ours, err := s.engine.has(ctx, s.db, goose.DefaultTablename); err != nil {
			return s.place.broken(err)
		} else if !ours {
			return s.place.problem("shelf-foreign")
		}
		have, want, err := p.GetVersions(ctx)
		if err != nil {
			return s.place.broken(err)
		}
		if have > want {
			return s.place.problem("shelf-newer", "Have", int(have), "Most", int(want))
		}
		if have == want {
			return nil
		}
		s.cfg.Logger.InfoContext(ctx, "migrating the shelf", "from", have, "to", want)
	}
	if _, err := p.Up(ctx); err != nil {
		return s.place.broken(err)
	}
	return nil
}

func (s *Shelf) migrations() (*goose.Provider, error) {
	sub, err := fs.Sub(migrationFiles, "migrations/"+s.engine.name())
	if err != nil {
		return nil, err
	}
	return goose.NewProvider(s.engine.dialect(), s.db, sub, s.engine.migrating()...)
}

// Close lets go of the database and the files.
func (s *Shelf) Close() error {
	var err error
	if s.db != nil {
		err = s.db.Close()
	}
	if s.files != nil {
		err = errors.Join(err, s.files.Close())
	}
	if s.copy != "" {
		err = errors.Join(err, os.RemoveAll(s.copy))
	}
	return err
}

// journals are the files beside an embedded database that hold what is not yet in it.
var journals = []string{"-wal", "-journal"}

// unfinished tells whether a process that was killed has left something beside the database
// of a shelf.
func unfinished(at Place) bool {
	return slices.ContainsFunc(journals, func(end string) bool {
		st, err := os.Stat(at.database() + end)
		return err == nil && st.Size() > 0
	})
}

// copied copies such a database to a folder of its own: to read it SQLite has to bring
// together what was left, and where the shelf stands it cannot.
func copied(at Place) (Place, error) {
	dir, err := os.MkdirTemp("", "gradatim-shelf-")
	if err != nil {
		return at, err
	}
	out := Place{folder: dir}
	for _, end := range append([]string{""}, journals...) {
		data, err := os.ReadFile(at.database() + end)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err == nil {
			err = os.WriteFile(out.database()+end, data, 0o600)
		}
		if err != nil {
			return at, errors.Join(err, os.RemoveAll(dir))
		}
	}
	return out, nil
}

// Place is where the shelf stands.
func (s *Shelf) Place() Place { return s.place }

// now is the time as rows have it: RFC 3339 in UTC, to the microsecond, so that the order
// of the texts is that of the times.
func (s *Shelf) now() string { return s.cfg.Now().UTC().Format(timeForm) }

const timeForm = "2006-01-02T15:04:05.000000Z"

// parseTime reads what now wrote; what it did not is the zero time.
func parseTime(text string) time.Time {
	t, _ := time.Parse(timeForm, text)
	return t
}

// within runs f in a transaction, which may write. It ends with f's error, or is kept.
func (s *Shelf) within(ctx context.Context, f func(*tx) error) error {
	if s.cfg.ReadOnly {
		return s.place.problem("shelf-readonly")
	}
	t, err := s.db.BeginTx(ctx, nil)
	if err != nil {
		return s.place.broken(err)
	}
	x := &tx{Tx: t, s: s, made: map[string]*sql.Stmt{}}
	if err := f(x); err != nil {
		return errors.Join(err, x.rollback())
	}
	if err := t.Commit(); err != nil {
		return s.place.broken(err)
	}
	return nil
}

// tx is a transaction that keeps its statements and writes the engine's placeholders.
type tx struct {
	*sql.Tx
	s    *Shelf
	made map[string]*sql.Stmt
}

// rollback gives the transaction up; that it is over already is no error.
func (t *tx) rollback() error {
	if err := t.Rollback(); err != nil && !errors.Is(err, sql.ErrTxDone) {
		return err
	}
	return nil
}

func (t *tx) stmt(ctx context.Context, query string) (*sql.Stmt, error) {
	if st, ok := t.made[query]; ok {
		return st, nil
	}
	st, err := t.PrepareContext(ctx, t.s.engine.placeholders(query))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", query, err)
	}
	t.made[query] = st
	return st, nil
}

// exec runs a statement and tells how many rows it touched.
func (t *tx) exec(ctx context.Context, query string, args ...any) (int64, error) {
	st, err := t.stmt(ctx, query)
	if err != nil {
		return 0, t.s.place.broken(err)
	}
	r, err := st.ExecContext(ctx, args...)
	if err != nil {
		return 0, t.s.place.broken(err)
	}
	n, err := r.RowsAffected()
	if err != nil {
		return 0, t.s.place.broken(err)
	}
	return n, nil
}

// row scans one row; found is false where there is none.
func (t *tx) row(ctx context.Context, query string, args []any, to ...any) (found bool, err error) {
	st, err := t.stmt(ctx, query)
	if err != nil {
		return false, t.s.place.broken(err)
	}
	err = st.QueryRowContext(ctx, args...).Scan(to...)
	if errors.Is(err, sql.ErrNoRows) {
		return false, nil
	}
	if err != nil {
		return false, t.s.place.broken(err)
	}
	return true, nil
}

// querier is a database or a transaction of it.
type querier interface {
	QueryContext(context.Context, string, ...any) (*sql.Rows, error)
}

// each calls f for each row of a query.
func (s *Shelf) each(ctx context.Context, q querier, query string, args []any, f func(scan func(...any) error) error) error {
	rows, err := q.QueryContext(ctx, s.engine.placeholders(query), args...)
	if err != nil {
		return s.place.broken(fmt.Errorf("%s: %w", query, err))
	}
	defer rows.Close()
	for rows.Next() {
		if err := f(rows.Scan); err != nil {
			return err
		}
	}
	if err := rows.Err(); err != nil {
		return s.place.broken(err)
	}
	return nil
}

// one scans the one row of a query; found is false where there is none.
func (s *Shelf) one(ctx context.Context, query string, args []any, to ...any) (found bool, err error) {
	err = s.db.QueryRowContext(ctx, s.engine.placeholders(query), args...).Scan(to...)
	if errors.Is(err, sql.ErrNoRows) {
		return false, nil
	}
	if err != nil {
		return false, s.place.broken(err)
	}
	return true, nil
}

// tell is one Problem as an error.
func tell(pos leadsheet.Pos, says leadsheet.Saying, parts ...any) error {
	var ps leadsheet.Problems
	ps.Tell(leadsheet.Error, pos, says, parts...)
	return ps
}
