package grade

import (
	"gradatim/internal/words"
	"gradatim/score"
	"gradatim/theory"
)

// Feature is one measure of a score, and what it means at the piano.
type Feature struct {
	ID    string     // "moves"
	Hand  score.Hand // 0: both hands together
	Value int        // in thousandths of Unit
	Unit  string
	// Number is that of a page with which everything would stand as this does.
	Number Number
	// First and Last are the printed numbers of the bars where it is worst, where
	// Placed is set; a score that has none of it has no such place.
	First, Last int
	Placed      bool

	first, last int // the same as indexes
	says        words.Message
	weight      int // in the sum, in hundredths; for a hand, half of the measure's
	z           int // thousandths of a standard deviation
}

// Text is a sentence for the teacher.
func (f Feature) Text(w *words.Words) string { return words.Upper(w.Value(f.says)) }

// window is the number of bars that the worst place is looked for in.
const window = 4

// features measures everything. The order is that of the rating's weights.
func (p *page) features() []Feature {
	var out []Feature
	for i := range hands {
		out = append(out, p.patternFeature(i))
	}
	for i := range hands {
		out = append(out, p.varietyFeature(i))
	}
	for i := range hands {
		out = append(out, p.movesFeature(i))
	}
	for i := range hands {
		out = append(out, p.speedFeature(i))
	}
	for i := range hands {
		out = append(out, p.polyphonyFeature(i))
	}
	for i := range hands {
		if p.effort[0] || p.effort[1] {
			out = append(out, p.fingeringFeature(i))
		}
	}
	out = append(out, p.rhythmFeature(), p.accidentalFeature())
	for i := range hands {
		out = append(out, p.compassFeature(i))
	}
	return out
}

func (p *page) patternFeature(i int) Feature {
	f := Feature{ID: "patterns", Hand: hands[i], Unit: "new patterns in 16 bars", weight: 25, Value: p.patterns(i)}
	f.rate(p.marks(), patternNorm[i])
	p.worst(&f, func(b int) int { return p.tallies[i][b].fresh })
	t := p.sums(i, 0, len(p.bars))
	per := max(1, t.strikes*lzBars/max(1, min(len(p.bars), t.strikes))) // strikes in 16 bars
	how := "half"
	switch share := f.Value / per; {
	case share < 300:
		how = "most"
	case share > 550:
		how = "little"
	}
	if t.strikes == 0 {
		f.says = words.Tell("grade.silent", "Hand", handOf(i))
		return f
	}
	f.says = words.Tell("grade.patterns", "Hand", handOf(i), "n", round(f.Value, 1000), "Again", words.Tell("grade.again."+how), "Where", p.where(f, "new"))
	return f
}

func (p *page) varietyFeature(i int) Feature {
	v, different := p.varietyOf(i)
	f := Feature{ID: "variety", Hand: hands[i], Unit: "bits", weight: 15, Value: v}
	f.rate(p.marks(), varietyNorm[i])
	p.worst(&f, func(b int) int { return p.tallies[i][b].keys.size() })
	f.says = words.Tell("grade.variety", "Hand", handOf(i), "n", different, "Equally", equally(v), "Where", p.where(f, "varied"))
	return f
}

// equally is 2 to the power of a variety, rounded: how many keys, used equally
// often, would have it.
func equally(milli int) int {
	for n := 1; ; n++ {
		// halfway between n and n+1 on the scale of varieties
		if (log2(uint64(2*n+1))-1<<log2Bits)*1000>>log2Bits > int64(milli) || n >= 128 {
			return n
		}
	}
}

func (p *page) movesFeature(i int) Feature {
	t := p.sums(i, 0, len(p.bars))
	f := Feature{ID: "moves", Hand: hands[i], Unit: "of 1", weight: 15}
	if t.steps > 0 {
		f.Value = t.points * 1000 / (2 * t.steps)
	}
	f.rate(p.marks(), movesNorm[i])
	p.worst(&f, func(b int) int { return p.tallies[i][b].points })
	f.says = p.movesText(i, f)
	return f
}

func (p *page) movesText(i int, f Feature) words.Message {
	if !f.Placed {
		return words.Tell("grade.stays", "Hand", handOf(i))
	}
	moves := p.moves(i, f.first, f.last+1)
	if moves == nil {
		moves = does(i, "keeps")
	}
	return words.Tell("grade.moves", "Moves", moves, "Where", p.where(f, "moves"))
}

// moves says how far and how often the whole hand moves in bars [from, to); nil where
// it stays.
func (p *page) moves(i, from, to int) any {
	t := p.sums(i, from, to)
	far, n := "moves-octave", t.octaves
	if 4*t.octaves < t.fifths {
		far, n = "moves-fifth", t.octaves+t.fifths
	}
	if n == 0 {
		return nil
	}
	return does(i, far, "Often", words.Tell("grade.often."+p.howOften(n, from, to)))
}

// howOften says how often something comes in bars [from, to).
func (p *page) howOften(times, from, to int) string {
	beats := 0
	for _, b := range p.bars[from:to] {
		beats += pulsesOf(b)
	}
	bars := to - from
	switch {
	case times >= 2*beats-beats/4:
		return "twice-a-beat"
	case times >= beats-1:
		return "every-beat"
	case times >= beats-beats/4:
		return "almost-every-beat"
	case 2*times >= beats-beats/4:
		return "every-two-beats"
	case times >= bars:
		if times >= 2*bars {
			return "twice-a-bar"
		}
		return "once-a-bar"
	case 2*times >= bars:
		return "every-other-bar"
	}
	return "now-and-then"
}

func (p *page) speedFeature(i int) Feature {
	f := Feature{ID: "speed", Hand: hands[i], Unit: "strikes a second", weight: 15}
	sts := p.strikes[i]
	if len(sts) > 1 {
		f.Value = int(int64(len(sts)-1) * 1_000_000_000 / max(1, p.microseconds(sts[len(sts)-1].at-sts[0].at)))
	}
	f.rate(p.marks(), speedNorm[i])
	p.worst(&f, func(b int) int { return p.tallies[i][b].strikes })
	at := words.Tell("grade.at", "Quarters", p.quarters)
	if p.assumed {
		at.Key = "grade.at-assumed"
	}
	f.says = words.Tell("grade.speed", "Hand", handOf(i), "Times", tenths(f.Value), "At", at)
	if f.Placed {
		from, to := f.first, f.last+1
		us := p.microseconds(p.bars[to-1].End() - p.bars[from].At)
		if us > 0 {
			f.says.Key = "grade.speed-most"
			f.says.Parts = append(f.says.Parts, "Most", tenths(int(int64(p.sums(i, from, to).strikes)*1_000_000_000/us)), "Where", p.where(f, "speed"))
		}
	}
	return f
}

func (p *page) polyphonyFeature(i int) Feature {
	t := p.sums(i, 0, len(p.bars))
	f := Feature{ID: "polyphony", Hand: hands[i], Unit: "notes at once", weight: 10}
	if t.strikes > 0 {
		f.Value = t.sounding * 1000 / t.strikes
	}
	f.rate(p.marks(), polyphonyNorm[i])
	p.worst(&f, func(b int) int { return p.tallies[i][b].sounding - p.tallies[i][b].strikes })
	f.says = words.Tell("grade.polyphony", "Hand", handOf(i), "Average", tenths(f.Value), "Most", t.most, "Where", p.where(f, "full"))
	return f
}

func (p *page) fingeringFeature(i int) Feature {
	t := p.sums(i, 0, len(p.bars))
	f := Feature{ID: "fingering", Hand: hands[i], Unit: "points a note", weight: 10}
	if t.notes > 0 {
		f.Value = t.effort * 1000 / t.notes
	}
	f.rate(p.marks(), fingeringNorm)
	p.worst(&f, func(b int) int { return p.tallies[i][b].effort })
	lies := "well"
	switch {
	case f.Value >= 1200:
		lies = "awkward"
	case f.Value >= 950:
		lies = "care"
	}
	f.says = words.Tell("grade.fingering."+lies, "Hand", handOf(i), "Points", tenths(f.Value), "Where", p.where(f, "awkward"))
	return f
}

func (p *page) rhythmFeature() Feature {
	u := p.pulseSums(0, len(p.bars))
	f := Feature{ID: "rhythm", Unit: "points a beat", weight: 5}
	if u.beats > 0 {
		f.Value = u.points() * 1000 / u.beats
	}
	f.rate(p.marks(), rhythmNorm)
	p.worst(&f, func(b int) int { return p.pulses[b].points() })
	if u.points() == 0 {
		f.says = words.Tell("grade.even")
		return f
	}
	var beats words.Listed
	add := func(n int, what string) {
		if n > 0 {
			beats = append(beats, words.Tell("grade.beats."+what, "n", n))
		}
	}
	add(u.crossing, "crossing")
	add(u.held, "held")
	add(u.uneven, "uneven")
	f.says = words.Tell("grade.rhythm", "n", u.beats, "Beats", beats, "Where", p.where(f, "rhythm"))
	return f
}

func (p *page) accidentalFeature() Feature {
	f := Feature{ID: "accidentals", Unit: "of all notes", weight: 5}
	a, b := p.sums(0, 0, len(p.bars)), p.sums(1, 0, len(p.bars))
	if n := a.notes + b.notes; n > 0 {
		f.Value = (a.altered + b.altered) * 1000 / n
	}
	f.rate(p.marks(), accidentalNorm)
	p.worst(&f, func(b int) int { return p.tallies[0][b].altered + p.tallies[1][b].altered })
	if a.altered+b.altered == 0 {
		f.says = words.Tell("grade.inside")
		return f
	}
	hundredth := max(1, round(f.Value, 10))
	f.says = words.Tell("grade.outside", "n", hundredth, "Where", p.where(f, "outside"))
	return f
}

func (p *page) compassFeature(i int) Feature {
	f := Feature{ID: "compass", Hand: hands[i], Unit: "half steps"}
	t := p.sums(i, 0, len(p.bars))
	if t.strikes == 0 {
		f.rate(p.marks(), compassNorm[i])
		f.says = words.Tell("grade.silent", "Hand", handOf(i))
		return f
	}
	lo, hi := t.keys.low(), t.keys.high()
	f.Value = (hi - lo) * 1000
	f.rate(p.marks(), compassNorm[i])
	p.worst(&f, func(b int) int {
		k := p.tallies[i][b].keys
		if k.size() == 0 {
			return 0
		}
		return k.high() - k.low()
	})
	f.says = words.Tell("grade.compass", "Hand", handOf(i), "Low", p.pitchOf(i, lo), "High", p.pitchOf(i, hi), "n", hi-lo, "Where", p.where(f, "wide"))
	return f
}

// pitchOf is a key as the hand's first note on it is spelled.
func (p *page) pitchOf(i, key int) theory.Pitch {
	for _, n := range p.s.Notes {
		if handIndex(n.Hand) == i && n.Grace == 0 && n.Pitch.MIDI() == key {
			return n.Pitch
		}
	}
	return theory.Pitch{}
}

func (f *Feature) rate(m marks, n norm) {
	f.z = n.z(f.Value)
	f.Number = m.place(f.z)
}

// worst places a feature in the bars that have most of it: the window with the
// largest sum, the earliest of equals, widened on both sides by bars that have as
// much as the window's average.
func (p *page) worst(f *Feature, of func(bar int) int) {
	n := len(p.bars)
	w := min(window, n)
	sum, best, at := 0, 0, -1
	for b := range n {
		sum += of(b)
		if b >= w {
			sum -= of(b - w)
		}
		if b >= w-1 && sum > best {
			best, at = sum, b-w+1
		}
	}
	if at < 0 {
		return
	}
	first, last := at, at+w-1
	for first > 0 && of(first-1)*w >= best {
		first--
	}
	for last+1 < n && of(last+1)*w >= best {
		last++
	}
	for first < last && of(first) == 0 {
		first++
	}
	for last > first && of(last) == 0 {
		last--
	}
	f.first, f.last = first, last
	f.First, f.Last, f.Placed = p.barOf(first), p.barOf(last), true
}
