package harmonist

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/harmony"
	"gradatim/internal/idiom"
	"gradatim/internal/sharedtest/corpus"
	"gradatim/leadsheet"
	"gradatim/theory"
)

var update = flag.Bool("update", false, "fit the weights to the shared sheets and write them anew")

// example is a sheet with its chords, as fitting and counting see it.
type example struct {
	name  string
	song  bool // of the collection of songs; else of one of dance tunes
	bare  leadsheet.Song
	h     heard // in the keys that the chords are in
	group Group
	pace  int   // its rhythm
	truth []int // state of each slot; −1: none that is known
	spans []harmony.Span

	features [][][]feature
	change   [rhythms][][]feature
}

type feature struct {
	at int32
	x  float32
}

// sheets reads the shared lead sheets, but for those that were made from others.
func sheets(t testing.TB) []*example {
	var out []*example
	for _, s := range corpus.Sheets(t) {
		if strings.HasPrefix(s.Name, "derived/") {
			continue
		}
		x := exampleOf(s.Song)
		x.name, x.song = s.Name, strings.HasPrefix(s.Name, "openewld/")
		out = append(out, x)
	}
	if len(out) != 143 {
		t.Fatalf("%d sheets", len(out))
	}
	return out
}

func exampleOf(song leadsheet.Song) *example {
	x := &example{bare: song, h: hear(song)}
	x.bare.Chords = nil
	an := harmony.Analyse(x.h.page.song)
	for i, r := range an.Regions {
		x.h.regions[i].key = r.Key
	}
	x.h.settle()
	x.spans = an.Spans
	kind := idiom.Recognise(x.bare, harmony.Analyse(x.bare), idiom.All()).Idiom
	x.group = GroupOf(kind)
	changes := 0
	for i, s := range x.h.slots {
		state, most := -1, theory.Dur(0)
		for _, sp := range x.spans {
			if l := min(sp.End, s.end) - max(sp.At, s.at); l > most && sp.Sounding() {
				state, most = stateOf(sp.Chord, x.h.regions[s.region].key), l
			}
		}
		x.truth = append(x.truth, state)
		if i > 0 && state >= 0 && x.truth[i-1] != state {
			changes++
		}
	}
	bars := 0
	for _, b := range x.h.page.song.Bars {
		if !b.Pickup {
			bars++
		}
	}
	switch { // as Rhythm says
	case 20*changes < 13*bars:
		x.pace = int(Slow) - 1
	case 20*changes < 23*bars:
		x.pace = int(Usual) - 1
	default:
		x.pace = int(Quick) - 1
	}
	for i := range x.h.slots {
		var row [][]feature
		for a := range palettes[paletteOf(x.h.regions[x.h.slots[i].region].key)] {
			row = append(row, collect(func(f note) { features(&x.h, i, a, x.group, f) }))
		}
		x.features = append(x.features, row)
		for r := range rhythms {
			x.change[r] = append(x.change[r], collect(func(f note) { changing(&x.h, i, x.group, r, f) }))
		}
	}
	return x
}

// collect adds up what a function tells of each feature.
func collect(call func(note)) []feature {
	var out []feature
	call(func(at int, x float64) {
		for k := range out {
			if out[k].at == int32(at) {
				out[k].x += float32(x)
				return
			}
		}
		out = append(out, feature{int32(at), float32(x)})
	})
	return out
}

func (m *model) sum(fs []feature) float64 {
	sum := 0.0
	for _, f := range fs {
		sum += m.w[f.at] * float64(f.x)
	}
	return sum
}

// counted is the plain statistical baseline, counted from sheets: how often each chord
// begins and ends a tune, follows another, lies over a degree, and how often chords change
// at a place of the bar. A chord of the palette counts as seen a little.
type counted struct {
	start, end [palettesN][]float64
	follow     [palettesN][]float64
	degree     [palettesN][]float64
	change     [places][metres]float64 // for one that stays
}

func count(xs []*example) counted {
	const byDegree, seen, strong = 1, .3, 1
	var c counted
	for m, pal := range palettes {
		n := len(pal)
		c.start[m], c.end[m] = slices.Repeat([]float64{seen}, n), slices.Repeat([]float64{seen}, n)
		c.follow[m], c.degree[m] = slices.Repeat([]float64{.1}, n*n), slices.Repeat([]float64{byDegree}, n*12)
		for a, s := range pal {
			for _, t := range [triads][3]int{{0, 4, 7}, {0, 3, 7}, {0, 3, 6}, {0, 4, 8}}[s.triad] {
				c.degree[m][a*12+(s.above+t)%12] += 10
			}
		}
	}
	var changed [places][metres][2]float64
	for _, x := range xs {
		for i, s := range x.h.slots {
			a := x.truth[i]
			if a < 0 {
				continue
			}
			key := x.h.regions[s.region].key
			m := paletteOf(key)
			for _, p := range s.pieces {
				c.degree[m][a*12+(p.class-key.Tonic.Class()+12)%12] += p.long * strong
			}
			if i == 0 {
				c.start[m][a]++
			}
			if i == len(x.h.slots)-1 {
				c.end[m][a]++
			}
			if !x.h.joined(i) || x.truth[i-1] < 0 {
				continue
			}
			if x.truth[i-1] == a {
				changed[s.place][x.h.metre][0]++
			} else {
				changed[s.place][x.h.metre][1]++
				c.follow[m][x.truth[i-1]*len(palettes[m])+a]++
			}
		}
	}
	for m, pal := range palettes {
		normal(c.start[m], len(pal))
		normal(c.end[m], len(pal))
		for a := range pal {
			c.follow[m][a*len(pal)+a] = 0
		}
		normal(c.follow[m], len(pal))
		normal(c.degree[m], 12)
	}
	for p := range changed {
		for k, n := range changed[p] {
			c.change[p][k] = (n[1] + 1) / (n[0] + 1)
		}
	}
	return c
}

// normal brings each row to the sum 1.
func normal(v []float64, columns int) {
	for row := range slices.Chunk(v, columns) {
		sum := 0.0
		for _, x := range row {
			sum += x
		}
		for i := range row {
			row[i] /= sum
		}
	}
}

// thoughts of the baseline: emissions weighted by duration, a prior for the beginning and
// the end, and posterior decoding.
func (c *counted) thoughts(h *heard) [][]float64 {
	const heard = .7 // of what an independent note would weigh; the best of .5 to 1.5
	n := len(h.slots)
	emit, change := make([][]float64, n), make([]float64, n)
	for i, s := range h.slots {
		key := h.regions[s.region].key
		m := paletteOf(key)
		e := make([]float64, len(palettes[m]))
		for a := range e {
			for _, p := range s.pieces {
				e[a] += heard * p.long * math.Log(c.degree[m][a*12+(p.class-key.Tonic.Class()+12)%12])
			}
			if i == 0 {
				e[a] += math.Log(c.start[m][a])
			}
			if i == n-1 {
				e[a] += math.Log(c.end[m][a])
			}
		}
		emit[i], change[i] = relative(e), c.change[s.place][h.metre]
	}
	l := run(h, emit, c.follow, change, nil)
	post := make([][]float64, n)
	for i := range post {
		post[i] = l.posterior(i)
	}
	return post
}

// begin is where fitting begins, and what it is pulled back to: the logarithms of what was
// counted.
func (c *counted) begin() *model {
	m := &model{w: make([]float64, weights)}
	for p, pal := range palettes {
		n := len(pal)
		for i, x := range c.follow[p] {
			if x > 0 {
				m.w[wMove[p]+i] = math.Log(x)
			}
		}
		for i, x := range c.degree[p] {
			m.w[wDegree[p]+i] = .5 * math.Log(x)
		}
		for a := range n {
			m.w[wForm[p]+a*int(forms)+int(lastBeat)] = math.Log(c.end[p][a])
		}
	}
	for p := range places {
		for k := range metres {
			for r := range rhythms {
				m.w[wChange+(int(p)*metres+k)*rhythms+r] = math.Log(c.change[p][k]) + .7*float64(r-1)
			}
		}
	}
	return m
}

// fit fits weights to sheets: the likelihood of their chords and rhythms, given the tune,
// by gradient steps tune by tune (Duchi, Hazan and Singer 2011), averaged over the second
// half. The order is shuffled with a fixed seed.
func fit(xs []*example, rounds int) *model {
	c := count(xs)
	begin := c.begin()
	m := &model{w: slices.Clone(begin.w)}
	const rate = .1
	pull := make([]float64, weights)
	for _, b := range blocks {
		for i := b.at; i < b.at+b.n; i++ {
			pull[i] = b.pull / float64(len(xs))
		}
	}
	squares := slices.Repeat([]float64{1}, weights)
	g, mean := make([]float64, weights), make([]float64, weights)
	order := rand.New(rand.NewPCG(1, 2))
	kept := 0.0
	for round := range rounds {
		for _, i := range order.Perm(len(xs)) {
			clear(g)
			m.gradient(xs[i], g)
			for k := range g {
				if d := g[k] + pull[k]*(m.w[k]-begin.w[k]); d != 0 {
					squares[k] += d * d
					m.w[k] -= rate * d / math.Sqrt(squares[k])
				}
			}
		}
		if 2*round >= rounds {
			kept++
			for k := range mean {
				mean[k] += m.w[k]
			}
		}
	}
	for k := range mean {
		m.w[k] = mean[k] / kept
	}
	m.fitKeys(xs)
	m.round()
	return m
}

// round brings the weights to what the file holds.
func (m *model) round() {
	for k := range m.w {
		m.w[k] = math.Round(m.w[k]*1000) / 1000
	}
}

// gradient adds what the model expects of each feature, less what the sheet has.
func (m *model) gradient(x *example, g []float64) {
	emit := make([][]float64, len(x.features))
	post := make([][]float64, len(x.features))
	for i, row := range x.features {
		e := make([]float64, len(row))
		for a, f := range row {
			e[a] = m.sum(f)
		}
		emit[i], post[i] = relative(e), make([]float64, len(row))
	}
	move := m.moves()
	var ls [rhythms]lattice
	var change [rhythms][]float64
	var log [rhythms]float64
	for r := range rhythms {
		change[r] = make([]float64, len(emit))
		for i, f := range x.change[r] {
			change[r][i] = exp(m.sum(f))
		}
		ls[r] = run(&x.h, emit, move, change[r], nil)
		log[r] = math.Log(ls[r].weight) + float64(ls[r].power)*math.Ln2
		pacing(&x.h, x.group, r, func(at int, y float64) { log[r] += m.w[at] * y })
	}
	for r, w := range relative(slices.Clone(log[:])) {
		sum := 0.0
		for _, l := range log {
			sum += math.Exp(l - log[r])
		}
		if w = 1 / sum; w > 1e-6 {
			x.expect(&ls[r], move, r, w, g, post)
		}
	}
	sheet := run(&x.h, emit, move, change[x.pace], x.truth)
	x.expect(&sheet, move, x.pace, -1, g, post)
	for i, row := range x.features {
		for a, f := range row {
			if v := post[i][a]; v > 1e-6 || v < -1e-6 {
				for _, e := range f {
					g[e.at] += v * float64(e.x)
				}
			}
		}
	}
}

// expect adds what a lattice expects, times a factor: of the states to post, of changes
// and of the rhythm to g.
func (x *example) expect(l *lattice, move [palettesN][]float64, r int, by float64, g []float64, post [][]float64) {
	for i := range post {
		p := l.posterior(i)
		for a := range p {
			post[i][a] += by * p[a]
		}
		if !x.h.joined(i) {
			continue
		}
		pal := paletteOf(x.h.regions[x.h.slots[i].region].key)
		n := len(p)
		changed := 0.0
		for b, before := range l.alpha[i-1] {
			if before < 1e-9 {
				continue
			}
			c := before * l.change[i] / l.scale[i]
			for a, mv := range move[pal][b*n : (b+1)*n] {
				if y := c * mv * l.emit[i][a] * l.beta[i][a]; y > 0 {
					g[wMove[pal]+b*n+a] += by * y
					changed += y
				}
			}
		}
		for _, f := range x.change[r][i] {
			g[f.at] += by * changed * float64(f.x)
		}
	}
	pacing(&x.h, x.group, r, func(at int, y float64) { g[at] += by * y })
}

// fitKeys fits the weights of the keys, in the same way.
func (m *model) fitKeys(xs []*example) {
	type case_ struct {
		features [keys][]feature
		truth    int
	}
	var cases []case_
	for _, x := range xs {
		for i, r := range x.h.regions {
			var c case_
			c.truth = r.key.Tonic.Class() + 12*paletteOf(r.key)
			for k := range keys {
				c.features[k] = collect(func(f note) { keyFeatures(&x.h, i, k, f) })
			}
			cases = append(cases, c)
		}
	}
	const rate, pull = .3, .01
	squares := slices.Repeat([]float64{1}, weights)
	order := rand.New(rand.NewPCG(3, 4))
	for range 40 {
		for _, i := range order.Perm(len(cases)) {
			c := &cases[i]
			p := make([]float64, keys)
			for k := range p {
				p[k] = m.sum(c.features[k])
			}
			relative(p)
			normal(p, keys)
			p[c.truth]--
			g := map[int32]float64{}
			for k, v := range p {
				for _, f := range c.features[k] {
					g[f.at] += v * float64(f.x)
				}
			}
			for at, d := range g {
				d += pull * m.w[at]
				squares[at] += d * d
				m.w[at] -= rate * d / math.Sqrt(squares[at])
			}
		}
	}
}

// writeWeights writes the weights as parseWeights reads them.
func writeWeights(m *model) []byte {
	var b bytes.Buffer
	b.WriteString("# The weights of internal/harmonist, in 1/1000: name and numbers, row by row. Fitted by\n" +
		"# `make chords` to 143 lead sheets: Nottingham Music Database (E. Foxley; free to use, to be\n" +
		"# acknowledged), OpenEWLD (F. Simonetta; public domain contents), Tuneworks Tunebook (J. Warbrick)\n" +
		"# and an old-time tunebook (J. Larios), both CC BY-SA 4.0. Numbers counted and fitted, no music.\n")
	for _, bl := range blocks {
		for row := range slices.Chunk(m.w[bl.at:bl.at+bl.n], bl.columns) {
			b.WriteString(bl.name)
			for _, x := range row {
				fmt.Fprintf(&b, "\t%d", int(math.Round(x*1000)))
			}
			b.WriteByte('\n')
		}
	}
	return b.Bytes()
}

// TestTable fits the weights anew and compares them with the table that is shipped; with
// -update it writes the table.
func TestTable(t *testing.T) {
	if !*update {
		t.Skip("fits weights to all sheets; -update writes them")
	}
	if err := os.WriteFile("weights.tsv", writeWeights(fit(sheets(t), rounds)), 0o644); err != nil {
		t.Fatal(err)
	}
}
