package arrange

import (
	"context"
	"os"
	"testing"

	"gradatim/internal/abc"
	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
)

func TestDbg(t *testing.T) {
	data, _ := os.ReadFile("../../../shared/tunes/original.abc")
	song, err := abc.Read(data, abc.Options{Tune: 1})
	if err != nil {
		t.Fatal(err)
	}
	an := harmony.Analyse(song)
	for _, n := range []int{4, 5} {
		pl, err := Prepare(context.Background(), song, an, Options{Level: ladder.Levels()[n-1]})
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range pl.p.cells[:12] {
			s := ""
			for _, o := range c.leftOffers {
				s += " " + o.by.ID + ":" + itoa(len(o.options)) + "/" + itoa(len(o.by.Left(c.Cell)))
				if len(o.options) > 0 {
					s += "@" + itoa(o.options[0].cost)
				}
			}
			t.Log(n, c.bar, c.Chord, "next", c.Next, c.left.ID, s)
		}
		pg, _ := pl.Page(context.Background(), nil)
		_ = pg
		for _, s := range pl.p.spots()[:20] {
			if s.Until > s.From {
				t.Log("spot", s.Note.Pitch, p2(pl.p, s), s.Until-s.From, s.Next.Pitch, s.Goal)
			}
		}
	}
}

func p2(p *piece, s spot) string { return p.song.PosAt(s.From).String() }

func itoa(n int) string {
	if n == 0 {
		return "0"
	}
	s := ""
	for ; n > 0; n /= 10 {
		s = string(rune('0'+n%10)) + s
	}
	return s
}
