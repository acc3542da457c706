package shelf

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"net/url"
	"os"
	"strconv"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/ncruces/go-sqlite3/driver"
	"github.com/ncruces/go-sqlite3/ext/fts5"
	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"
)

//go:embed migrations
var migrationFiles embed.FS

// engine is what the databases do not have in common.
type engine interface {
	name() string
	open(at Place, readOnly bool) (*sql.DB, error)
	dialect() goose.Dialect
	migrating() []goose.ProviderOption
	// placeholders writes a query with question marks as the engine has them.
	placeholders(string) string
	has(ctx context.Context, db *sql.DB, table string) (bool, error)
	// forUpdate ends a query whose rows nobody else may change before the end of the
	// transaction.
	forUpdate() string
	// index puts the words of a tune where match finds them.
	index(ctx context.Context, t *tx, seq int64, words string) error
	// match has one argument, which pattern writes: it lists tunes, or is a condition on tune.
	match() (query string, lists bool)
	// long is from how many tunes on a list is looked up for each tune, in the order of titles,
	// and not each tune of the list by itself; lookUp is the condition that asks for that.
	long() int
	lookUp(list string) string
	pattern(words []string) string
	// snapshot are the options of a transaction that reads one state.
	snapshot() *sql.TxOptions
	// check has the database check itself; bad is told of what is wrong.
	check(ctx context.Context, s *Shelf, bad func(string)) error
}

// pool is how many connections a program holds: readers do not wait for each other, and
// writers wait in the database.
const pool = 4

// long is a long list of tunes, by measurement at 100 000 on both engines.
const long = 4000

type embedded struct{}

func (embedded) name() string                      { return "sqlite" }
func (embedded) dialect() goose.Dialect            { return goose.DialectSQLite3 }
func (embedded) migrating() []goose.ProviderOption { return nil }
func (embedded) placeholders(q string) string      { return q }
func (embedded) forUpdate() string                 { return "" } // one writes at a time

// open opens the file. A transaction takes the right to write when it begins, so that
// none fails in the middle; who has to wait does so for a minute.
func (embedded) open(p Place, readOnly bool) (*sql.DB, error) {
	u := url.URL{Scheme: "file", OmitHost: true, Path: p.database()}
	u.RawQuery = "_txlock=immediate&_pragma=busy_timeout(60000)&_pragma=journal_mode(wal)&_pragma=synchronous(normal)" +
		"&_pragma=foreign_keys(on)&_pragma=cache_size(-64000)&_pragma=temp_store(memory)"
	if readOnly {
		u.RawQuery = "mode=ro&_txlock=deferred&_pragma=busy_timeout(60000)&_pragma=query_only(on)&_pragma=cache_size(-64000)&_pragma=temp_store(memory)"
		if !writable(p.folder) { // where no file can be made beside it nobody else writes it either
			u.RawQuery = "immutable=1&" + u.RawQuery
		}
	}
	db, err := driver.Open(u.String(), fts5.Register)
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(pool)
	return db, nil
}

// writable tells whether a file can be made in a folder.
func writable(folder string) bool {
	f, err := os.CreateTemp(folder, ".gradatim-")
	if err != nil {
		return false
	}
	f.Close()
	return os.Remove(f.Name()) == nil
}

func (embedded) has(ctx context.Context, db *sql.DB, table string) (bool, error) {
	var n int
	err := db.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_master WHERE type = 'table' AND name = ?", table).Scan(&n)
	return n > 0, err
}

func (embedded) index(ctx context.Context, t *tx, seq int64, words string) error {
	if _, err := t.exec(ctx, "DELETE FROM tune_text WHERE rowid = ?", seq); err != nil {
		return err
	}
	_, err := t.exec(ctx, "INSERT INTO tune_text (rowid, words) VALUES (?, ?)", seq, words)
	return err
}

func (embedded) match() (string, bool) {
	return "SELECT rowid FROM tune_text WHERE tune_text MATCH ?", true
}

func (embedded) long() int { return long }

// lookUp: with a sign before it a column finds nothing ("Query planner", sqlite.org).
func (embedded) lookUp(list string) string { return "+tune.seq IN (" + list + ")" }

// pattern asks for all words, each as the beginning of one. Folded words hold no quotes.
func (embedded) pattern(words []string) string {
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = `"` + w + `"*`
	}
	return strings.Join(out, " ")
}

func (embedded) snapshot() *sql.TxOptions { return &sql.TxOptions{ReadOnly: true} }

func (embedded) check(ctx context.Context, s *Shelf, bad func(string)) error {
	return s.each(ctx, s.db, "PRAGMA integrity_check", nil, func(scan func(...any) error) error {
		var text string
		err := scan(&text)
		if text != "ok" {
			bad(text)
		}
		return err
	})
}

type postgres struct{}

func (postgres) name() string           { return "postgres" }
func (postgres) dialect() goose.Dialect { return goose.DialectPostgres }

func (postgres) migrating() []goose.ProviderOption {
	l, err := lock.NewPostgresSessionLocker()
	if err != nil {
		panic(err) // it has no options
	}
	return []goose.ProviderOption{goose.WithSessionLocker(l)}
}

func (postgres) open(p Place, _ bool) (*sql.DB, error) {
	cfg, err := pgx.ParseConfig(p.dsn)
	if err != nil {
		return nil, err
	}
	for param, value := range map[string]string{
		"work_mem":         "32MB", // lists of tunes are hashed if they are thought to fit: of a million, by its estimate
		"random_page_cost": "1.1",  // its pages are in memory or on a disk without arms, not on one of 1990, as it takes for granted
	} {
		if _, said := cfg.RuntimeParams[param]; !said {
			cfg.RuntimeParams[param] = value
		}
	}
	db := stdlib.OpenDB(*cfg)
	db.SetMaxOpenConns(pool)
	return db, nil
}

// placeholders numbers the question marks; our queries have none in texts.
func (postgres) placeholders(q string) string {
	var b strings.Builder
	n := 0
	for part := range strings.SplitSeq(q, "?") {
		if n > 0 {
			b.WriteString("$" + strconv.Itoa(n))
		}
		b.WriteString(part)
		n++
	}
	return b.String()
}

func (postgres) forUpdate() string { return " FOR UPDATE" }

func (postgres) has(ctx context.Context, db *sql.DB, table string) (bool, error) {
	var there bool
	err := db.QueryRowContext(ctx, "SELECT to_regclass($1) IS NOT NULL", table).Scan(&there)
	return there, err
}

func (postgres) index(ctx context.Context, t *tx, seq int64, words string) error {
	_, err := t.exec(ctx, "UPDATE tune SET words = to_tsvector('simple', ?) WHERE seq = ?", words, seq)
	return err
}

func (postgres) match() (string, bool) { return "tune.words @@ to_tsquery('simple', ?)", false }

func (postgres) long() int { return long }

// lookUp: what is asked of an IN's answer is no join; the list is hashed once.
func (postgres) lookUp(list string) string { return "(tune.seq IN (" + list + ")) IS TRUE" }

func (postgres) pattern(words []string) string {
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = fmt.Sprintf("'%s':*", w)
	}
	return strings.Join(out, " & ")
}

func (postgres) snapshot() *sql.TxOptions {
	return &sql.TxOptions{ReadOnly: true, Isolation: sql.LevelRepeatableRead}
}

// check: PostgreSQL checks its pages itself where the server was set up so.
func (postgres) check(context.Context, *Shelf, func(string)) error { return nil }
