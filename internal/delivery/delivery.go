// Package delivery puts files that were made aside in their places as one: all of them
// or none, also where the program or the machine is stopped in the middle.
//
// Problem: several files, or a folder and the zip file of it, are one thing to who reads
// them, and no system call renames more than one. Method: a redo journal. Everything new
// is written into a working folder beside the places and brought to the disk; then a
// journal that says what goes where; only then is anything renamed. Whoever delivers
// into the same folder next finds the journal of one that was stopped and does the rest
// of it; a working folder without a journal changed nothing and goes. What is replaced is
// kept in the working folder until all is in place, so that an error, other than a stop,
// undoes what was done. A lock on the working folder tells one that somebody still works
// on from one that was left.
//
// Between two renames a reader can see new beside old; a list with hashes that is placed
// last (as manifest.json and ladder.json are) shows it. The alternative, a folder per set
// and a link to the one in force, shows no mixture, but puts folders of ours where a
// teacher looks for her pages.
package delivery

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"

	"github.com/gofrs/flock"
)

const (
	prefix  = ".gradatim-" // of working folders; digits follow
	newDir  = "new"        // what is to be placed
	oldDir  = "old"        // what it replaces, by number of the step
	journal = "journal.json"
	lock    = "lock"
	version = 1
)

// Delivery is a set of files on the way to its places.
type Delivery struct {
	parent string // folder of the places
	work   string // working folder in it; "": there is none any more
	lock   *flock.Flock
	steps  []step
	// seam, where a test has set it, is called before each change of the file system.
	seam func(op string)
}

// step puts one thing in its place.
type step struct {
	From string `json:"from,omitempty"` // in the working folder; "": the place is emptied
	To   string `json:"to"`             // below the parent
}

type journalFile struct {
	Version int    `json:"version"`
	Steps   []step `json:"steps"`
}

// Begin begins a delivery into a folder, which is made if need be. What a stopped one
// left there is put right first. Discard the delivery when done with it.
func Begin(parent string) (*Delivery, error) { return begin(parent, nil) }

func begin(parent string, seam func(string)) (*Delivery, error) {
	d := &Delivery{parent: parent, seam: seam}
	d.at("make " + parent)
	if err := os.MkdirAll(parent, 0o755); err != nil {
		return nil, err
	}
	if err := d.settle(); err != nil {
		return nil, err
	}
	// Between making a folder and locking it somebody may take it for one that was left
	// and clear it away: then another is made.
	for range 100 {
		d.at("make a working folder")
		work, err := os.MkdirTemp(parent, prefix+"*")
		if err != nil {
			return nil, err
		}
		d.at("lock")
		held, err := hold(work)
		if err != nil {
			return nil, errors.Join(err, os.RemoveAll(work))
		}
		if held == nil {
			continue
		}
		d.work, d.lock = work, held
		for _, sub := range []string{newDir, oldDir} {
			d.at("make " + sub)
			if err := os.Mkdir(filepath.Join(work, sub), 0o755); err != nil {
				return nil, errors.Join(err, d.Discard())
			}
		}
		return d, nil
	}
	return nil, fmt.Errorf("no working folder could be kept in %s", parent)
}

// hold locks a working folder; nil where another has it, or has just removed it.
func hold(work string) (*flock.Flock, error) {
	l := flock.New(filepath.Join(work, lock))
	got, err := l.TryLock()
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, nil
	case err != nil:
		return nil, err
	case !got:
		return nil, nil
	}
	// The lock may be on a file that is gone.
	mine, err := l.Stat()
	if err == nil {
		var there fs.FileInfo
		if there, err = os.Stat(filepath.Join(work, lock)); err == nil && os.SameFile(mine, there) {
			return l, nil
		}
	}
	return nil, l.Close()
}

// Settle puts right what stopped deliveries into a folder have left: those that had
// begun to place are finished, of others nothing stays.
func Settle(parent string) error { return (&Delivery{parent: parent}).settle() }

func (d *Delivery) settle() error {
	left, err := filepath.Glob(filepath.Join(quoted(d.parent), prefix+"[0-9]*"))
	if err != nil {
		return err
	}
	var errs []error
	for _, work := range left {
		if st, err := os.Lstat(work); err != nil || !st.IsDir() {
			continue
		}
		d.at("lock what was left")
		held, err := hold(work)
		if err != nil || held == nil {
			errs = append(errs, err)
			continue
		}
		it := &Delivery{parent: d.parent, work: work, lock: held, seam: d.seam}
		errs = append(errs, it.resume())
	}
	return errors.Join(errs...)
}

// quoted escapes what Glob would take for a pattern.
func quoted(path string) string {
	var out []rune
	for _, r := range path {
		if r == '*' || r == '?' || r == '[' || (r == '\\' && filepath.Separator != '\\') {
			out = append(out, '[', r, ']')
			continue
		}
		out = append(out, r)
	}
	return string(out)
}

// resume does what a stopped delivery had yet to do, and clears it away.
func (d *Delivery) resume() error {
	text, err := os.ReadFile(filepath.Join(d.work, journal))
	if errors.Is(err, fs.ErrNotExist) {
		return d.Discard()
	}
	var j journalFile
	if err == nil {
		err = json.Unmarshal(text, &j)
	}
	if err == nil && j.Version != version {
		err = fmt.Errorf("version %d is not known", j.Version)
	}
	for _, s := range j.Steps {
		if !filepath.IsLocal(s.To) || (s.From != "" && !filepath.IsLocal(s.From)) {
			err = fmt.Errorf("%q leads elsewhere", s.To)
		}
	}
	if err != nil { // by a newer version, or not ours: it is left
		return errors.Join(fmt.Errorf("%s: %w", filepath.Join(d.work, journal), err), d.lock.Close())
	}
	for i, s := range j.Steps {
		if err := d.place(i, s); err != nil {
			return errors.Join(err, d.lock.Close())
		}
	}
	return d.finish()
}

// at is before a change of the file system.
func (d *Delivery) at(op string) {
	if d.seam != nil {
		d.seam(op)
	}
}

// Path is where a file of the new set is to be written, with the folders that it needs.
func (d *Delivery) Path(name string) (string, error) {
	to := filepath.Join(d.work, newDir, filepath.FromSlash(name))
	d.at("make folders for " + name)
	return to, os.MkdirAll(filepath.Dir(to), 0o755)
}

// Write writes a file of the new set.
func (d *Delivery) Write(name string, data []byte) error {
	to, err := d.Path(name)
	if err != nil {
		return err
	}
	d.at("write " + name)
	return os.WriteFile(to, data, 0o644)
}

// Place plans that what was written aside as a name goes to a place below the parent. A
// file or a folder that is there gives way. Things are placed in the order of the calls.
func (d *Delivery) Place(name, to string) { d.steps = append(d.steps, step{name, to}) }

// Remove plans that nothing be in a place any more.
func (d *Delivery) Remove(to string) { d.steps = append(d.steps, step{"", to}) }

// Commit puts everything in its place. After an error all is as it was before.
func (d *Delivery) Commit() error {
	if err := d.settleDisk(filepath.Join(d.work, newDir)); err != nil {
		return err
	}
	text, err := json.Marshal(journalFile{version, d.steps})
	if err != nil {
		return err
	}
	draft, final := filepath.Join(d.work, journal+".new"), filepath.Join(d.work, journal)
	d.at("write the journal")
	if err := os.WriteFile(draft, text, 0o644); err != nil {
		return err
	}
	if err := syncFile(draft); err != nil {
		return err
	}
	d.at("rename the journal")
	if err := os.Rename(draft, final); err != nil {
		return err
	}
	if err := errors.Join(syncFolder(d.work), syncFolder(d.parent)); err != nil {
		return err
	}
	for i, s := range d.steps {
		if err := d.place(i, s); err != nil {
			for k := i; k >= 0; k-- {
				err = errors.Join(err, d.undo(k, d.steps[k]))
			}
			return errors.Join(err, os.Remove(final))
		}
	}
	return d.finish()
}

// place does a step, or what is left to do of it.
func (d *Delivery) place(i int, s step) error {
	from, to, old := d.paths(i, s)
	if s.From != "" && !exists(from) {
		return nil // done before the stop
	}
	if was, err := os.Lstat(to); err == nil {
		switch gone, err := os.Lstat(old); {
		case err != nil:
			if err := d.setAside(was, to, old); err != nil {
				return err
			}
		case os.SameFile(was, gone): // linked before the stop
		case s.From == "":
			return nil // emptied before the stop, and somebody has put this there since
		default: // the same, where something is to come
			d.at("rename what came between")
			if err := os.Rename(to, KeptName(to, exists)); err != nil {
				return err
			}
		}
	} else if !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if s.From == "" {
		d.at("remove " + s.To)
		if err := os.Remove(to); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		return nil
	}
	d.at("make folders for " + s.To)
	if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
		return err
	}
	d.at("rename " + s.To)
	return os.Rename(from, to)
}

// setAside keeps what a step replaces: a second link where it can be, so that the place
// is never empty, else the thing itself.
func (d *Delivery) setAside(was fs.FileInfo, to, old string) error {
	if was.Mode().IsRegular() {
		d.at("link " + to)
		if os.Link(to, old) == nil {
			return nil
		}
	}
	d.at("set aside " + to)
	return os.Rename(to, old)
}

// undo takes a step back, as far as it was done.
func (d *Delivery) undo(i int, s step) error {
	from, to, old := d.paths(i, s)
	var errs []error
	if s.From != "" && !exists(from) {
		errs = append(errs, os.Rename(to, from))
	}
	if exists(old) {
		errs = append(errs, os.Rename(old, to))
	}
	return errors.Join(errs...)
}

func (d *Delivery) paths(i int, s step) (from, to, old string) {
	return filepath.Join(d.work, newDir, filepath.FromSlash(s.From)), filepath.Join(d.parent, filepath.FromSlash(s.To)), filepath.Join(d.work, oldDir, strconv.Itoa(i))
}

// finish clears the working folder away once all is in place. Without the journal what is
// left of it is nobody's.
func (d *Delivery) finish() error {
	if err := syncFolder(d.parent); err != nil {
		return err
	}
	d.at("remove the journal")
	if err := os.Remove(filepath.Join(d.work, journal)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return d.Discard()
}

// Discard gives the delivery up and leaves nothing of it. After Commit it does nothing.
func (d *Delivery) Discard() error {
	if d.work == "" {
		return nil
	}
	work := d.work
	d.work = ""
	d.at("clear the working folder")
	for _, sub := range []string{newDir, oldDir} { // the lock last
		if err := os.RemoveAll(filepath.Join(work, sub)); err != nil {
			return errors.Join(err, d.lock.Close())
		}
	}
	d.at("clear the lock")
	return errors.Join(d.lock.Close(), os.RemoveAll(work))
}

// KeptName finds a free name beside a file for what is not to be lost: "tune.3.kept.mid",
// then "tune.3.kept-2.mid".
func KeptName(path string, taken func(string) bool) string {
	ext := filepath.Ext(path)
	stem := path[:len(path)-len(ext)]
	name := stem + ".kept" + ext
	for n := 2; taken(name); n++ {
		name = fmt.Sprintf("%s.kept-%d%s", stem, n, ext)
	}
	return name
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// settleDisk brings a tree to the disk, files before their folders.
func (d *Delivery) settleDisk(root string) error {
	var folders []string
	err := filepath.WalkDir(root, func(p string, e fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case e.IsDir():
			folders = append(folders, p)
			return nil
		case e.Type().IsRegular():
			return syncFile(p)
		}
		return nil
	})
	for i := len(folders) - 1; i >= 0 && err == nil; i-- {
		err = syncFolder(folders[i])
	}
	return err
}

func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if errors.Is(err, fs.ErrPermission) { // of a file that was taken over: it is on the disk
		return nil
	}
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// syncFolder brings the names in a folder to the disk, on systems that can.
func syncFolder(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	_ = f.Sync() // not every system syncs a folder
	return f.Close()
}

// Copy writes a stream into a file of the new set.
func (d *Delivery) Copy(name string, write func(io.Writer) error) (err error) {
	to, err := d.Path(name)
	if err != nil {
		return err
	}
	d.at("write " + name)
	f, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	return errors.Join(write(f), f.Close())
}
