package shelf

import (
	"context"
	"database/sql"
	"log/slog"
	"time"
)

// Tx is a transaction on the shelf, for what keeps rows of its own beside the shelf's.
type Tx struct{ t *tx }

// Within runs f in a transaction, which may write. It ends with f's error, or is kept.
func (s *Shelf) Within(ctx context.Context, f func(Tx) error) error {
	return s.within(ctx, func(t *tx) error { return f(Tx{t}) })
}

// Exec runs a statement, its parameters written as question marks, and tells how many
// rows it touched.
func (t Tx) Exec(ctx context.Context, query string, args ...any) (int64, error) {
	return t.t.exec(ctx, query, args...)
}

// Row scans the one row of a query; found is false where there is none.
func (t Tx) Row(ctx context.Context, query string, args []any, to ...any) (found bool, err error) {
	return t.t.row(ctx, query, args, to...)
}

// Each calls f for each row of a query.
func (t Tx) Each(ctx context.Context, query string, args []any, f func(scan func(...any) error) error) error {
	return t.t.s.each(ctx, t.t, query, args, f)
}

// Record is Shelf.Record in this transaction.
func (t Tx) Record(ctx context.Context, b Build, territory string) (first bool, err error) {
	return t.t.record(ctx, &b, territory)
}

// SQL is the transaction as the library has it.
func (t Tx) SQL() *sql.Tx { return t.t.Tx }

// Each calls f for each row of a query outside a transaction.
func (s *Shelf) Each(ctx context.Context, query string, args []any, f func(scan func(...any) error) error) error {
	return s.each(ctx, s.db, query, args, f)
}

// DB is the database as the library has it, and Engine which it is: "sqlite" or
// "postgres".
func (s *Shelf) DB() *sql.DB { return s.db }

// Engine: see DB.
func (s *Shelf) Engine() string { return s.engine.name() }

// Listen is the address under which a PostgreSQL database is listened to; it holds a
// password.
func (p Place) Listen() string { return p.dsn }

// Stamp is the time as rows have it, and Now the same as a value.
func (s *Shelf) Stamp() string { return s.now() }

// Now: see Stamp.
func (s *Shelf) Now() time.Time { return s.cfg.Now() }

// StampOf writes a time as rows have it.
func StampOf(t time.Time) string { return t.UTC().Format(timeForm) }

// ParseStamp reads what StampOf wrote.
func ParseStamp(text string) time.Time { return parseTime(text) }

// Author and Logger are those of the Config.
func (s *Shelf) Author() string { return s.cfg.Author }

// Logger: see Author.
func (s *Shelf) Logger() *slog.Logger { return s.cfg.Logger }

// Files is the address of the files of a shelf on a database server; "" where they lie in
// the shelf's folder.
func (p Place) Files() string { return p.bucket }
