package gradatim

import (
	"archive/zip"
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"gradatim/internal/abc"
	"gradatim/internal/harmonist"
	"gradatim/internal/harmony"
	"gradatim/internal/idiom"
	"gradatim/internal/incipit"
	"gradatim/internal/shelf"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Shelf is a catalogue of tunes: their sheets as they were handed in, what was understood
// of them, what may be done with them where, what a teacher has chosen, and what was made
// of them. Its methods are those of internal/shelf.Shelf, and what puts tunes there and
// makes something of them.
type Shelf struct {
	*shelf.Shelf
}

// What stands on a shelf: go doc gradatim/internal/shelf says more of each.
type (
	ShelfPlace   = shelf.Place
	ShelfConfig  = shelf.Config
	ShelfTune    = shelf.Tune
	ShelfQuery   = shelf.Query
	ShelfBuild   = shelf.Build
	ShelfHand    = shelf.Hand
	Revision     = shelf.Revision
	Right        = shelf.Right
	Publication  = shelf.Publication
	ShelfExport  = shelf.ExportOptions
	ShelfChecked = shelf.Checked
)

// What of a tune has a history, beside its texts (TextHistory), and World, the territory
// that holds where none of its own is written down.
const (
	SheetHistory   = shelf.SheetHistory
	ChoicesHistory = shelf.ChoicesHistory
	RightsHistory  = shelf.RightsHistory
	World          = shelf.World
)

// TextHistory is what the history of a text is called: of a lesson's words, of a letter.
func TextHistory(name string) string { return shelf.TextHistory(name) }

// ParseShelfPlace reads where a shelf stands: a folder, or a TOML file that names a
// PostgreSQL database and a place for files; where trusted, the address of a database
// itself, with files as the address of its files. An address may hold a password, so none
// is to be taken from a command line.
func ParseShelfPlace(text, files string, trusted bool) (ShelfPlace, error) {
	return shelf.ParsePlace(text, files, trusted)
}

// ParseShelfQuery reads how a person asks for tunes.
func ParseShelfQuery(text string) (ShelfQuery, error) { return shelf.ParseQuery(text) }

// ParseTerritory reads a territory: a country as ISO 3166-1 alpha-2, or World.
func ParseTerritory(text string) (string, error) { return shelf.ParseTerritory(text) }

// ParseStatus reads a status of rights.
func ParseStatus(text string) (leadsheet.Status, bool) {
	for _, s := range []leadsheet.Status{leadsheet.Unknown, leadsheet.PublicDomain, leadsheet.Own, leadsheet.Licensed} {
		if s.String() == text {
			return s, true
		}
	}
	return leadsheet.Unknown, false
}

// RightIn is what holds in a territory among the rights of a tune.
func RightIn(territory string, among []Right) Right { return shelf.RightIn(territory, among) }

// CreateShelf makes an empty shelf in a place that holds nothing.
func CreateShelf(ctx context.Context, at ShelfPlace, cfg ShelfConfig) (*Shelf, error) {
	s, err := shelf.Create(ctx, at, cfg)
	if err != nil {
		return nil, err
	}
	return &Shelf{s}, nil
}

// OpenShelf opens a shelf that is there.
func OpenShelf(ctx context.Context, at ShelfPlace, cfg ShelfConfig) (*Shelf, error) {
	s, err := shelf.Open(ctx, at, cfg)
	if err != nil {
		return nil, err
	}
	return &Shelf{s}, nil
}

// Taken tells what became of one tune that was handed in.
type Taken struct {
	Name  string // of its file, and of the tune in it where there are several
	Title string
	Tune  string // its id on the shelf; "": it was not put there
	There bool   // the same sheet was on the shelf
	Alike string // id of a tune on the shelf that it is again, in another key, metre or spelling
	// Problems are what was dropped or guessed, or why it was not put there.
	Problems leadsheet.Problems
}

// TakeOptions say what is put on a shelf. The zero value is everything.
type TakeOptions struct {
	NewOnly  bool        // a tune that is another again is left out
	Language string      // of what is told
	Each     func(Taken) // is called for each tune, in order; nil: nobody is
}

// together is how many tunes go on the shelf in one transaction.
const together = 200

// taker puts tunes on a shelf, many at a time.
type taker struct {
	shelf   *Shelf
	ctx     context.Context
	o       TakeOptions
	words   *words.Words
	kinds   []idiom.Idiom
	waiting []shelf.Sheet
	told    []Taken
	done    []Taken
}

// Take puts files on the shelf: sheets, books of many tunes, zip files of them and
// folders of all these, with the rights file beside a sheet. Files of other kinds in
// folders and zip files are passed over. A sheet that cannot be read is told and left
// out; the others go on. The error is that of the shelf, or that there is no such file.
func (s *Shelf) Take(ctx context.Context, names []string, o TakeOptions) ([]Taken, error) {
	w, err := words.In(o.Language)
	if err != nil {
		return nil, err
	}
	t := &taker{shelf: s, ctx: ctx, o: o, words: w, kinds: idiom.All()}
	for _, name := range names {
		if err := t.path(name); err != nil {
			return t.done, err
		}
	}
	return t.done, t.flush()
}

// musicFile tells whether a file of a folder may be a sheet.
func musicFile(name string) bool {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".abc", ".musicxml", ".xml", ".mxl":
		return true
	}
	return false
}

func (t *taker) path(name string) error {
	st, err := os.Stat(name)
	if err != nil {
		return t.words.Err(fileProblem(name, err))
	}
	if !st.IsDir() {
		return t.read(os.DirFS(filepath.Dir(name)), filepath.Base(name), name)
	}
	dir := os.DirFS(name)
	return fs.WalkDir(dir, ".", func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return t.words.Err(fileProblem(filepath.Join(name, p), err))
		}
		if d.IsDir() || !musicFile(p) && strings.ToLower(path.Ext(p)) != ".zip" {
			return nil
		}
		return t.read(dir, p, filepath.Join(name, filepath.FromSlash(p)))
	})
}

func fileProblem(name string, err error) error {
	var ps leadsheet.Problems
	if errors.Is(err, fs.ErrNotExist) {
		ps.Tell(leadsheet.Error, leadsheet.Pos{File: name}, "file-read.missing")
		return ps
	}
	var pe *fs.PathError
	if errors.As(err, &pe) {
		err = pe.Err
	}
	ps.Tell(leadsheet.Error, leadsheet.Pos{File: name}, "file-read", "Error", err.Error())
	return ps
}

// maxShelfFile bounds a file that is put on the shelf.
const maxShelfFile = 32 << 20

// read takes a file in; label is what it is called in messages.
func (t *taker) read(dir fs.FS, name, label string) error {
	if err := context.Cause(t.ctx); err != nil {
		return err
	}
	data, err := readSome(dir, name)
	if err != nil {
		return t.refuse(label, "", t.words.Err(fileProblem(label, err)))
	}
	if strings.ToLower(path.Ext(name)) == ".zip" {
		return t.zip(data, label)
	}
	rights, err := readSome(dir, strings.TrimSuffix(name, path.Ext(name))+".rights.toml")
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return t.refuse(label, "", t.words.Err(fileProblem(label, err)))
	}
	return t.file(dir, name, label, data, rights)
}

// readSome reads a file that is not too large.
func readSome(dir fs.FS, name string) ([]byte, error) {
	f, err := dir.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxShelfFile+1))
	if err == nil && len(data) > maxShelfFile {
		err = errors.New("too large")
	}
	return data, err
}

// zip takes in the sheets of a zip file.
func (t *taker) zip(data []byte, label string) error {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return t.refuse(label, "", t.words.Err(fileProblem(label, err)))
	}
	for _, f := range z.File {
		if !musicFile(f.Name) || !fs.ValidPath(f.Name) {
			continue
		}
		if err := t.read(z, f.Name, label+"/"+f.Name); err != nil {
			return err
		}
	}
	return nil
}

// file takes in the tunes of a file.
func (t *taker) file(dir fs.FS, name, label string, data, rights []byte) error {
	source := shelf.Source{Name: path.Base(name), Data: data, Digest: shelf.Hash(data)}
	if musical(data) || midi(data) {
		return t.sheet(shelf.Sheet{Name: source.Name, Data: data, Source: source, Rights: rights}, label)
	}
	xs, err := abc.Extracts(label, data)
	if err != nil {
		return t.refuse(label, "", t.words.Err(err))
	}
	stem, ext := strings.TrimSuffix(source.Name, path.Ext(source.Name)), path.Ext(source.Name)
	for i, x := range xs {
		if len(xs) == 1 {
			return t.sheet(shelf.Sheet{Name: source.Name, Data: x.Data, Source: source, Rights: rights}, label)
		}
		n := cmp.Or(x.Number, i+1)
		own := rights
		if data, err := readSome(dir, strings.TrimSuffix(name, ext)+fmt.Sprintf("-t%d", n)+".rights.toml"); err == nil {
			own = data
		}
		sheet := shelf.Sheet{Name: Stem(stem+ext, n) + ext, Data: x.Data, Source: source, Number: n, Rights: own}
		if err := t.sheet(sheet, fmt.Sprintf("%s (%d)", label, n)); err != nil {
			return err
		}
	}
	return nil
}

// refuse tells of a sheet that is not put on the shelf.
func (t *taker) refuse(name, title string, err error) error {
	var ps leadsheet.Problems
	if !errors.As(err, &ps) {
		return err
	}
	if err := t.flush(); err != nil { // in order
		return err
	}
	t.tell(Taken{Name: name, Title: title, Problems: t.words.Problems(ps)})
	return nil
}

func (t *taker) tell(x Taken) {
	t.done = append(t.done, x)
	if t.o.Each != nil {
		t.o.Each(x)
	}
}

// sheet takes in one tune.
func (t *taker) sheet(s shelf.Sheet, label string) error {
	song, ps, err := t.shelf.understand(&s, t.kinds, t.words)
	if err != nil {
		var told leadsheet.Problems
		if errors.As(err, &told) {
			err = filed(told, s.Name, label)
		}
		return t.refuse(label, song.Title, err)
	}
	ps = filed(ps, s.Name, label)
	s.OnlyNew = t.o.NewOnly
	t.waiting = append(t.waiting, s)
	t.told = append(t.told, Taken{Name: label, Title: song.Title, Problems: ps})
	if len(t.waiting) < together {
		return nil
	}
	return t.flush()
}

// filed names a file in problems as the reader does; on the shelf it has its name alone.
func filed(ps leadsheet.Problems, name, label string) leadsheet.Problems {
	ps = slices.Clone(ps)
	for i := range ps {
		if ps[i].Pos.File == name || ps[i].Pos.File == "" {
			ps[i].Pos.File = label
		}
	}
	return ps
}

// flush puts on the shelf what waits.
func (t *taker) flush() error {
	if len(t.waiting) == 0 {
		return nil
	}
	added, err := t.shelf.Add(t.ctx, t.waiting...)
	if err != nil {
		return err
	}
	told := t.told
	t.waiting, t.told = nil, nil
	for i, a := range added {
		told[i].Tune, told[i].There, told[i].Alike = a.Tune, a.There, a.Alike
		t.tell(told[i])
	}
	return nil
}

// wholeBars counts the bars of a tune as above the staff: a pick-up is none.
func wholeBars(song leadsheet.Song) int {
	n := len(song.Bars)
	if n > 1 && song.Bars[0].Pickup && song.Bars[0].Number == 0 {
		n--
	}
	return n
}

// understand reads a sheet and writes down what was understood of it. The problems are in
// words.
func (s *Shelf) understand(sh *shelf.Sheet, kinds []idiom.Idiom, w *words.Words) (leadsheet.Song, leadsheet.Problems, error) {
	song, err := read(sh.Name, sh.Data, 0)
	if err != nil {
		return song, nil, w.Err(err)
	}
	if sh.Rights != nil {
		if song, err = ReadRights(Stem(sh.Name, 0)+".rights.toml", sh.Rights, song); err != nil {
			return song, nil, w.Err(err)
		}
	}
	f := shelf.Facts{Title: song.Title, Others: song.Rights.OtherTitles, Composer: people(song.Rights.Composers), Lyricist: people(song.Rights.Lyricists), Rhythm: song.Rhythm,
		Key: song.Key.String(), Metre: song.Meter.String(), Feel: song.Feel.String(), Form: song.Form, Bars: wholeBars(song), Notes: len(song.Melody), Chords: len(song.Chords),
		Incipit: incipit.Of(song)}
	told := slices.Clone(song.Problems)
	played, an := song, harmony.Analyse(song)
	if !song.Harmonised() {
		if h, ok := harmonist.Of(song, harmonist.Options{Group: harmonist.GroupOf(idiom.Recognise(song, an, kinds).Idiom)}); ok {
			played = h.Song()
			an = harmony.Analyse(played)
		}
	}
	guess := idiom.Recognise(played, an, kinds)
	f.Kind, f.Sure = guess.Idiom.ID, guess.Sure
	quarters := usualTempo
	if song.Tempo.Set() {
		f.Tempo = song.Tempo.QuartersPerMinute()
		quarters = max(f.Tempo, 1)
	}
	f.Seconds = int(int64(song.End()) * 60 / int64(theory.Quarter) / int64(quarters))
	f.Published = publishedIn(song, &told)
	told = w.Problems(told)
	told.Sort()
	if f.Problems, err = json.Marshal(told); err != nil {
		return song, nil, err
	}
	if len(told) == 0 {
		f.Problems = json.RawMessage("[]")
	}
	sh.Facts = f
	return song, told, nil
}

// usualTempo is what a tune is taken to last at that states no tempo, in quarters a
// minute.
const usualTempo = 100

func people(ps []leadsheet.Person) string {
	var names []string
	for _, p := range ps {
		names = append(names, p.Name)
	}
	return strings.Join(names, ", ")
}

// publishedIn are the rights that a sheet and the file beside it state, by territory.
func publishedIn(song leadsheet.Song, told *leadsheet.Problems) []Right {
	r := song.Rights
	if r.Status == leadsheet.Unknown {
		return nil
	}
	base := Right{Status: r.Status, Basis: r.Licence, Year: r.Year, Evidence: cmp.Or(r.Reference, r.Source), Note: r.Note, Since: r.ReferenceDate}
	if r.Status != leadsheet.Licensed {
		base.Since = ""
	}
	for _, p := range r.Composers {
		base.Died = max(base.Died, p.Died)
	}
	if slices.ContainsFunc(r.Composers, func(p leadsheet.Person) bool { return p.Died == 0 }) {
		base.Died = 0
	}
	if len(r.Territories) == 0 {
		base.Territory = World
		return []Right{base}
	}
	var out []Right
	for _, name := range r.Territories {
		territory, err := ParseTerritory(name)
		if err != nil {
			told.Tell(leadsheet.Warning, leadsheet.Pos{File: cmp.Or(r.Filed, song.File)}, "shelf-territory", "Territory", leadsheet.Quoted(name))
			continue
		}
		base.Territory = territory
		if !slices.ContainsFunc(out, func(r Right) bool { return r.Territory == territory }) {
			out = append(out, base)
		}
	}
	return out
}

// ReplaceSheet puts another sheet in the place of a tune's; the one before stays in its
// history.
func (s *Shelf) ReplaceSheet(ctx context.Context, id string, f File, note string) (leadsheet.Problems, error) {
	w := words.Must(words.Default)
	rights, _, err := s.Current(ctx, id, RightsHistory)
	if err != nil {
		return nil, err
	}
	sh := shelf.Sheet{Name: path.Base(filepath.ToSlash(f.Name)), Data: f.Data, Rights: rights}
	_, ps, err := s.understand(&sh, idiom.All(), w)
	if err != nil {
		return nil, err
	}
	return ps, s.SetSheet(ctx, id, sh, note)
}

// CheckWriting tells whether something that is to be written about a tune can be read:
// choices against its sheet, a rights file. Texts are the writer's own.
func (s *Shelf) CheckWriting(ctx context.Context, id, what string, f File) error {
	switch what {
	case ChoicesHistory:
		job, err := s.JobOf(ctx, id)
		if err != nil {
			return err
		}
		job.Choices = f
		x, err := Open(ctx, job)
		if err != nil {
			return err
		}
		return x.Close()
	case RightsHistory:
		_, err := ReadRights(f.Name, f.Data, leadsheet.Song{})
		return err
	}
	return nil
}

// JobOf is the job of a tune as it stands on the shelf: its sheet, what was written of its
// rights and its choices. Every option else is left at what is done where nothing is said.
func (s *Shelf) JobOf(ctx context.Context, id string) (Job, error) {
	t, err := s.Tune(ctx, id)
	if err != nil {
		return Job{}, err
	}
	job := Job{Sheet: File{Name: t.Name}}
	for _, x := range []struct {
		what, name string
		to         *File
	}{{SheetHistory, t.Name, &job.Sheet}, {ChoicesHistory, Stem(t.Name, 0) + "-choices.toml", &job.Choices}, {RightsHistory, Stem(t.Name, 0) + ".rights.toml", &job.Rights}} {
		data, version, err := s.Current(ctx, t.ID, x.what)
		if err != nil {
			return Job{}, err
		}
		if version > 0 {
			*x.to = File{Name: x.name, Data: data}
		}
	}
	return job, nil
}
