package shelf

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"gradatim/leadsheet"
)

// filled is a shelf with some of everything.
func filled(t *testing.T, s *Shelf) []string {
	t.Helper()
	ctx := context.Background()
	ids := add(t, s, 1, 2, 3)
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	_, err := s.Write(ctx, ids[0], ChoicesHistory, []byte("version = 2\n"), "first", -1)
	must(err)
	_, err = s.Write(ctx, ids[0], TextHistory("level-2"), []byte("Listen.\n"), "", -1)
	must(err)
	_, err = s.Undo(ctx, ids[0], ChoicesHistory)
	must(err)
	changed := sheetOf(77)
	must(s.SetSheet(ctx, ids[1], changed, "mended"))
	_, err = s.SetRight(ctx, ids[0], Right{Territory: World, Status: leadsheet.Own, Basis: "written here"})
	must(err)
	must(s.SetHand(ctx, Hand{Name: "mia", Spans: "octave"}))
	must(s.SetHand(ctx, Hand{Name: "mia", Spans: "ninth"}))
	file, err := s.Keep(ctx, []byte("a page"))
	must(err)
	job, err := s.Keep(ctx, []byte("a job"))
	must(err)
	_, err = s.Record(ctx, Build{ID: BuildID(job, "p", "scores"), Tune: ids[0], What: "scores", Slot: "own", Job: job, Program: "p", Levels: "1 2", Key: "C major",
		Files: []BuiltFile{{"page.xml", 6, file}}, Pages: []Page{{Level: 1, Key: "C major", Rating: 100, Scale: 1, Techniques: []Technique{{"waltz", []int{1, 5}}}}}}, "DE")
	must(err)
	return ids
}

// TestExport: plain files hold everything, on both engines the same, and come back whole.
func TestExport(t *testing.T) {
	ctx := context.Background()
	var exports []string
	for _, e := range []string{"embedded", "postgres"} {
		t.Run(e, func(t *testing.T) {
			s := empty(t, e)
			ids := filled(t, s)
			dir := filepath.Join(t.TempDir(), "out")
			for range 2 { // the second takes the place of the first
				if n, err := s.Export(ctx, dir, ExportOptions{}); err != nil || n != 3 {
					t.Fatalf("%d tunes, %v", n, err)
				}
			}
			exports = append(exports, treeOf(t, dir))
			other := empty(t, e)
			if n, there, err := other.Import(ctx, dir); err != nil || n != 3 || len(there) != 0 {
				t.Fatalf("%d tunes, %v, %v", n, there, err)
			}
			again := filepath.Join(t.TempDir(), "out")
			if _, err := other.Export(ctx, again, ExportOptions{}); err != nil {
				t.Fatal(err)
			}
			if treeOf(t, again) != exports[len(exports)-1] {
				t.Error("what came back is written otherwise")
			}
			if ts, err := other.Find(ctx, Query{Words: []string{"tune", "77"}}); err != nil || len(ts) != 1 || ts[0].ID != ids[1] {
				t.Errorf("what came back is not found: %v, %v", ts, err)
			}
			if n, there, err := other.Import(ctx, dir); err != nil || n != 0 || len(there) != 3 {
				t.Errorf("%d tunes, %v, %v", n, there, err)
			}
			// Everything that is damaged is told, and nothing is written.
			for _, f := range []string{"tunes/" + ids[0] + "/sheet.abc", "sources/" + Hash(sheetOf(1).Data)} {
				if err := os.WriteFile(filepath.Join(dir, f), []byte("x"), 0o666); err != nil {
					t.Fatal(err)
				}
			}
			var ps leadsheet.Problems
			third := empty(t, e)
			if _, _, err := third.Import(ctx, dir); !errors.As(err, &ps) || len(ps) != 2 || code(err) != "shelf-import.damaged" {
				t.Errorf("damaged: %v", err)
			}
			if n, err := third.Count(ctx, Query{}); n != 0 || err != nil {
				t.Errorf("%d tunes, %v", n, err)
			}
			if _, err := s.Export(ctx, filepath.Dir(filepath.Dir(dir)), ExportOptions{}); code(err) != "shelf-export.foreign" {
				t.Errorf("into a folder of others: %v", err)
			}
		})
	}
	if len(exports) == 2 && exports[0] != exports[1] {
		t.Error("the engines hold different shelves")
	}
}

// treeOf is all that a folder holds, as one text.
func treeOf(t *testing.T, dir string) string {
	t.Helper()
	var b strings.Builder
	err := filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(p)
		rel, _ := filepath.Rel(dir, p)
		fmt.Fprintf(&b, "%s\n%s\n", rel, data)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// TestCheck: each kind of damage is found, and told with the tune.
func TestCheck(t *testing.T) {
	ctx := context.Background()
	made(t, func(t *testing.T, s *Shelf) {
		ids := filled(t, s)
		codes := func() []string {
			t.Helper()
			c, err := s.Check(ctx)
			if err != nil {
				t.Fatal(err)
			}
			var out []string
			for _, p := range c.Problems {
				out = append(out, string(p.Says))
			}
			return out
		}
		if c, err := s.Check(ctx); err != nil || len(c.Problems) > 0 || c.Tunes != 3 || c.Files != 6 || c.Revisions != 7 {
			t.Errorf("%+v, %v", c, err)
		}
		lying := func(data string) string { return key(Hash([]byte(data))) }
		if err := s.files.Delete(ctx, lying("a page")); err != nil {
			t.Fatal(err)
		}
		if err := s.files.WriteAll(ctx, lying(string(sheetOf(2).Source.Data)), []byte("x"), nil); err != nil {
			t.Fatal(err)
		}
		for _, q := range []string{"UPDATE revision SET hash = 'x' WHERE what = 'text level-2'", "UPDATE tune SET hash = 'x' WHERE id = '" + ids[2] + "'"} {
			if _, err := s.db.Exec(q); err != nil {
				t.Fatal(err)
			}
		}
		got := codes()
		slices.Sort(got)
		if want := []string{"shelf-check.file", "shelf-check.file", "shelf-check.revision", "shelf-check.sheet"}; !slices.Equal(got, want) {
			t.Errorf("%v is told, %v is wanted", got, want)
		}
	})
}

// TestBackup: a copy of a shelf that is being written to is whole.
func TestBackup(t *testing.T) {
	ctx := context.Background()
	s := empty(t, "embedded")
	filled(t, s)
	stop := make(chan struct{})
	var wg sync.WaitGroup
	wg.Go(func() {
		for n := 100; ; n++ {
			select {
			case <-stop:
				return
			default:
				if _, err := s.Add(ctx, sheetOf(n)); err != nil {
					t.Error(err)
					return
				}
			}
		}
	})
	dir := t.TempDir()
	for range 3 {
		if err := s.Backup(ctx, dir); err != nil {
			t.Error(err)
		}
		at, _ := ParsePlace(dir, "", false)
		copied, err := Open(ctx, at, Config{})
		if err != nil {
			t.Fatal(err)
		}
		if c, err := copied.Check(ctx); err != nil || len(c.Problems) > 0 || c.Tunes < 3 {
			t.Errorf("%+v, %v", c, err)
		}
		if err := copied.Close(); err != nil {
			t.Error(err)
		}
	}
	close(stop)
	wg.Wait()
	if err := empty(t, "postgres").Backup(ctx, t.TempDir()); code(err) != "shelf-backup.remote" {
		t.Error(err)
	}
}

// TestSchema: a shelf of a newer release is refused, with a way out; what the
// database is asked for when it is opened holds.
func TestSchema(t *testing.T) {
	ctx := context.Background()
	for _, e := range []string{"embedded", "postgres"} {
		t.Run(e, func(t *testing.T) {
			at := placeOn(t, e)
			if _, err := Open(ctx, at, Config{}); code(err) != "shelf-missing" {
				t.Errorf("where there is none: %v", err)
			}
			s, err := Create(ctx, at, Config{})
			if err != nil {
				t.Fatal(err)
			}
			if e == "embedded" {
				for pragma, want := range map[string]string{"journal_mode": "wal", "busy_timeout": "60000", "foreign_keys": "1", "synchronous": "1"} {
					var got string
					if err := s.db.QueryRow("PRAGMA " + pragma).Scan(&got); err != nil || got != want {
						t.Errorf("%s is %s, %v", pragma, got, err)
					}
				}
			}
			if _, err := s.db.Exec(s.engine.placeholders("INSERT INTO goose_db_version (version_id, is_applied) VALUES (?, ?)"), 999, true); err != nil {
				t.Fatal(err)
			}
			if err := s.Close(); err != nil {
				t.Fatal(err)
			}
			if _, err := Open(ctx, at, Config{}); code(err) != "shelf-newer" {
				t.Errorf("a newer one: %v", err)
			}
			looked, err := Open(ctx, at, Config{ReadOnly: true})
			if err != nil {
				t.Fatal(err)
			}
			defer looked.Close()
			if n, err := looked.Count(ctx, Query{}); n != 0 || err != nil {
				t.Errorf("looked at, it has %d tunes, %v", n, err)
			}
			if _, err := looked.Add(ctx, sheetOf(1)); code(err) != "shelf-readonly" {
				t.Errorf("it was written: %v", err)
			}
			if _, err := Create(ctx, at, Config{}); code(err) != "shelf-there" {
				t.Errorf("where one is: %v", err)
			}
		})
	}
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, []byte("no folder"), 0o666); err != nil {
		t.Fatal(err)
	}
	at, _ := ParsePlace(file, "", false)
	if _, err := Create(ctx, at, Config{}); code(err) != "shelf-foreign" {
		t.Errorf("where a file is: %v", err)
	}
}

// TestSecrets: what is told and printed of a place has no password.
func TestSecrets(t *testing.T) {
	const pw = "open-sesame"
	dsn := "postgres://ada:" + pw + "@127.0.0.1:1/none"
	if _, err := ParsePlace(dsn, "s3://b", false); code(err) != "shelf-place.secret" {
		t.Errorf("from a command line: %v", err)
	}
	if _, err := ParsePlace(dsn, "", true); code(err) != "shelf-place.files" {
		t.Errorf("without files: %v", err)
	}
	file := filepath.Join(t.TempDir(), "place.toml")
	if err := os.WriteFile(file, []byte("database = \""+dsn+"\"\nfiles = \""+t.TempDir()+"\"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	at, err := ParsePlace(file, "", false)
	if err != nil {
		t.Fatal(err)
	}
	_, err = Open(context.Background(), at, Config{})
	if code(err) != "shelf-broken" {
		t.Errorf("a server that is not there: %v", err)
	}
	for _, text := range []string{fmt.Sprint(at), fmt.Sprintf("%#v %+v %v", at, at, at), fmt.Sprint(err), fmt.Sprintf("%+v", at.broken(errors.New("cannot connect to "+dsn)))} {
		if strings.Contains(text, pw) {
			t.Errorf("a password is told: %s", text)
		}
	}
}

// TestCutOff: a file that was cut off, as a full disk leaves one, is written anew by who keeps it again.
func TestCutOff(t *testing.T) {
	ctx := context.Background()
	s := empty(t, "embedded")
	data := []byte("all of it")
	h, err := s.Keep(ctx, data)
	if err != nil {
		t.Fatal(err)
	}
	dir, _ := s.place.fileFolder()
	if err := os.WriteFile(filepath.Join(dir, key(h)), data[:3], 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := s.File(ctx, h); code(err) != "shelf-file.damaged" {
		t.Errorf("what was cut off reads as %v", err)
	}
	if _, err := s.Keep(ctx, data); err != nil {
		t.Fatal(err)
	}
	if got, err := s.File(ctx, h); err != nil || !bytes.Equal(got, data) {
		t.Errorf("%q, %v", got, err)
	}
}
