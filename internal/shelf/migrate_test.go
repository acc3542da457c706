package shelf

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"
)

// atVersion opens a shelf with the schema that a release of that version had.
func atVersion(t *testing.T, place Place, version int64) *Shelf {
	t.Helper()
	if place.folder != "" {
		if err := os.MkdirAll(filepath.Join(place.folder, "files"), 0o777); err != nil {
			t.Fatal(err)
		}
	}
	s := &Shelf{place: place, cfg: Config{Author: "Ada", Now: time.Now, Logger: slog.New(slog.DiscardHandler)}, engine: place.engine()}
	var err error
	if s.db, err = s.engine.open(place, false); err != nil {
		t.Fatal(err)
	}
	if s.files, err = place.openFiles(t.Context()); err != nil {
		t.Fatal(err)
	}
	p, err := s.migrations()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.UpTo(t.Context(), version); err != nil {
		t.Fatal(err)
	}
	return s
}

// schema lists the tables, columns and indexes of a shelf's database.
func schema(t *testing.T, s *Shelf) (out []string) {
	t.Helper()
	ask := "SELECT name || ': ' || coalesce(sql, '') FROM sqlite_master WHERE name NOT LIKE 'goose%' ORDER BY 1"
	if s.Engine() == "postgres" {
		ask = `SELECT table_name || '.' || column_name || ' ' || data_type FROM information_schema.columns WHERE table_schema = current_schema() AND table_name NOT LIKE 'goose%'
			UNION SELECT indexdef FROM pg_indexes WHERE schemaname = current_schema() AND tablename NOT LIKE 'goose%' ORDER BY 1`
	}
	err := s.Each(t.Context(), ask, nil, func(scan func(...any) error) error {
		var line string
		err := scan(&line)
		out = append(out, line)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestMigrations: a shelf of every earlier version is brought up when it is opened, with what
// stands on it, to the schema that a new one has.
func TestMigrations(t *testing.T) {
	for _, e := range []string{"embedded", "postgres"} {
		t.Run(e, func(t *testing.T) {
			fresh, err := Create(t.Context(), placeOn(t, e), Config{})
			if err != nil {
				t.Fatal(err)
			}
			defer fresh.Close()
			p, err := fresh.migrations()
			if err != nil {
				t.Fatal(err)
			}
			_, last, err := p.GetVersions(t.Context())
			if err != nil || last < 3 {
				t.Fatalf("version %d, %v", last, err)
			}
			want := schema(t, fresh)
			for v := int64(1); v < last; v++ {
				t.Run(fmt.Sprint(v), func(t *testing.T) {
					place := placeOn(t, e)
					old := atVersion(t, place, v)
					if slices.Equal(schema(t, old), want) {
						t.Error("it has the schema of now")
					}
					if _, err := old.Add(t.Context(), sheetOf(1)); err != nil {
						t.Fatal(err)
					}
					if err := old.Close(); err != nil {
						t.Fatal(err)
					}
					s, err := Open(t.Context(), place, Config{})
					if err != nil {
						t.Fatal(err)
					}
					defer s.Close()
					if got := schema(t, s); !slices.Equal(got, want) {
						t.Errorf("schema:\n%q\nwant\n%q", got, want)
					}
					if n, err := s.Count(t.Context(), Query{}); n != 1 || err != nil {
						t.Errorf("%d tunes, %v", n, err)
					}
					if _, err := s.Add(t.Context(), sheetOf(2)); err != nil {
						t.Error(err)
					}
				})
			}
		})
	}
}

// TestForeignDatabase: where another program has a table of the name, the shelf is refused and
// nothing is written.
func TestForeignDatabase(t *testing.T) {
	ctx := context.Background()
	for _, e := range []string{"embedded", "postgres"} {
		t.Run(e, func(t *testing.T) {
			place := placeOn(t, e)
			s := &Shelf{place: place, engine: place.engine()}
			if place.folder != "" {
				if err := os.MkdirAll(place.folder, 0o777); err != nil {
					t.Fatal(err)
				}
			}
			var err error
			if s.db, err = s.engine.open(place, false); err != nil {
				t.Fatal(err)
			}
			defer s.db.Close()
			if _, err := s.db.Exec("CREATE TABLE tune (name TEXT)"); err != nil {
				t.Fatal(err)
			}
			if _, err := Open(ctx, place, Config{}); code(err) != "shelf-foreign" {
				t.Errorf("%v", err)
			}
			if there, err := s.engine.has(ctx, s.db, "goose_db_version"); there || err != nil {
				t.Errorf("written: %t, %v", there, err)
			}
		})
	}
}
