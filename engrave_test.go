package gradatim_test

import (
	"bytes"
	"errors"
	"testing"

	"gradatim"
	"gradatim/assets"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/score"
)

// TestSomeFingers holds that the fingers that a teacher would write in are the same ones
// wherever a page is printed: from the ladder, from the score with every finger, from
// its file, and once more from what shows them only.
func TestSomeFingers(t *testing.T) {
	if testing.Short() {
		t.Skip("engraves pages")
	}
	s := open(t, gradatim.Job{Sheet: example(t, "lantern.abc")})
	var st gradatim.Studio
	defer st.Close()
	printed := func(e *gradatim.Engraving, err error) []byte {
		t.Helper()
		var missing *assets.MissingError
		if errors.As(err, &missing) {
			sharedtest.Absent(t, err.Error())
		}
		if err != nil {
			t.Fatal(err)
		}
		return e.SVG(0)
	}
	shown := map[int]int{}
	for _, p := range pages(t, s) {
		want := printed(st.Engrave(t.Context(), p.Printed, gradatim.Layout{Fingers: gradatim.AllFingers}))
		if got := printed(st.Engrave(t.Context(), p.Score, gradatim.Layout{})); !bytes.Equal(got, want) {
			t.Errorf("level %d: other fingers from the score", p.Level.Number)
		}
		xml, _, err := gradatim.WriteScore(t.Context(), p.Score)
		if err != nil {
			t.Fatal(err)
		}
		if got := printed(st.EngraveFile(t.Context(), gradatim.File{Data: xml}, gradatim.Layout{})); !bytes.Equal(got, want) {
			t.Errorf("level %d: other fingers from the file", p.Level.Number)
		}
		if got := printed(st.Engrave(t.Context(), p.Printed, gradatim.Layout{})); !bytes.Equal(got, want) {
			t.Errorf("level %d: other fingers from the page that shows them", p.Level.Number)
		}
		none := printed(st.Engrave(t.Context(), p.Score, gradatim.Layout{Fingers: gradatim.NoFingers}))
		if bytes.Equal(none, want) {
			t.Errorf("level %d shows no finger", p.Level.Number)
		}
		for _, n := range p.Printed.Notes {
			if n.Finger != 0 {
				shown[p.Level.Number]++
			}
		}
	}
	t.Log("fingers shown, by level:", shown)
}

// What cannot be printed is told as a Problem, never a panic.
func TestEngraveRefuses(t *testing.T) {
	var st gradatim.Studio
	defer st.Close()
	for name, call := range map[string]func() error{
		"no such bars": func() error {
			_, err := st.Engrave(t.Context(), stretch(), gradatim.Layout{From: 7, To: 8})
			return err
		},
		"no score": func() error {
			_, err := st.Engrave(t.Context(), score.Score{}, gradatim.Layout{From: 1, To: 1})
			return err
		},
		"no file": func() error {
			_, err := st.EngraveFile(t.Context(), gradatim.File{Name: "none"}, gradatim.Layout{From: 1, To: 1})
			return err
		},
	} {
		var ps leadsheet.Problems
		if err := call(); !errors.As(err, &ps) || ps.Err() == nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestContinued: bars from the middle print no metre, tempo and loudness that hold from
// before; the first ones print them.
func TestContinued(t *testing.T) {
	s := open(t, gradatim.Job{Sheet: example(t, "ferry.abc"), Levels: []int{2}})
	p := pages(t, s)[0]
	var st gradatim.Studio
	defer st.Close()
	for _, c := range []struct {
		bar       int
		continued bool
		want      bool
	}{{3, false, true}, {3, true, false}, {1, true, true}} {
		e, err := st.Engrave(t.Context(), p.Score, gradatim.Layout{From: c.bar, To: c.bar, OneSystem: true, Continued: c.continued})
		var missing *assets.MissingError
		if errors.As(err, &missing) {
			sharedtest.Absent(t, err.Error())
		}
		if err != nil {
			t.Fatal(err)
		}
		svg := e.SVG(0)
		for _, class := range []string{"meterSig", "tempo", "dynam"} {
			if got := bytes.Contains(svg, []byte(`<g class="`+class)); got != c.want {
				t.Errorf("bar %d, continued %v: %s is printed: %v", c.bar, c.continued, class, got)
			}
		}
		if !bytes.Contains(svg, []byte(`class="note"`)) {
			t.Errorf("bar %d has no note", c.bar)
		}
	}
}
