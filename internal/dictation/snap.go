package dictation

import (
	"cmp"
	"math"
	"slices"

	"gradatim/score"
	"gradatim/theory"
)

// divisions are the parts that a quarter is divided into, with what it costs to think
// so: more than a mean deviation squared. Our own weights.
var divisions = [...]struct {
	parts int
	cost  float64
}{{1, 0}, {2, 0.6}, {4, 2}, {3, 3}, {6, 6}, {8, 6}, {12, 12}, {5, 11}, {7, 14}, {16, 14}}

// snap gives each note its written place and length.
//
// Problem: what a player would have read to play so. Objective: for each quarter the
// division that explains where its onsets fall (their squared distances from it, in
// deviations as this playing has them) at the least cost of the division; onsets that
// are apart stay apart. The deviation is measured on a first reading. Before that long
// and short eighths are evened where the playing swings. Lengths follow: to the grid
// where a note ends on it, else to the next onset of its hand where only a breath is
// missing. Linear in the notes. Source: the trade of quantisers, common practice; no
// source. Rejected: one grid for all, which makes triplets of late sixteenths or the
// other way round.
func (t *take) snap() {
	t.word = t.literal()
	if !t.word {
		t.gatherRolls()
	}
	places, of := t.moments()
	anchors := t.anchors()
	grace := make([]bool, len(places))
	if !t.word {
		grace = t.graceful(places, of)
	}
	dev := 0.03
	var at []theory.Dur
	for range 2 {
		t.swing = swingOf(places, dev)
		at, t.straight = place(places, grace, anchors, dev, t.swing)
		var off []float64
		for i, p := range places {
			off = append(off, math.Abs(t.even(p)-float64(at[i])/float64(theory.Quarter)))
		}
		slices.Sort(off)
		dev = min(0.05, max(0.003, 2*off[len(off)/2], off[len(off)*9/10]/2))
	}
	if t.swing > 0 {
		t.info("midi-swing", "Percent", int(math.Round(100*t.swing)))
	}
	for i := range t.notes {
		t.notes[i].at = at[of[i]]
	}
	t.lengths()
	t.rounded(places, at)
}

// together is how near strikes are that are one moment, in quarters: a chord is never
// struck quite at once.
const together = 0.02

// moments are the different onsets, and for each note which of them is its own.
func (t *take) moments() (places []float64, of []int) {
	of = make([]int, len(t.notes))
	for i, n := range t.notes {
		if k := len(places) - 1; k < 0 || n.on-places[k] > together {
			places = append(places, n.on)
		}
		of[i] = len(places) - 1
	}
	return places, of
}

// gatherRolls puts the notes of a rolled chord at one moment: keys of one hand that go
// down one after the other, upwards, a twenty-fifth of a second apart at most, and are
// held together. The moment is the first or the last of them, whichever is nearer to the
// half of a quarter.
func (t *take) gatherRolls() {
	second := float64(t.tempo) / 60
	for _, h := range []score.Hand{score.Right, score.Left} {
		var row []int
		close := func() {
			if n := len(row); n >= 3 || n == 2 && t.notes[row[1]].on-t.notes[row[0]].on > together {
				first, last := t.notes[row[0]].on, t.notes[row[n-1]].on
				held := true
				for _, i := range row {
					held = held && t.notes[i].off > last+0.05*second
				}
				off := func(x float64) float64 { return math.Abs(2*x - math.Round(2*x)) }
				at := last
				if off(first) < off(last) {
					at = first
				}
				if held && last-first > together && off(at) < 0.15 {
					for _, i := range row {
						t.notes[i].on = at
					}
				}
			}
			row = row[:0]
		}
		for i, n := range t.notes {
			if n.hand != h {
				continue
			}
			if k := len(row); k > 0 && (n.on-t.notes[row[k-1]].on > 0.045*second || n.key <= t.notes[row[k-1]].key) {
				close()
			}
			row = append(row, i)
		}
		close()
	}
	t.sortNotes()
}

// graceful finds the moments that are grace notes to the next: very short, close before
// it, and at most three in a row.
func (t *take) graceful(places []float64, of []int) []bool {
	second := float64(t.tempo) / 60
	out := make([]bool, len(places))
	for i := range out {
		out[i] = true
	}
	for i, n := range t.notes {
		k := of[i]
		if n.off-n.on > 0.085*second || k+1 == len(places) || places[k+1]-places[k] > 0.08*second ||
			math.Abs(4*places[k]-math.Round(4*places[k])) < 0.12 {
			out[k] = false
		}
	}
	for i := 0; i < len(out); {
		j := i
		for j < len(out) && out[j] {
			j++
		}
		if j-i > 3 {
			for k := i; k < j; k++ {
				out[k] = false
			}
		}
		i = max(j, i+1)
	}
	return out
}

// anchor is a place from which on beats are counted.
type anchor struct{ from, phase float64 }

// anchors are the places where the file's metres begin: their beats are counted from
// there, and those of a shorter first bar from its end.
func (t *take) anchors() []anchor {
	if t.anchored != nil {
		return t.anchored
	}
	t.anchored = []anchor{{math.Inf(-1), 0}}
	div := float64(t.file.Division)
	for i, m := range t.file.Meters {
		at := float64(m.At) / div
		if i == 1 && at < 4*float64(m.Beats)/float64(m.Unit) {
			t.anchored[len(t.anchored)-1].phase = at - math.Floor(at)
		}
		if phase := at - math.Floor(at); phase != t.anchored[len(t.anchored)-1].phase {
			t.anchored = append(t.anchored, anchor{at, phase})
		}
	}
	return t.anchored
}

// anchored is the phase of the beats at a place, and until where it holds.
func anchored(as []anchor, p float64) (phase, until float64) {
	i := len(as) - 1
	until = math.Inf(1)
	for i > 0 && as[i].from > p+1e-6 {
		until = as[i].from
		i--
	}
	return as[i].phase, until
}

// swingOf is where off-beats fall in a playing that swings, as a share of the quarter; 0
// where it does not: most quarters that are struck once after the beat are struck there
// between .57 and .72, and hardly any in the middle.
func swingOf(places []float64, dev float64) float64 {
	var late []float64
	even := 0
	for i := 0; i < len(places); {
		beat := math.Floor(places[i] + 2*dev)
		j := i
		var inside []float64
		for ; j < len(places) && places[j]+2*dev < beat+1; j++ {
			if x := places[j] - beat; x > 2*dev {
				inside = append(inside, x)
			}
		}
		if len(inside) == 1 {
			switch x := inside[0]; {
			case x > 0.57 && x < 0.72:
				late = append(late, x)
			case x > 0.45 && x < 0.55:
				even++
			}
		}
		i = max(j, i+1)
	}
	if len(late) < 6 || len(late) < 4*even {
		return 0
	}
	slices.Sort(late)
	return late[len(late)/2]
}

// even is a place with its quarter's swing taken out. Quarters in which nothing is
// struck swing like the others.
func (t *take) even(p float64) float64 {
	phase, _ := anchored(t.anchors(), p)
	beat := math.Floor(p-phase) + phase
	if t.swing == 0 || t.straight[int(math.Floor(beat))] {
		return p
	}
	return beat + evened(p-beat, t.swing)
}

// swung are the divisions of a quarter that swings.
var swung = divisions[:3]

// place finds the written places of moments, and the quarters that do not swing where
// others do.
func place(places []float64, grace []bool, anchors []anchor, dev, swing float64) (at []theory.Dur, straight map[int]bool) {
	at = make([]theory.Dur, len(places))
	straight = map[int]bool{}
	early := min(0.06, 2.5*dev) // what comes so little before a beat belongs to it
	in := make([]float64, 0, 16)
	for i := 0; i < len(places); {
		phase, until := anchored(anchors, places[i]+early)
		beat := math.Floor(places[i]+early-phase) + phase
		j := i
		in = in[:0]
		for ; j < len(places) && places[j]+early < min(beat+1, until); j++ {
			if !grace[j] {
				in = append(in, places[j]-beat)
			}
		}
		parts, least := 1, math.Inf(1)
		swings := false
		for _, d := range divisions {
			if c := d.cost + misfit(in, d.parts, dev); c < least {
				parts, least = d.parts, c
			}
		}
		if swing > 0 {
			for k := range in {
				in[k] = evened(in[k], swing)
			}
			for _, d := range swung {
				c := d.cost + misfit(in, d.parts, dev)
				if d.parts > 2 {
					c += 3
				}
				if c <= least {
					parts, least, swings = d.parts, c, true
				}
			}
		}
		straight[int(math.Floor(beat))] = !swings
		unit := theory.Quarter / theory.Dur(parts)
		for k := i; k < j; k++ {
			x := places[k] - beat
			if swings {
				x = evened(x, swing)
			}
			at[k] = quarters(beat) + theory.Dur(math.Round(x*float64(parts)))*unit
			if k > 0 {
				at[k] = max(at[k], at[k-1])
			}
		}
		i = j
	}
	return at, straight
}

// misfit is how badly places in a quarter fall on its parts, in squared deviations.
func misfit(in []float64, parts int, dev float64) (cost float64) {
	last := math.Inf(-1)
	for k, x := range in {
		q := math.Round(x * float64(parts))
		e := (x - q/float64(parts)) / dev
		cost += e * e
		if q == last && in[k]-in[k-1] > together { // two that are apart would fall together
			d := (in[k] - in[k-1]) / dev
			cost += min(40, d*d)
		}
		last = q
	}
	return cost
}

// lengths gives the notes their written lengths.
//
// Problem: a key comes up a little early, or a little late where notes are joined.
// Objective: of the ends near to where it came up, on the quarter's parts and where
// another note of the hand begins, the one that asks for the least: of the player, to
// have let go early (a thirteenth of the length is usual, a twentieth of a second
// before the key is struck again, more for a breath) or late (some hundredths of a
// second), and of the reader, a plain value. A file whose notes mostly end on the grid
// is taken at its word. Our own weights after what is said of touch in
// internal/perform. Linear in the notes. Rejected: the nearest value, which writes every
// detached quarter as a dotted eighth and a rest.
func (t *take) lengths() {
	perSecond := float64(t.tempo) / 60 // quarters
	again := t.struckAgain()
	var strikes [3][]begun     // of each hand
	var places [3][]theory.Dur // of these, to be searched: each note asks some thirty times
	for _, n := range t.notes {
		if k := len(strikes[n.hand]); k == 0 || strikes[n.hand][k-1].at < n.at {
			strikes[n.hand] = append(strikes[n.hand], begun{n.at, n.on})
			places[n.hand] = append(places[n.hand], n.at)
		}
	}
	begins := func(h score.Hand, at theory.Dur) (on float64, ok bool) {
		i, ok := slices.BinarySearch(places[h], at)
		if !ok {
			return 0, false
		}
		return strikes[h][i].on, true
	}
	next := t.nextOfHand()
	for i := range t.notes {
		n := &t.notes[i]
		from := float64(n.at) / float64(theory.Quarter)
		length := max(t.even(n.off)-from, 0.01)
		least := math.Inf(1)
		legato := false
		row := strikes[n.hand]
		k, _ := slices.BinarySearchFunc(row, n.off-0.03*perSecond, func(b begun, on float64) int { return cmp.Compare(b.on, on) })
		for ; k < len(row) && row[k].on < n.off+0.015*perSecond; k++ {
			legato = legato || row[k].at > n.at
		}
		try := func(end theory.Dur, cost float64) {
			if end <= n.at {
				return
			}
			d := float64(end-n.at) / float64(theory.Quarter)
			off := d - length
			next, joined := begins(n.hand, end)
			gap := off // as it is heard
			if joined {
				gap = next - n.off
			}
			switch {
			case t.word:
				cost = cost/10 + off*off/1e-4
			case off > 0 && end == again[i].at && again[i].on-n.off < 0.06*perSecond:
				cost = min(cost, 0.3)
			case joined && next-n.off > -0.03*perSecond && next-n.off < 0.015*perSecond: // the next note takes over
				cost = 0
			case off > 0 && joined && !legato && gap < 0.13*perSecond && off < 0.26*d:
				cost = min(cost, 0.3) + 0.7
			case off > 0 && end%theory.Quarter == 0 && d >= 2 && gap < 0.13*perSecond:
				cost += 0.9
			case off > 0:
				short := max(0, off/d-0.075) / 0.05
				cost += short * short
			default:
				late := max(0, -off-0.025*perSecond) / (0.02 * perSecond)
				cost += late * late
			}
			if cost < least-1e-9 {
				least, n.end = cost, end
			}
		}
		for _, v := range ends {
			unit := theory.Quarter / theory.Dur(v.parts)
			k := theory.Dur(math.Floor((from + length) * float64(v.parts)))
			for j := k - 1; j <= k+2; j++ {
				try(j*unit, v.cost)
			}
		}
		for _, end := range []theory.Dur{again[i].at, next[i]} {
			try(end, 0.3)
		}
	}
	// A key cannot be held while it is struck again.
	last := map[[2]int]int{}
	for i := range t.notes {
		k := [2]int{int(t.notes[i].hand), t.notes[i].key}
		if j, ok := last[k]; ok && t.notes[j].end > t.notes[i].at {
			t.notes[j].end = t.notes[i].at // 0 long: the same note twice, left out
		}
		last[k] = i
	}
}

// literal tells whether most notes end on sixteenths or thirds of a quarter.
func (t *take) literal() bool {
	n := 0
	for _, x := range t.notes {
		off := x.off
		for _, parts := range []float64{4, 3} {
			if math.Abs(off*parts-math.Round(off*parts)) < 0.02 {
				n++
				break
			}
		}
	}
	return 10*n > 6*len(t.notes)
}

// begun is where something begins, as it is written and as it was played.
type begun struct {
	at theory.Dur
	on float64
}

// struckAgain is for each note where its key goes down next, in whichever hand; −1:
// nowhere.
func (t *take) struckAgain() []begun {
	out := make([]begun, len(t.notes))
	var last [128]begun
	for k := range last {
		last[k].at = -1
	}
	for i := len(t.notes) - 1; i >= 0; {
		j := i
		for j >= 0 && t.notes[j].at == t.notes[i].at {
			out[j] = last[t.notes[j].key]
			j--
		}
		for k := i; k > j; k-- {
			last[t.notes[k].key] = begun{t.notes[k].at, t.notes[k].on}
		}
		i = j
	}
	return out
}

// nextOfHand is for each note where its hand strikes next; −1: nowhere.
func (t *take) nextOfHand() []theory.Dur {
	out := make([]theory.Dur, len(t.notes))
	now, after := [3]theory.Dur{-1, -1, -1}, [3]theory.Dur{-1, -1, -1}
	for i := len(t.notes) - 1; i >= 0; i-- {
		n := t.notes[i]
		if now[n.hand] != n.at {
			now[n.hand], after[n.hand] = n.at, now[n.hand]
		}
		out[i] = after[n.hand]
	}
	return out
}

// evened maps a place in a quarter that swings to where it is written.
func evened(x, swing float64) float64 {
	if x <= swing {
		return x / swing / 2
	}
	return 0.5 + (x-swing)/(1-swing)/2
}

// ends are the places of a quarter where notes end, with what each costs to read.
var ends = [...]struct {
	parts int
	cost  float64
}{{1, 0}, {2, 0.4}, {4, 1.2}, {3, 1.8}, {8, 4}, {6, 4}, {12, 8}, {16, 8}}

// rounded tells which bars were played so that their rhythm could be read in several
// ways.
func (t *take) rounded(places []float64, at []theory.Dur) {
	for i, p := range places {
		if math.Abs(t.even(p)-float64(at[i])/float64(theory.Quarter)) > 0.11 {
			t.doubtful = append(t.doubtful, at[i])
		}
	}
}
