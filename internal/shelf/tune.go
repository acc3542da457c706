package shelf

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"strings"
	"time"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"gradatim/internal/incipit"
	"gradatim/leadsheet"
)

// Facts are what was understood of a sheet.
type Facts struct {
	Title     string
	Others    []string // titles that it goes by as well
	Composer  string   // all of them, as they are printed
	Lyricist  string
	Rhythm    string // the dance or style that the sheet names
	Key       string // "F major"
	Metre     string // "3/4"
	Feel      string // "unstated", "straight", "swing"
	Kind      string // id of the kind of tune
	Sure      bool   // of it
	Form      string // "AABA"
	Tempo     int    // quarter notes a minute; 0: the sheet states none
	Bars      int    // in playing order
	Notes     int
	Chords    int
	Seconds   int // at its tempo, or at the usual one
	Incipit   incipit.Incipit
	Problems  json.RawMessage // what was dropped or guessed, a list
	Published []Right         // what a rights file beside the sheet says
}

// Tune is a tune on the shelf.
type Tune struct {
	ID     string // a name for good: sixteen hexadecimal digits
	Source string // hash of the file that it came in
	Number int    // of the tune in that file, of several; 0: it is the only one
	Name   string // of the sheet, as a file
	Hash   string // of the sheet that is in force
	Added  time.Time
	Author string // who added it
	Alike  string // id of the tune that it is again, in another key, metre or spelling; "": none
	Facts

	seq int64
}

// Sheet is a tune to be added.
type Sheet struct {
	Name   string // as a file: "waltz.abc"
	Data   []byte // the sheet of this tune alone
	Source Source // what it came in
	Number int    // in the source, of several
	Rights []byte // a rights file beside it; nil: none
	Facts  Facts
	// OnlyNew leaves the sheet out where it is a tune again that is on the shelf.
	OnlyNew bool
}

// Source is a file as it was handed in.
type Source struct {
	Name string
	Data []byte
	// Digest is the hash of Data, where it is known: of a book it is asked for with each
	// tune.
	Digest string
}

func (s Source) hash() string {
	if s.Digest != "" {
		return s.Digest
	}
	return Hash(s.Data)
}

// Added tells what became of a sheet.
type Added struct {
	Tune  string // its id; "": it was left out
	There bool   // the same sheet was on the shelf, and nothing was added
	Alike string // id of the tune that it is again; "": none
}

// Hash is the SHA-256 of data in hexadecimal, by which files and sheets are known.
func Hash(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// Fold writes a text as it is searched and sorted: decomposed, without accents, in lower
// case, words of letters and digits apart by one blank.
func Fold(text string) string {
	var b strings.Builder
	gap := false
	for _, r := range norm.NFKD.String(text) {
		switch {
		case unicode.Is(unicode.Mn, r), r == '\'', r == '’':
		case unicode.IsLetter(r), unicode.IsDigit(r):
			if gap && b.Len() > 0 {
				b.WriteByte(' ')
			}
			gap = false
			b.WriteRune(unicode.ToLower(r))
		default:
			gap = true
		}
	}
	return b.String()
}

// sortedLetters is as much of a text as lists are sorted and looked up by: the entries of
// PostgreSQL's indexes have a third of a page at most (section 11.2 of its manual, from memory).
const sortedLetters = 120

// cut leaves of a text what lists are sorted and looked up by.
func cut(text string) string {
	n := 0
	for i := range text {
		if n == sortedLetters {
			return text[:i]
		}
		n++
	}
	return text
}

// Add puts sheets on the shelf, all in one transaction or, where there is an error, none.
// A sheet that is there already, byte for byte, is told and left.
func (s *Shelf) Add(ctx context.Context, sheets ...Sheet) ([]Added, error) {
	// Files come before the rows that name them: a file too many hurts nobody.
	kept := map[string]bool{}
	for _, sh := range sheets {
		if h := sh.Source.hash(); !kept[h] {
			kept[h] = true
			if err := s.keep(ctx, h, sh.Source.Data); err != nil {
				return nil, err
			}
		}
	}
	out := make([]Added, len(sheets))
	err := s.within(ctx, func(t *tx) error {
		for i, sh := range sheets {
			var err error
			if out[i], err = t.add(ctx, sh); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

func (t *tx) add(ctx context.Context, sh Sheet) (Added, error) {
	hash, now := Hash(sh.Data), t.s.now()
	var id string
	found, err := t.row(ctx, "SELECT id FROM tune WHERE hash = ? ORDER BY seq LIMIT 1", []any{hash}, &id)
	if err != nil {
		return Added{}, err
	}
	if found {
		return Added{Tune: id, There: true}, nil
	}
	source := sh.Source.hash()
	tune := Tune{ID: hash[:16], Source: source, Number: sh.Number, Name: sh.Name, Hash: hash, Added: parseTime(now), Author: t.s.cfg.Author, Facts: sh.Facts}
	// A tune keeps its name when its sheet is changed, and the old sheet may come again.
	for salt := byte(0); ; salt++ {
		taken, err := t.row(ctx, "SELECT id FROM tune WHERE id = ?", []any{tune.ID}, &id)
		if err != nil {
			return Added{}, err
		}
		if !taken {
			break
		}
		tune.ID = Hash(append([]byte{salt}, sh.Data...))[:16]
	}
	if tune.Alike, err = t.alike(ctx, sh.Facts.Incipit, 0); err != nil {
		return Added{}, err
	}
	if sh.OnlyNew && tune.Alike != "" {
		return Added{Alike: tune.Alike}, nil
	}
	if _, err := t.exec(ctx, "INSERT INTO source (hash, name, bytes, added, author) VALUES (?, ?, ?, ?, ?) ON CONFLICT (hash) DO NOTHING",
		source, sh.Source.Name, len(sh.Source.Data), now, t.s.cfg.Author); err != nil {
		return Added{}, err
	}
	if err := t.insert(ctx, &tune); err != nil {
		return Added{}, err
	}
	if _, err := t.revise(ctx, tune.seq, "sheet", sh.Data, "", now); err != nil {
		return Added{}, err
	}
	if sh.Rights != nil {
		if _, err := t.revise(ctx, tune.seq, "rights", sh.Rights, "", now); err != nil {
			return Added{}, err
		}
	}
	for _, r := range sh.Facts.Published {
		if _, err := t.setRight(ctx, tune.seq, r, now); err != nil {
			return Added{}, err
		}
	}
	return Added{Tune: tune.ID, Alike: tune.Alike}, nil
}

// facts are the columns of tune that follow from the sheet.
const facts = "name, hash, title, sorted, others, composer, composers, lyricist, rhythm, key, metre, feel, kind, sure, form, tempo, bars, notes, chords, seconds, incipit, downbeat, melody, alike, problems"

func (t *Tune) facts() []any {
	f := t.Facts
	problems := string(f.Problems)
	if problems == "" {
		problems = "[]"
	}
	return []any{t.Name, t.Hash, f.Title, cut(Fold(f.Title)), strings.Join(f.Others, "\n"), f.Composer, cut(Fold(f.Composer)), f.Lyricist, f.Rhythm, f.Key, f.Metre, f.Feel, f.Kind, number(f.Sure), f.Form,
		f.Tempo, f.Bars, f.Notes, f.Chords, f.Seconds, f.Incipit.First, f.Incipit.Downbeat, f.Incipit.Melody, t.Alike, problems}
}

func number(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

// words are those that a tune is found by.
func (t *Tune) words() string {
	return Fold(strings.Join(append([]string{t.Title, t.Composer, t.Lyricist, t.Rhythm}, t.Others...), " "))
}

func marksOf(n int) string { return strings.TrimSuffix(strings.Repeat("?, ", n), ", ") }

func (t *tx) insert(ctx context.Context, tune *Tune) error {
	args := append([]any{tune.ID, tune.Source, tune.Number, tune.Added.UTC().Format(timeForm), tune.Author}, tune.facts()...)
	if _, err := t.row(ctx, "INSERT INTO tune (id, source, number, added, author, "+facts+") VALUES ("+marksOf(len(args))+") RETURNING seq", args, &tune.seq); err != nil {
		return err
	}
	return t.indexed(ctx, tune)
}

// indexed puts a tune where it is found by words and by its contour.
func (t *tx) indexed(ctx context.Context, tune *Tune) error {
	if err := t.s.engine.index(ctx, t, tune.seq, tune.words()); err != nil {
		return err
	}
	if len(tune.Incipit.Marks) == 0 {
		return nil
	}
	var args []any
	for _, m := range tune.Incipit.Marks {
		args = append(args, m, tune.seq)
	}
	_, err := t.exec(ctx, "INSERT INTO contour (mark, tune) VALUES (?, ?)"+strings.Repeat(", (?, ?)", len(args)/2-1)+" ON CONFLICT DO NOTHING", args...)
	return err
}

// mostAlike bounds how many tunes with a mark in common are compared note for note.
const mostAlike = 200

// alike finds the first tune on the shelf that has the same melody; not is none to be
// found.
func (t *tx) alike(ctx context.Context, in incipit.Incipit, not int64) (id string, err error) {
	if len(in.Marks) == 0 {
		return "", nil
	}
	args := []any{}
	for _, m := range in.Marks {
		args = append(args, m)
	}
	st, err := t.stmt(ctx, "SELECT seq, id, melody FROM tune WHERE seq IN (SELECT tune FROM contour WHERE mark IN ("+marksOf(len(args))+")) ORDER BY seq LIMIT 200")
	if err != nil {
		return "", err
	}
	rows, err := st.QueryContext(ctx, args...)
	if err != nil {
		return "", t.s.place.broken(err)
	}
	defer rows.Close()
	for n := 0; rows.Next() && n < mostAlike; n++ {
		var seq int64
		var other, melody string
		if err := rows.Scan(&seq, &other, &melody); err != nil {
			return "", t.s.place.broken(err)
		}
		if seq != not && incipit.Same(melody, in.Melody) {
			return other, nil
		}
	}
	return "", t.s.place.broken2(rows.Err())
}

const tuneColumns = "tune.seq, tune.id, tune.source, tune.number, tune.added, tune.author, tune.name, tune.hash, tune.title, tune.others, tune.composer, tune.lyricist, tune.rhythm, tune.key, tune.metre, tune.feel, tune.kind, tune.sure, tune.form, tune.tempo, tune.bars, tune.notes, tune.chords, tune.seconds, tune.incipit, tune.downbeat, tune.melody, tune.alike, tune.problems"

func scanTune(scan func(...any) error) (Tune, error) {
	var t Tune
	var added, problems, others string
	var sure int
	err := scan(&t.seq, &t.ID, &t.Source, &t.Number, &added, &t.Author, &t.Name, &t.Hash, &t.Title, &others, &t.Composer, &t.Lyricist, &t.Rhythm, &t.Key, &t.Metre, &t.Feel, &t.Kind, &sure,
		&t.Form, &t.Tempo, &t.Bars, &t.Notes, &t.Chords, &t.Seconds, &t.Incipit.First, &t.Incipit.Downbeat, &t.Incipit.Melody, &t.Alike, &problems)
	t.Added, t.Sure, t.Problems = parseTime(added), sure == 1, json.RawMessage(problems)
	if others != "" {
		t.Others = strings.Split(others, "\n")
	}
	return t, err
}

// Tune finds a tune by its id, by the beginning of one that no other has, or by its title.
func (s *Shelf) Tune(ctx context.Context, name string) (Tune, error) {
	var found []Tune
	scan := func(scan func(...any) error) error {
		t, err := scanTune(scan)
		found = append(found, t)
		return err
	}
	if hexadecimal(name) {
		if err := s.each(ctx, s.db, "SELECT "+tuneColumns+" FROM tune WHERE id >= ? AND id < ? ORDER BY id LIMIT 2", []any{name, name + "g"}, scan); err != nil {
			return Tune{}, err
		}
	}
	if len(found) == 0 {
		if err := s.each(ctx, s.db, "SELECT "+tuneColumns+" FROM tune WHERE sorted = ? ORDER BY id LIMIT 2", []any{cut(Fold(name))}, scan); err != nil {
			return Tune{}, err
		}
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return Tune{}, s.place.problem("shelf-tune.none", "Tune", leadsheet.Quoted(name))
	}
	return Tune{}, s.place.problem("shelf-tune.several", "Tune", leadsheet.Quoted(name), "First", found[0].ID, "Second", found[1].ID)
}

func hexadecimal(s string) bool {
	return s != "" && len(s) <= 16 && strings.Trim(s, "0123456789abcdef") == ""
}

// find is the row of a tune by its whole id, which nobody else changes before the end of
// the transaction.
func (t *tx) find(ctx context.Context, id string) (seq int64, err error) {
	found, err := t.row(ctx, "SELECT seq FROM tune WHERE id = ?"+t.s.engine.forUpdate(), []any{id}, &seq)
	if err == nil && !found {
		err = t.s.place.problem("shelf-tune.none", "Tune", leadsheet.Quoted(id))
	}
	return seq, err
}

// SetSheet puts another sheet in the place of a tune's, with what was understood of it;
// the ones before stay in the history.
func (s *Shelf) SetSheet(ctx context.Context, id string, sheet Sheet, note string) error {
	return s.within(ctx, func(t *tx) error {
		seq, err := t.find(ctx, id)
		if err != nil {
			return err
		}
		if _, err := t.revise(ctx, seq, "sheet", sheet.Data, note, s.now()); err != nil {
			return err
		}
		return t.understood(ctx, seq, sheet)
	})
}

// understood writes what a sheet says into the row of its tune.
func (t *tx) understood(ctx context.Context, seq int64, sheet Sheet) (err error) {
	tune := Tune{seq: seq, Name: sheet.Name, Hash: Hash(sheet.Data), Facts: sheet.Facts}
	if tune.Alike, err = t.alike(ctx, sheet.Facts.Incipit, seq); err != nil {
		return err
	}
	var set []string
	for c := range strings.SplitSeq(facts, ", ") {
		set = append(set, c+" = ?")
	}
	if _, err := t.exec(ctx, "UPDATE tune SET "+strings.Join(set, ", ")+" WHERE seq = ?", append(tune.facts(), seq)...); err != nil {
		return err
	}
	if _, err := t.exec(ctx, "DELETE FROM contour WHERE tune = ?", seq); err != nil {
		return err
	}
	return t.indexed(ctx, &tune)
}

// SheetOf is the sheet of a tune that is in force.
func (s *Shelf) SheetOf(ctx context.Context, id string) ([]byte, error) {
	data, _, err := s.Current(ctx, id, "sheet")
	return data, err
}

// SourceOf is the file that a tune came in, as it was handed in, with its name.
func (s *Shelf) SourceOf(ctx context.Context, id string) (Source, error) {
	var hash, name string
	found, err := s.one(ctx, "SELECT source.hash, source.name FROM tune JOIN source ON source.hash = tune.source WHERE tune.id = ?", []any{id}, &hash, &name)
	if err != nil {
		return Source{}, err
	}
	if !found {
		return Source{}, s.place.problem("shelf-tune.none", "Tune", leadsheet.Quoted(id))
	}
	data, err := s.File(ctx, hash)
	return Source{name, data, hash}, err
}

// broken2 is broken for an error that may be none.
func (p Place) broken2(err error) error {
	if err == nil || errors.Is(err, sql.ErrNoRows) {
		return nil
	}
	return p.broken(err)
}
