package roadmap_test

import (
	"fmt"
	"strings"
	"testing"

	"gradatim/internal/roadmap"
	"gradatim/leadsheet"
)

// page builds Signs from a small drawing, one word a bar: "|:" opens, ":|"
// closes ("::|" three passes), "[1" "[1,3" begins an ending, "]" ends it, "!" is
// a break, and "S" "O" "o" "F" "DC" "DS" are segno, coda, to coda, fine and the
// jumps.
func page(drawing string) []roadmap.Signs {
	var out []roadmap.Signs
	var ending leadsheet.Passes
	for _, w := range strings.Fields(drawing) {
		var b roadmap.Signs
		if strings.Contains(w, "|:") {
			b.Start = true
			ending = 0
		}
		b.Break = strings.Contains(w, "!")
		if _, list, ok := strings.Cut(w, "["); ok {
			ending = 0
			b.EndingOpens = true
			for _, r := range list {
				if r >= '0' && r <= '9' {
					ending |= leadsheet.PassesOf(int(r - '0'))
				}
			}
		}
		b.Ending = ending
		if i := strings.Index(w, ":|"); i >= 0 {
			b.Times = 1 + strings.Count(w[:i+1], ":") - strings.Count(w[:i], "|:")
			ending = 0
		}
		if strings.Contains(w, "]") {
			ending = 0
		}
		b.Segno, b.Coda = strings.Contains(w, "S") && !strings.Contains(w, "DS"), strings.Contains(w, "O")
		b.ToCoda, b.Fine = strings.Contains(w, "o"), strings.Contains(w, "F")
		b.DaCapo, b.DalSegno = strings.Contains(w, "DC"), strings.Contains(w, "DS")
		out = append(out, b)
	}
	return out
}

// The order in which repeats, endings and jumps are played; after a jump no repeat is
// played again: common practice, no source. Repeats are compared with LilyPond in
// package musicxml.
func TestRoute(t *testing.T) {
	for _, tt := range []struct{ name, drawing, order, codes string }{
		{"straight on", "a b c", "0 1 2", ""},
		{"repeat without an opening sign", "a b:| c", "0 1 0 1 2", ""},
		{"two repeats, the second open", "a:| b:|", "0 0 1 1", ""},
		{"opening sign after music", "a |:b c:|", "0 1 2 1 2", ""},
		{"a break bounds the open repeat", "a !b c:|", "0 1 2 1 2", ""},
		{"three passes", "|:a b::|", "0 1 0 1 0 1", ""},
		{"endings", "|:a [1b:| [2c] d", "0 1 0 2 3", ""},
		{"third ending", "|:a [1b:| [2c:| [3d] e", "0 1 0 2 0 3 4", ""},
		{"lists of endings", "|:a [1,3b:| [2,4c:| d", "0 1 0 2 0 1 0 2 3", ""},
		{"long endings", "|:a [1b c:| [2d e] f", "0 1 2 0 3 4 5", ""},
		{"first ending only", "|:a [1b:| c", "0 1 0 2", ""},
		{"endings without closing signs", "|:a [1b [2c] d", "0 1 0 2 3", "repeat-end-missing"},
		{"second ending closed too", "|:a [1b:| [2c:| d", "0 1 0 2 3", ""},
		{"new endings", "|:a [1b:| [2c] d [1e:| [2f]", "0 1 0 2 3 4 3 5", ""},
		{"da capo al fine", "a bF cDC", "0 1 2 0 1", ""},
		{"da capo skips repeats", "|:a:| bF |:c:| dDC", "0 0 1 2 2 3 0 1", ""},
		{"da capo takes last endings", "|:a [1b:| [2cF] dDC", "0 1 0 2 3 0 2", ""},
		{"dal segno al coda", "a Sb co dDS Oe", "0 1 2 3 1 2 4", ""},
		{"dal segno without a sign", "a bDS", "0 1 0 1", "segno-missing"},
		{"coda nowhere", "a bo cDC", "0 1 2 0 1 2", "coda-missing"},
		{"ending never reached", "|:a [1b:| [2c:| [7d]", "0 1 0 2 0 0 0 0 0 3", ""},
		{"bars after a jump", "aF bDC c", "0 1 0", "bars-unplayed"},
		{"jump in the first ending", "|:a:| Sb [1cDS] [2dF]", "0 0 1 2 1 3", ""},
		{"fine in the first ending", "|:a [1bF:| [2c] dDC", "0 1 0 2 3 0 1", ""},
		{"nearest sign", "Sa b Sc dDS", "0 1 2 3 2 3", ""},
		{"repeat in the coda", "a bo cDC |:Od:| e", "0 1 2 0 1 3 3 4", ""},
		{"nothing", "", "", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			visits, problems := roadmap.Route(page(tt.drawing))
			var order, codes []string
			for _, v := range visits {
				order = append(order, fmt.Sprint(v.Bar))
			}
			for _, p := range problems {
				codes = append(codes, p.Says.Code())
			}
			if got := strings.Join(order, " "); got != tt.order {
				t.Errorf("%s\n got %s\nwant %s", tt.drawing, got, tt.order)
			}
			if got := strings.Join(codes, " "); got != tt.codes {
				t.Errorf("%s: problems %q, want %q", tt.drawing, got, tt.codes)
			}
		})
	}
}

func TestRouteRefusesEndlessRepeats(t *testing.T) {
	bars := make([]roadmap.Signs, roadmap.MaxPlayedBars/2+1)
	bars[len(bars)-1].Times = roadmap.MaxPasses
	visits, problems := roadmap.Route(bars)
	if len(visits) != 0 || len(problems) != 1 || problems[0].Says.Code() != "too-long" || problems[0].Severity != leadsheet.Error {
		t.Errorf("%d visits, problems %v", len(visits), problems)
	}
}
