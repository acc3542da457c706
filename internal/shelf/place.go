package shelf

import (
	"context"
	"errors"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"

	"github.com/BurntSushi/toml"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/ncruces/go-sqlite3"
	"gocloud.dev/blob"
	"gocloud.dev/blob/fileblob"
	_ "gocloud.dev/blob/s3blob" // s3:// addresses of files

	"gradatim/leadsheet"
)

// Place is where a shelf stands: a folder, or a PostgreSQL database with a place for
// files. It holds passwords; its String does not.
type Place struct {
	folder string // of an embedded shelf; "": it is none
	dsn    string // of PostgreSQL
	bucket string // address of the files; "": in the folder
}

// ParsePlace reads where a shelf stands: a folder; the name of a file of the form
//
//	database = "postgres://…"
//	files = "s3://bucket?region=…"
//
// or, where trusted, the address of a database itself, with files as the address of its
// files: an address may hold a password, which a command line would show to everybody on
// the machine, so it is taken from the environment or a file alone.
func ParsePlace(text, files string, trusted bool) (Place, error) {
	if text == "" {
		return Place{}, tell(leadsheet.Pos{}, "shelf-place.none")
	}
	if isDSN(text) {
		if !trusted {
			return Place{}, tell(leadsheet.Pos{}, "shelf-place.secret")
		}
		return remote(text, files)
	}
	if st, err := os.Stat(text); err == nil && st.Mode().IsRegular() && filepath.Ext(text) == ".toml" {
		var in struct{ Database, Files string }
		md, err := toml.DecodeFile(text, &in)
		if err != nil || len(md.Undecoded()) > 0 || !isDSN(in.Database) {
			return Place{}, tell(leadsheet.Pos{File: text}, "shelf-place.file")
		}
		return remote(in.Database, in.Files)
	}
	dir, err := filepath.Abs(text)
	if err != nil {
		return Place{}, tell(leadsheet.Pos{File: text}, "shelf-broken", "Error", err.Error())
	}
	return Place{folder: dir}, nil
}

func isDSN(text string) bool {
	return strings.HasPrefix(text, "postgres://") || strings.HasPrefix(text, "postgresql://")
}

func remote(dsn, files string) (Place, error) {
	p := Place{dsn: dsn, bucket: files}
	u, err := url.Parse(files)
	if err != nil || files == "" || u.Scheme != "s3" && u.Scheme != "" && u.Scheme != "file" {
		return Place{}, tell(leadsheet.Pos{}, "shelf-place.files")
	}
	return p, nil
}

// String names the place, without user and password.
func (p Place) String() string {
	if p.folder != "" {
		return p.folder
	}
	if u, err := url.Parse(p.dsn); err == nil {
		return u.Scheme + "://" + u.Host + u.Path
	}
	return "postgres"
}

// GoString keeps passwords out of what %#v writes, and LogValue out of logs.
func (p Place) GoString() string { return "shelf.Place(" + p.String() + ")" }

func (p Place) engine() engine {
	if p.folder != "" {
		return embedded{}
	}
	return postgres{}
}

// database is the file of an embedded shelf.
func (p Place) database() string { return filepath.Join(p.folder, "shelf.db") }

// fileFolder is where the files lie, where that is a folder.
func (p Place) fileFolder() (dir string, local bool) {
	if p.folder != "" {
		return filepath.Join(p.folder, "files"), true
	}
	return strings.TrimPrefix(p.bucket, "file://"), !strings.HasPrefix(p.bucket, "s3:")
}

// openFiles opens the place of the files.
func (p Place) openFiles(ctx context.Context) (*blob.Bucket, error) {
	dir, local := p.fileFolder()
	if !local {
		return blob.OpenBucket(ctx, p.bucket)
	}
	// A temporary folder may be on another disk, from which nothing can be renamed.
	return fileblob.OpenBucket(dir, &fileblob.Options{CreateDir: true, NoTempDir: true, Metadata: fileblob.MetadataDontWrite})
}

func (p Place) problem(says leadsheet.Saying, parts ...any) error {
	return tell(leadsheet.Pos{File: p.String()}, says, parts...)
}

// broken tells of an error of the database or the files, without what it may say of
// passwords. The error stays below, for whoever asks what it is.
func (p Place) broken(err error) error {
	var ps leadsheet.Problems
	var b brokenError
	if errors.As(err, &ps) || errors.As(err, &b) || errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	text := err.Error()
	if p.dsn != "" {
		text = strings.ReplaceAll(text, p.dsn, p.String())
		if u, err := url.Parse(p.dsn); err == nil && u.User != nil {
			if pw, ok := u.User.Password(); ok && pw != "" {
				text = strings.ReplaceAll(text, pw, "…")
			}
		}
	}
	says := leadsheet.Saying("shelf-broken")
	switch {
	case noRoom(err):
		says = "shelf-full"
	case p.folder != "" && errors.Is(err, sqlite3.IOERR_WRITE): // the driver loses what the system said
		if probe := fits(p.folder, 1<<20); noRoom(probe) {
			says, text, err = "shelf-full", text+": "+probe.Error(), errors.Join(err, probe)
		}
	}
	return brokenError{err, p.problem(says, "Error", text).(leadsheet.Problems)}
}

// NoRoom tells whether an error says that a disk or a database is full, and what is told of it.
func (s *Shelf) NoRoom(err error) (leadsheet.Problems, bool) {
	if !noRoom(err) {
		return nil, false
	}
	var b brokenError
	if !errors.As(err, &b) && !errors.As(s.place.broken(err), &b) {
		return nil, false
	}
	return b.told, true
}

// noRoom knows a full disk by the numbers of the systems, by SQLITE_FULL (sqlite.org, "Result and
// Error Codes") and by class 53 of PostgreSQL's (its manual, appendix A).
func noRoom(err error) bool {
	full := []syscall.Errno{syscall.ENOSPC, syscall.EDQUOT}
	if runtime.GOOS == "windows" {
		full = []syscall.Errno{39, 112} // ERROR_HANDLE_DISK_FULL, ERROR_DISK_FULL
	}
	for _, e := range full {
		if errors.Is(err, e) {
			return true
		}
	}
	var pg *pgconn.PgError
	return errors.Is(err, sqlite3.FULL) || errors.As(err, &pg) && pg.Code == "53100"
}

// fits tries whether a file of some bytes can be written in a folder.
func fits(folder string, bytes int) error {
	f, err := os.CreateTemp(folder, ".gradatim-")
	if err != nil {
		return err
	}
	_, err = f.Write(make([]byte, bytes))
	return errors.Join(err, f.Close(), os.Remove(f.Name()))
}

// brokenError is an error of the machinery, with what is told of it.
type brokenError struct {
	err  error
	told leadsheet.Problems
}

func (e brokenError) Error() string   { return e.told.Error() }
func (e brokenError) Unwrap() []error { return []error{e.told, e.err} }
