package gradatim_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"

	"gradatim"
	"gradatim/internal/scoretest"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// TestGenerated takes sheets made at random the whole way: no page breaks a rule when it
// is read back from its bytes, every page can be printed, and what is refused is refused
// with a reason. 10,000 sheets under make soak, of which each 20th is printed.
func TestGenerated(t *testing.T) {
	const sheets = 10000
	step := sharedtest.Every(2000, 500)
	studio := new(gradatim.Studio)
	defer studio.Close()
	var mu sync.Mutex
	var pages, printed, refused, failed int
	next := make(chan int)
	var wg sync.WaitGroup
	for range 2 {
		wg.Go(func() {
			for i := range next {
				g := generated{t: t, studio: studio, name: fmt.Sprintf("seed %d", i), print: i/step%20 == 0}
				g.run(scoretest.Sheet(rand.New(rand.NewPCG(uint64(i), 17))))
				mu.Lock()
				pages, printed, refused, failed = pages+g.pages, printed+g.printed, refused+g.refused, failed+g.failed
				mu.Unlock()
			}
		})
	}
	n := 0
	put := func(i int) {
		next <- i
		n++
	}
	for i := 0; i < sheets; i += step {
		put(i)
	}
	for _, i := range []int{68, 3462, 4704, 5278, 6627, 6791} { // broke a rule once when they were read back, or found no way or no fingers
		if i%step != 0 {
			put(i)
		}
	}
	close(next)
	wg.Wait()
	t.Logf("%d sheets, %d refused; %d pages, %d levels failed with a reason, %d printed", n, refused, pages, failed, printed)
	if refused > 0 {
		t.Errorf("%d of %d sheets refused", refused, n)
	}
	if failed*1000 > pages { // tunes at random have places where nothing fits
		t.Errorf("%d of %d levels not handed out", failed, pages+failed)
	}
}

type generated struct {
	t                               *testing.T
	studio                          *gradatim.Studio
	name                            string
	print                           bool
	pages, printed, refused, failed int
}

func (g *generated) run(sheet []byte) {
	ctx := g.t.Context()
	s, err := g.studio.Open(ctx, gradatim.Job{Sheet: gradatim.File{Name: "sheet.abc", Data: sheet}})
	if err != nil {
		g.reason(err, sheet)
		g.refused++
		return
	}
	defer s.Close()
	made, err := s.Ladder(ctx)
	if err != nil {
		g.reason(err, sheet)
		g.refused++
		return
	}
	song := s.Song()
	for k, p := range made {
		if p.Failed {
			g.t.Logf("%s, level %d: %v", g.name, p.Level.Number, p.Problems)
			g.reason(p.Problems, sheet)
			g.failed++
			continue
		}
		xml, err := s.MusicXML(ctx, p.Level.Number)
		if err != nil {
			g.t.Errorf("%s, level %d: %v", g.name, p.Level.Number, err)
			continue
		}
		back, _, err := gradatim.ReadScore(g.name, xml)
		if err != nil {
			g.t.Errorf("%s, level %d: %v", g.name, p.Level.Number, err)
			continue
		}
		g.pages++
		o := gradatim.AuditOptions{Song: &song}
		if k == 0 { // the beginner's rhythm may be easier
			o.Moves = theory.Sixteenth
		}
		found, err := gradatim.Audit(ctx, back, o)
		if err != nil {
			g.t.Errorf("%s, level %d: %v", g.name, p.Level.Number, err)
		}
		for _, v := range found {
			g.t.Errorf("%s, level %d, read back: %v", g.name, p.Level.Number, v)
		}
		if what := differs(p.Printed, back); what != "" {
			g.t.Errorf("%s, level %d, read back: %s", g.name, p.Level.Number, what)
		}
		if !g.print {
			continue
		}
		if pdf, err := s.PDF(ctx, p.Level.Number); err != nil || len(pdf) == 0 {
			g.t.Errorf("%s, level %d: not printed: %v", g.name, p.Level.Number, err)
		}
		g.printed++
	}
}

// reason asks that a refusal is one that a reader can act upon.
func (g *generated) reason(err error, sheet []byte) {
	var ps leadsheet.Problems
	if !errors.As(err, &ps) || ps.Err() == nil {
		g.t.Errorf("%s refused without a placed error: %v\n%s", g.name, err, sheet)
		return
	}
	for _, p := range ps {
		if p.Code == "" || p.Text == "" {
			g.t.Errorf("%s: a problem without a code or a text: %#v", g.name, p)
		}
	}
}
