package gradatim

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"gradatim/internal/account"
	"gradatim/internal/delivery"
	"gradatim/internal/edition"
	"gradatim/score"
)

// Set is a set of files on its way into a folder, where all of them appear or none, also
// when the program is stopped in the middle: then the next Set for the folder finishes
// what was begun. Put and Create may be called from several goroutines.
type Set struct {
	dir string
	set *delivery.Set
}

// BeginSet begins a set for a folder, which is made if need be. Discard it when done with
// it. Its errors, as those of all methods, are of the file system, with the path.
func BeginSet(dir string) (*Set, error) {
	s, err := delivery.BeginSet(dir)
	if err != nil {
		return nil, err
	}
	return &Set{dir, s}, nil
}

// Put adds a file; its path is written with slashes and leads below the folder.
func (s *Set) Put(path string, data []byte) error { return s.set.Put(path, data) }

// Create adds a file that write writes.
func (s *Set) Create(path string, write func(io.Writer) error) error {
	return s.set.Create(path, write)
}

// Commit puts the files in their places, whatever is there.
func (s *Set) Commit() error { return s.set.Commit() }

// Discard gives the set up and leaves nothing of it. After Commit it does nothing.
func (s *Set) Discard() error { return s.set.Discard() }

// WasFolder tells whether an error of a Set is that a folder stands in a file's place.
func WasFolder(err error) bool { return errors.Is(err, delivery.ErrFolder) }

// PutLadder adds the ladder.json of the pages that are in the set, and puts all of it in
// place. The list says which other pages in the folder earlier runs have made, and of
// what. Those that pass for this run's and are not go: an earlier page of a level of which
// none passed now, an earlier PDF of a page that is another. A file that somebody has
// changed, or that stood there before, is never lost: it is kept beside, under the name
// that is returned.
func (s *Session) PutLadder(ctx context.Context, set *Set) (summary []byte, kept []string, err error) {
	es, err := s.ladders(ctx)
	if err != nil {
		return nil, nil, err
	}
	list := filepath.Join(set.dir, account.ListName)
	var old account.List
	ours := []delivery.Listed{}
	data, err := os.ReadFile(list)
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return nil, nil, err
	default:
		if read, err := account.ReadList(data); err == nil { // else it is hers
			old = read
			ours = append(old.All(), delivery.Listed{Path: account.ListName, Bytes: int64(len(data)), SHA256: hashOf(data)})
		}
	}
	intact, err := delivery.Intact(set.dir, old.All())
	if err != nil {
		return nil, nil, err
	}
	made := account.List{MadeFrom: s.madeFrom(), Files: set.set.Files()}
	now, gone := old.After(made, intact, func(path string) bool {
		level := s.levelOf(path)
		return slices.ContainsFunc(es[0].Pages, func(p edition.Page) bool { return p.Level.Number == level })
	})
	for _, p := range es[0].Pages {
		if p.Failed {
			gone = append(gone, account.Files(s.job.Stem(), p.Level.Number)...)
		}
	}
	slices.Sort(gone)
	for _, path := range slices.Compact(gone) {
		set.set.Remove(path)
	}
	if now.Kept, err = set.set.Keep(ours, account.ListName); err != nil {
		return nil, nil, err
	}
	summary, err = unlessEnded(ctx, func() ([]byte, error) {
		data, err := account.Summary(s.job.Stem(), es[0].Pages, s.song.Problems, &now)
		return append(data, '\n'), err
	})
	if err != nil {
		return nil, nil, err
	}
	if err := set.Put(account.ListName, summary); err != nil {
		return nil, nil, err
	}
	return summary, now.Kept, set.Commit()
}

// levelOf is the level of a file of this job's ladder; 0 for its lead sheet, -1 for what
// is none of its files.
func (s *Session) levelOf(path string) int {
	rest, ok := strings.CutPrefix(path, s.job.Stem()+".")
	word, ext, two := strings.Cut(rest, ".")
	if !ok || !two || strings.Contains(ext, ".") {
		return -1
	}
	if word == "lead" {
		return 0
	}
	if n, err := strconv.Atoi(word); err == nil {
		return n
	}
	return -1
}

// madeFrom are the hashes of the job's parts.
func (s *Session) madeFrom() account.MadeFrom {
	options := s.job
	options.Sheet, options.Rights, options.Choices, options.Beside, options.Levels = File{}, File{}, File{}, nil, nil
	m := account.MadeFrom{Program: "gradatim " + Release, Options: options.Hash(),
		Sheet: Job{Sheet: File{Data: s.job.Sheet.Data}, Rights: File{Data: s.job.Rights.Data}, Tune: s.job.Tune}.Hash()}
	if !s.job.Choices.none() {
		m.Choices = Job{Choices: s.job.Choices, Beside: s.job.Beside}.Hash()
	}
	return m
}

func hashOf(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// Recording is a file that was recorded into a set.
type Recording struct {
	Path string
	Take Take
}

// PutRecordings adds NAME.recordings.json to a set, which lists the takes of a score that
// are in it, and puts all of it in place. As with PutLadder, nothing of anybody else's is
// lost.
func PutRecordings(set *Set, name string, s score.Score, takes []Recording) (kept []string, err error) {
	path := name + account.RecordingsEnd
	ours := []delivery.Listed{}
	data, err := os.ReadFile(filepath.Join(set.dir, path))
	if err == nil {
		if old, err := account.ReadRecordings(data); err == nil {
			ours = append(old.Files(), delivery.Listed{Path: path, Bytes: int64(len(data)), SHA256: hashOf(data)})
		}
	} else if !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	page, _, err := WriteScore(context.Background(), s)
	if err != nil {
		return nil, err
	}
	list := account.Recordings{Score: hashOf(page)}
	for _, f := range set.set.Files() {
		r := account.Recording{Listed: f}
		for _, t := range takes {
			if t.Path == f.Path {
				r.Take, r.What = t.Take.Name, t.Take.What
			}
		}
		list.Takes = append(list.Takes, r)
	}
	if kept, err = set.set.Keep(ours, path); err != nil {
		return nil, err
	}
	text, err := list.Encode()
	if err != nil {
		return nil, err
	}
	if err := set.Put(path, text); err != nil {
		return nil, err
	}
	return kept, set.Commit()
}
