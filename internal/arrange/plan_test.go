package arrange

import (
	"context"
	"errors"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/choice"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/score"
)

// TestWithout takes choices back: the page is again what it was.
func TestWithout(t *testing.T) {
	r := rand.New(rand.NewPCG(51, 52))
	for range 4 {
		s, n := corpusSheet(t, r, 40), 1+r.IntN(5)
		pl := planned(t, s, n)
		before := paged(t, pl)
		bar := r.IntN(len(s.Bars))
		fs := figuresOf(t, pl, s.Bars[bar].At, score.Left)
		cs := []choice.Choice{
			{Level: n, At: s.Bars[bar].At, Until: s.Bars[bar].End(), Fix: fs[len(fs)-1].Figure},
			{Level: n, At: 0, Until: s.End(), Fix: choice.Avoid{Technique: fs[0].By}},
		}
		now := with(t, pl, cs...)
		if len(now.Choices()) != 2 || len(pl.Choices()) != 0 {
			t.Fatalf("%d and %d choices", len(now.Choices()), len(pl.Choices()))
		}
		paged(t, now)
		back, err := now.Without(context.Background(), func(choice.Choice) bool { return true })
		if err != nil {
			t.Fatal(err)
		}
		if a := paged(t, back); !reflect.DeepEqual(a.Score, before.Score) || !reflect.DeepEqual(a.Decisions, before.Decisions) {
			t.Errorf("%s, level %d: with the choices taken back the page is another", s.Title, n)
		}
	}
}

// TestLetGo lets the notes go that are fixed in a bar, and tells why; what is fixed in
// other bars and at other levels stays.
func TestLetGo(t *testing.T) {
	s := tune(t, fourFour, "F", "F C5:8 | Bb D5:8 | C C5:8 | F A4:8")
	figure := func(bar int, text string) choice.Choice {
		f, err := choice.ParseFigure(s.Bars[bar], score.Left, text)
		if err != nil {
			t.Fatal(err)
		}
		return choice.Choice{Level: 1, At: s.Bars[bar].At, Until: s.Bars[bar].End(), Fix: f}
	}
	cs := []choice.Choice{figure(1, "Bb2@1:1:bass"), figure(2, "C3@1:1:bass"), {Level: 1, At: s.Bars[1].At, Until: s.Bars[1].End(), Fix: choice.Avoid{Technique: "slide"}}}
	pl := planned(t, s, 1, cs...)
	if !pl.Fixes(1) || !pl.Fixes(2) || pl.Fixes(0) {
		t.Error("which bars have fixed notes is not known")
	}
	now, err := pl.LetGo(context.Background(), map[int]leadsheet.Problem{1: {Code: "reach"}})
	if err != nil {
		t.Fatal(err)
	}
	a := paged(t, now)
	if told := impossible(a); len(told) != 1 || !strings.Contains(told[0], "bar 2, beat 1") || !strings.Contains(told[0], "[reach]") {
		t.Errorf("%v", told)
	}
	if now.Fixes(1) || !now.Fixes(2) {
		t.Error("what was let go is still fixed, or the other is not")
	}
	free := barTexts(s, paged(t, planned(t, s, 1, cs[1:]...)).Score)
	if got := barTexts(s, a.Score); !slices.Equal(got, free) {
		t.Errorf("the page is\n%s, without the choice it would be\n%s", got[1], free[1])
	}
}

// TestAsksSeesEveryField holds that a cell which differs in anything that its figures may
// depend on does not take over those of another.
func TestAsksSeesEveryField(t *testing.T) {
	same := strings.Fields("Setting Low") // for all cells of a page
	typ := reflect.TypeFor[technique.Cell]()
	for i := range typ.NumField() {
		name := typ.Field(i).Name
		if slices.Contains(same, name) {
			continue
		}
		var a, b technique.Cell
		change(reflect.ValueOf(&b).Elem().Field(i))
		if reflect.DeepEqual(a, b) {
			t.Fatalf("%s was not changed", name)
		}
		if alike(&a, &b) {
			t.Errorf("cells that differ in %s are taken for alike", name)
		}
	}
}

// change gives a value another.
func change(v reflect.Value) {
	switch v.Kind() {
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		v.SetInt(1)
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		v.SetUint(1)
	case reflect.String:
		v.SetString("x")
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 1, 1))
	case reflect.Struct:
		change(v.Field(0))
	default:
		panic(v.Kind())
	}
}

// TestSearchEnds: a search whose context ends is made by the next who asks.
func TestSearchEnds(t *testing.T) {
	pl := planned(t, tune(t, fourFour, "F", thirtyTwo), 5)
	ctx, cancel := context.WithCancelCause(context.Background())
	ended := errors.New("ended")
	cancel(ended)
	if _, err := pl.p.base.get(ctx); !errors.Is(err, ended) {
		t.Fatal(err)
	}
	if _, err := pl.Figures(ctx, pl.p.cells[3].At, score.Left); !errors.Is(err, ended) {
		t.Fatal(err)
	}
	if _, err := pl.Page(ctx, nil); !errors.Is(err, ended) {
		t.Fatal(err)
	}
	l := searched(t, pl.p.full)
	if searched(t, pl.p.full) != l || len(l.rests) != len(l.cells) {
		t.Error("the search is not kept")
	}
	if now, err := pl.p.full.get(ctx); err != nil || now != l { // nothing is left to end
		t.Error(err)
	}
}
