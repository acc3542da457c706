package shelf

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
	"time"

	"gradatim/internal/incipit"
	"gradatim/leadsheet"
)

// clock ticks a second with each look.
func clock() func() time.Time {
	var mu sync.Mutex
	at := time.Date(2031, 5, 1, 10, 0, 0, 0, time.UTC)
	return func() time.Time {
		mu.Lock()
		defer mu.Unlock()
		at = at.Add(time.Second)
		return at
	}
}

// sheetOf invents a sheet with a melody of its own.
func sheetOf(n int) Sheet {
	text := fmt.Sprintf("X:1\nT:Tune %d\nK:C\nCDEF|\n", n)
	ivs := make([]int, 30)
	x := uint32(n + 1)
	for i := range ivs {
		x = x*1664525 + 1013904223 // Numerical Recipes, from memory
		ivs[i] = int(x>>24)%9 - 4
	}
	melody := incipit.Text(ivs)
	return Sheet{Name: fmt.Sprintf("tune-%d.abc", n), Data: []byte(text), Source: Source{Name: fmt.Sprintf("tune-%d.abc", n), Data: []byte(text)},
		Facts: Facts{Title: fmt.Sprintf("Tune %d", n), Others: []string{"Élan"}, Composer: "Ada Example", Key: []string{"C major", "D minor"}[n%2], Metre: "4/4", Feel: "straight", Kind: "hymn", Bars: n, Notes: 31,
			Incipit: incipit.Again(melody, melody, melody)}}
}

// made is an empty shelf on each engine in turn.
func made(t *testing.T, test func(*testing.T, *Shelf)) {
	for _, e := range []string{"embedded", "postgres"} {
		t.Run(e, func(t *testing.T) { test(t, empty(t, e)) })
	}
}

func empty(t *testing.T, engine string) *Shelf {
	t.Helper()
	s, err := Create(context.Background(), placeOn(t, engine), Config{Author: "Ada", Now: clock()})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

func add(t *testing.T, s *Shelf, numbers ...int) []string {
	t.Helper()
	var sheets []Sheet
	for _, n := range numbers {
		sheets = append(sheets, sheetOf(n))
	}
	as, err := s.Add(context.Background(), sheets...)
	if err != nil {
		t.Fatal(err)
	}
	var ids []string
	for _, a := range as {
		ids = append(ids, a.Tune)
	}
	return ids
}

// code is the first code of an error, "" where it is none.
func code(err error) string {
	var ps leadsheet.Problems
	if errors.As(err, &ps) && len(ps) > 0 {
		return string(ps[0].Says)
	}
	if err != nil {
		return err.Error()
	}
	return ""
}

func TestAdd(t *testing.T) {
	ctx := context.Background()
	made(t, func(t *testing.T, s *Shelf) {
		ids := add(t, s, 1, 2, 3)
		as, err := s.Add(ctx, sheetOf(2))
		if err != nil || !as[0].There || as[0].Tune != ids[1] {
			t.Errorf("the same sheet again: %+v, %v", as, err)
		}
		again := sheetOf(9)
		again.Facts.Incipit = sheetOf(3).Facts.Incipit
		again.OnlyNew = true
		if as, err = s.Add(ctx, again); err != nil || as[0].Tune != "" || as[0].Alike != ids[2] {
			t.Errorf("a tune that is another again: %+v, %v", as, err)
		}
		again.OnlyNew = false
		if as, err = s.Add(ctx, again); err != nil || as[0].Tune == "" || as[0].Alike != ids[2] {
			t.Errorf("a tune that is another again: %+v, %v", as, err)
		}
		got, err := s.SheetOf(ctx, ids[0])
		if err != nil || !bytes.Equal(got, sheetOf(1).Data) {
			t.Errorf("the sheet came back as %q, %v", got, err)
		}
		src, err := s.SourceOf(ctx, ids[0])
		if err != nil || !bytes.Equal(src.Data, sheetOf(1).Source.Data) || src.Name != "tune-1.abc" {
			t.Errorf("the source came back as %q, %v", src, err)
		}
		// The whole transaction, or nothing of it.
		if _, err := s.Add(ctx, sheetOf(20), Sheet{Name: "bad", Data: []byte("x"), Facts: Facts{Published: []Right{{Territory: World}, {Territory: World, Version: -1}}}}); err != nil {
			t.Fatal(err)
		}
		ended, cancel := context.WithCancel(ctx)
		cancel()
		if _, err := s.Add(ended, sheetOf(30)); !errors.Is(err, context.Canceled) {
			t.Errorf("a context that has ended: %v", err)
		}
		if n, err := s.Count(ctx, Query{}); err != nil || n != 6 {
			t.Errorf("%d tunes, %v", n, err)
		}
	})
}

func TestSearch(t *testing.T) {
	ctx := context.Background()
	made(t, func(t *testing.T, s *Shelf) {
		ids := add(t, s, 1, 2, 3, 4, 5, 6, 7, 8, 17)
		if _, err := s.SetRight(ctx, ids[2], Right{Territory: "DE", Status: leadsheet.Own}); err != nil {
			t.Fatal(err)
		}
		if _, err := s.SetRight(ctx, ids[3], Right{Territory: World, Status: leadsheet.PublicDomain}); err != nil {
			t.Fatal(err)
		}
		if _, err := s.SetRight(ctx, ids[3], Right{Territory: "FR", Status: leadsheet.Unknown}); err != nil {
			t.Fatal(err)
		}
		b := Build{ID: "b", Tune: ids[4], What: "scores", Pages: []Page{{Level: 3, Rating: 305, Techniques: []Technique{{"stride", []int{1, 2}}}}}}
		if _, err := s.Record(ctx, b, ""); err != nil {
			t.Fatal(err)
		}
		first := sheetOf(5).Facts.Incipit.First
		ivs := incipit.Parse(first)[:6]
		var typed []string
		for _, iv := range ivs {
			typed = append(typed, fmt.Sprintf("%+d", iv))
		}
		for query, want := range map[string]int{
			"":                                  9,
			"tune":                              9,
			"tune 1":                            2, // and 17
			"elan":                              9, // without its accent
			"ÉLAN":                              9,
			"nothing":                           0,
			"ada key:D":                         5,
			`key:"C major"`:                     4,
			"key:E":                             0,
			"bars:3-5":                          3,
			"bars:17":                           1,
			"bars:-2":                           2,
			"title:tune composer:ada metre:4/4": 9,
			"kind:jig":                          0,
			"rights:DE":                         2,
			"rights:FR":                         0,
			"rights:IT":                         1,
			"rights:IT status:unknown":          8,
			"status:\"public domain\"":          1,
			"technique:stride":                  1,
			"technique:stride level:3":          1,
			"technique:stride level:2":          0,
			"level:3 rating:30-31":              1,
			"technique:stride rating:31-":       0,
			"built:yes":                         1,
			"built:no":                          8,
			"warned:yes":                        0,
			"alike:no":                          9,
			"id:" + ids[0]:                      1,
			`incipit:"` + strings.Join(typed, " ") + `"`: 1,
			`o'tune " or 1=1 --`:                         0,
		} {
			q, err := ParseQuery(query)
			if err != nil {
				t.Errorf("%s: %v", query, err)
				continue
			}
			ts, err := s.Find(ctx, q)
			if err != nil || len(ts) != want {
				t.Errorf("%s: %d tunes, %v; %d are wanted", query, len(ts), err, want)
			}
			if n, err := s.Count(ctx, q); err != nil || n != want {
				t.Errorf("%s: %d are counted, %v; %d are wanted", query, n, err, want)
			}
		}
		for _, query := range []string{"x:y", "bars:a", "bars:9-3", "level:0", "rights:Nowhere", "incipit:x", "built:maybe", "id:x", "key:"} {
			if _, err := ParseQuery(query); code(err) != "shelf-query.field" && code(err) != "shelf-query.value" {
				t.Errorf("%s: %v", query, err)
			}
		}
		for name, want := range map[string]string{"Tune 17": "", ids[0][:6]: "", "Tune 99": "shelf-tune.none", "'": "shelf-tune.none"} {
			if _, err := s.Tune(ctx, name); code(err) != want {
				t.Errorf("%s: %v", name, err)
			}
		}
	})
}

// TestHistory: every state of the past can be had, undo and redo go through them, and
// what was undone and written over is still there.
func TestHistory(t *testing.T) {
	ctx := context.Background()
	made(t, func(t *testing.T, s *Shelf) {
		id := add(t, s, 1)[0]
		holds := func(want string) {
			t.Helper()
			if data, _, err := s.Current(ctx, id, ChoicesHistory); err != nil || string(data) != want {
				t.Errorf("%q holds, %v; %q is wanted", data, err, want)
			}
		}
		write := func(text string) {
			t.Helper()
			if _, err := s.Write(ctx, id, ChoicesHistory, []byte(text), "why "+text, -1); err != nil {
				t.Fatal(err)
			}
		}
		step := func(f func(context.Context, string, string) (int, error), want string) {
			t.Helper()
			if _, err := f(ctx, id, ChoicesHistory); code(err) != want {
				t.Errorf("%v; %q is wanted", err, want)
			}
		}
		holds("")
		step(s.Undo, "shelf-history.undo")
		write("a")
		write("b")
		write("b") // nothing new
		write("c")
		step(s.Undo, "")
		holds("b")
		step(s.Undo, "")
		holds("a")
		step(s.Redo, "")
		holds("b")
		write("d") // on top of b; c is past
		step(s.Redo, "shelf-history.redo")
		step(s.Undo, "")
		holds("b")
		step(s.Undo, "")
		holds("a")
		step(s.Undo, "")
		holds("")
		step(s.Undo, "shelf-history.undo")
		for range 3 {
			step(s.Redo, "")
		}
		holds("d")
		rs, err := s.History(ctx, id, ChoicesHistory)
		if err != nil || len(rs) != 13 || rs[0].Note != "why a" || rs[0].Author != "Ada" || !rs[0].At.Before(rs[1].At) {
			t.Errorf("%d entries, %v: %+v", len(rs), err, rs)
		}
		for version, want := range map[int]string{1: "a", 2: "b", 3: "c", 4: "b", 5: "a", 7: "d", 10: "", 13: "d"} {
			if data, err := s.At(ctx, id, ChoicesHistory, version); err != nil || string(data) != want {
				t.Errorf("after version %d %q held, %v; %q is wanted", version, data, err, want)
			}
		}
		if _, err := s.At(ctx, id, ChoicesHistory, 14); code(err) != "shelf-version" {
			t.Error(err)
		}
		if _, err := s.Write(ctx, id, ChoicesHistory, []byte("e"), "", 12); code(err) != "shelf-history.meanwhile" {
			t.Errorf("somebody else has written: %v", err)
		}
		if v, err := s.Write(ctx, id, ChoicesHistory, []byte("e"), "", 13); err != nil || v != 14 {
			t.Errorf("version %d, %v", v, err)
		}
	})
}

// TestWritersAtOnce: of writers that have all seen the same, one writes.
func TestWritersAtOnce(t *testing.T) {
	ctx := context.Background()
	made(t, func(t *testing.T, s *Shelf) {
		id := add(t, s, 1)[0]
		var wg sync.WaitGroup
		errs := make([]error, 8)
		for i := range errs {
			wg.Go(func() {
				_, errs[i] = s.Write(ctx, id, ChoicesHistory, fmt.Append(nil, "by ", i), "", 0)
			})
		}
		wg.Wait()
		won := 0
		for _, err := range errs {
			if err == nil {
				won++
			} else if code(err) != "shelf-history.meanwhile" {
				t.Error(err)
			}
		}
		if rs, err := s.History(ctx, id, ChoicesHistory); won != 1 || len(rs) != 1 || err != nil {
			t.Errorf("%d have written, %d entries, %v", won, len(rs), err)
		}
	})
}

// TestGate: what is published is published under rights that carry it, or not at all.
func TestGate(t *testing.T) {
	ctx := context.Background()
	made(t, func(t *testing.T, s *Shelf) {
		id := add(t, s, 1)[0]
		n := 0
		try := func(territory, want string) {
			t.Helper()
			n++
			b := Build{ID: fmt.Sprint("build ", n), Tune: id, What: "scores"}
			if _, err := s.Record(ctx, b, territory); code(err) != want {
				t.Errorf("%s: %v; %q is wanted", territory, err, want)
			}
			if _, found, err := s.Build(ctx, b.ID); err != nil || found != (want == "") {
				t.Errorf("%s: refused %q, and a build is there: %v, %v", territory, want, found, err)
			}
		}
		set := func(r Right) {
			t.Helper()
			if _, err := s.SetRight(ctx, id, r); err != nil {
				t.Fatal(err)
			}
		}
		try("", "")
		try("DE", "shelf-rights.unknown")
		set(Right{Territory: World, Status: leadsheet.PublicDomain})
		try("DE", "shelf-rights.basis")
		set(Right{Territory: World, Status: leadsheet.PublicDomain, Year: 1850})
		try("DE", "")
		set(Right{Territory: "DE", Status: leadsheet.Unknown})
		try("DE", "shelf-rights.unknown")
		try("FR", "")
		set(Right{Territory: "DE", Status: leadsheet.Licensed})
		try("DE", "shelf-rights.evidence")
		set(Right{Territory: "DE", Status: leadsheet.Licensed, Evidence: "a letter", Expires: "2031-04-30"})
		try("DE", "shelf-rights.expired")
		set(Right{Territory: "DE", Status: leadsheet.Licensed, Evidence: "a letter", Since: "2031-05-02"})
		try("DE", "shelf-rights.early")
		set(Right{Territory: "DE", Status: leadsheet.Licensed, Evidence: "a letter", Since: "2031-05-01", Expires: "2031-05-01"})
		try("DE", "")
		set(Right{Territory: "DE", Status: leadsheet.Unknown})
		ps, err := s.Publications(ctx, id)
		if err != nil || len(ps) != 3 || ps[2].Right.Evidence != "a letter" || ps[0].Right.Territory != World || ps[0].Territory != "DE" {
			t.Errorf("what was published stays, under the rights of then: %+v, %v", ps, err)
		}
		if rs, err := s.RightsHistory(ctx, id); err != nil || len(rs) != 8 {
			t.Errorf("%d rights were written down, %v", len(rs), err)
		}
		for _, bad := range []string{"", "de-DE", "ZZ", "EU", "DEU", "XX", "'"} {
			if _, err := s.SetRight(ctx, id, Right{Territory: bad, Status: leadsheet.Own}); code(err) != "shelf-territory" {
				t.Errorf("%q is a territory: %v", bad, err)
			}
		}
		if _, err := s.SetRight(ctx, id, Right{Territory: "DE", Expires: "tomorrow"}); code(err) != "shelf-date" {
			t.Error(err)
		}
	})
}

// TestLongFields: a title, makers and a dance longer than an index may have entries are kept whole
// and found.
func TestLongFields(t *testing.T) {
	ctx := context.Background()
	long := func(seed uint64) string { // that no database packs
		r := rand.New(rand.NewPCG(seed, seed))
		b := make([]rune, 20_000)
		for i := range b {
			b[i] = 'a' + rune(r.IntN(26))
			if i%9 == 0 {
				b[i] = 'é'
			}
		}
		return string(b)
	}
	made(t, func(t *testing.T, s *Shelf) {
		sh := sheetOf(1)
		sh.Facts.Title, sh.Facts.Composer, sh.Facts.Rhythm = long(1), long(2), long(3)
		as, err := s.Add(ctx, sh, sheetOf(2))
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range []Query{{Title: Fold(long(1))}, {Composer: Fold(long(2))}, {Title: Fold(long(1))[:100], Limit: 5}, {Rhythm: long(3)}} {
			if ts, err := s.Find(ctx, q); err != nil || len(ts) != 1 || ts[0].Title != long(1) || ts[0].Rhythm != long(3) {
				t.Errorf("%d tunes, %v", len(ts), err)
			}
		}
		if x, err := s.Tune(ctx, long(1)); err != nil || x.ID != as[0].Tune {
			t.Errorf("%s, %v", x.ID, err)
		}
	})
}
