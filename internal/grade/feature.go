package grade

import (
	"fmt"

	"gradatim/score"
	"gradatim/theory"
)

// Feature is one measure of a score, and what it means at the piano.
type Feature struct {
	ID    string     // "moves"
	Hand  score.Hand // 0: both hands together
	Value int        // in thousandths of Unit
	Unit  string
	Level int    // tenths: the level of the published scale whose pieces have such a value
	Text  string // a sentence for the teacher
	// First and Last are the printed numbers of the bars where it is worst, where
	// Placed is set; a score that has none of it has no such place.
	First, Last int
	Placed      bool

	first, last int // the same as indexes
	weight      int // in the sum, in hundredths; for a hand, half of the measure's
	z           int // thousandths of a standard deviation
}

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
	f.rate(perStretch(patternTable[i]))
	p.worst(&f, func(b int) int { return p.tallies[i][b].fresh })
	t := p.sums(i, 0, len(p.bars))
	per := max(1, t.strikes*lzBars/max(1, min(len(p.bars), t.strikes))) // strikes in 16 bars
	how := "about as much comes again as is new"
	switch share := f.Value / per; {
	case share < 300:
		how = "most of it comes again"
	case share > 550:
		how = "little of it comes again"
	}
	if t.strikes == 0 {
		f.Text = handName(i) + " has nothing to play."
		return f
	}
	f.Text = fmt.Sprintf("%s plays about %s in 16 bars: %s%s.", handName(i), count(round(f.Value, 1000), "new pattern"), how, p.where(f, "; most of it new in "))
	return f
}

func (p *page) varietyFeature(i int) Feature {
	v, different := p.varietyOf(i)
	f := Feature{ID: "variety", Hand: hands[i], Unit: "bits", weight: 15, Value: v}
	f.rate(varietyTable[i])
	p.worst(&f, func(b int) int { return p.tallies[i][b].keys.size() })
	f.Text = fmt.Sprintf("%s uses %s, as varied as %d used equally often%s.", handName(i), count(different, "different key"), equally(v), p.where(f, "; most at once in "))
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
	f.rate(movesTable[i])
	p.worst(&f, func(b int) int { return p.tallies[i][b].points })
	f.Text = p.movesText(i, f)
	return f
}

func (p *page) movesText(i int, f Feature) string {
	if !f.Placed {
		return handName(i) + " stays where it is."
	}
	moves := p.moves(i, f.first, f.last+1)
	if moves == "" {
		moves = "keeps its place, though its notes lie a fifth or more apart"
	}
	return fmt.Sprintf("%s %s%s.", handName(i), moves, p.where(f, " in "))
}

// moves says how far and how often the whole hand moves in bars [from, to); "" where
// it stays.
func (p *page) moves(i, from, to int) string {
	t := p.sums(i, from, to)
	far, n := "an octave or more", t.octaves
	if 4*t.octaves < t.fifths {
		far, n = "a fifth or more", t.octaves+t.fifths
	}
	if n == 0 {
		return ""
	}
	return "moves " + far + " " + p.howOften(n, from, to)
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
		return "twice every beat"
	case times >= beats-1:
		return "every beat"
	case times >= beats-beats/4:
		return "almost every beat"
	case 2*times >= beats-beats/4:
		return "every two beats"
	case times >= bars:
		if times >= 2*bars {
			return "twice a bar"
		}
		return "once a bar"
	case 2*times >= bars:
		return "every other bar"
	}
	return "now and then"
}

func (p *page) speedFeature(i int) Feature {
	f := Feature{ID: "speed", Hand: hands[i], Unit: "strikes a second", weight: 15}
	sts := p.strikes[i]
	if len(sts) > 1 {
		f.Value = int(int64(len(sts)-1) * 1_000_000_000 / max(1, p.microseconds(sts[len(sts)-1].at-sts[0].at)))
	}
	f.rate(speeds(betweenTable[i]))
	p.worst(&f, func(b int) int { return p.tallies[i][b].strikes })
	at := fmt.Sprintf("at %d quarter notes a minute", p.quarters)
	if p.assumed {
		at += " (assumed: the score gives no tempo)"
	}
	f.Text = fmt.Sprintf("%s strikes %s times a second %s", handName(i), tenths(f.Value), at)
	if f.Placed {
		from, to := f.first, f.last+1
		us := p.microseconds(p.bars[to-1].End() - p.bars[from].At)
		if us > 0 {
			f.Text += fmt.Sprintf(", %s%s", tenths(int(int64(p.sums(i, from, to).strikes)*1_000_000_000/us)), p.where(f, " in "))
		}
	}
	f.Text += "."
	return f
}

func (p *page) polyphonyFeature(i int) Feature {
	t := p.sums(i, 0, len(p.bars))
	f := Feature{ID: "polyphony", Hand: hands[i], Unit: "notes at once", weight: 10}
	if t.strikes > 0 {
		f.Value = t.sounding * 1000 / t.strikes
	}
	f.rate(polyphonyTable[i])
	p.worst(&f, func(b int) int { return p.tallies[i][b].sounding - p.tallies[i][b].strikes })
	f.Text = fmt.Sprintf("%s has %s notes down at once on average, %d at most%s.", handName(i), tenths(f.Value), t.most, p.where(f, "; fullest in "))
	return f
}

func (p *page) fingeringFeature(i int) Feature {
	t := p.sums(i, 0, len(p.bars))
	f := Feature{ID: "fingering", Hand: hands[i], Unit: "points a note", weight: 10}
	if t.notes > 0 {
		f.Value = t.effort * 1000 / t.notes
	}
	f.rate(fingeringTable)
	p.worst(&f, func(b int) int { return p.tallies[i][b].effort })
	lies := "lies well under the fingers"
	switch {
	case f.Level >= 60:
		lies = "lies awkwardly under the fingers"
	case f.Level >= 35:
		lies = "asks for some care in fingering"
	}
	f.Text = fmt.Sprintf("%s %s (%s points of the fingering rules a note)%s.", handName(i), lies, tenths(f.Value), p.where(f, "; most awkward in "))
	return f
}

func (p *page) rhythmFeature() Feature {
	u := p.pulseSums(0, len(p.bars))
	f := Feature{ID: "rhythm", Unit: "points a beat", weight: 5}
	if u.beats > 0 {
		f.Value = u.points() * 1000 / u.beats
	}
	f.rate(rhythmTable)
	p.worst(&f, func(b int) int { return p.pulses[b].points() })
	if u.points() == 0 {
		f.Text = "The hands' rhythms fit into each other and keep to the beat."
		return f
	}
	text := ""
	add := func(n int, what, whats string) {
		if n == 0 {
			return
		}
		if text != "" {
			text += ", "
		}
		text += fmt.Sprintf("%d %s", n, choose(n, what, whats))
	}
	add(u.crossing, "beat in which the hands fall between each other's notes", "beats in which the hands fall between each other's notes")
	add(u.held, "off-beat note held over a beat", "off-beat notes held over a beat")
	add(u.uneven, "beat of unusual division", "beats of unusual division")
	f.Text = fmt.Sprintf("Of %d beats: %s%s.", u.beats, text, p.where(f, "; most in "))
	return f
}

func (p *page) accidentalFeature() Feature {
	f := Feature{ID: "accidentals", Unit: "of all notes", weight: 5}
	a, b := p.sums(0, 0, len(p.bars)), p.sums(1, 0, len(p.bars))
	if n := a.notes + b.notes; n > 0 {
		f.Value = (a.altered + b.altered) * 1000 / n
	}
	f.rate(accidentalTable)
	p.worst(&f, func(b int) int { return p.tallies[0][b].altered + p.tallies[1][b].altered })
	if a.altered+b.altered == 0 {
		f.Text = "No note lies outside the key signature."
		return f
	}
	hundredth := max(1, round(f.Value, 10))
	f.Text = fmt.Sprintf("%s in a hundred %s outside the key signature%s.", count(hundredth, "note"), choose(hundredth, "lies", "lie"), p.where(f, ", most in "))
	return f
}

func (p *page) compassFeature(i int) Feature {
	f := Feature{ID: "compass", Hand: hands[i], Unit: "half steps"}
	t := p.sums(i, 0, len(p.bars))
	if t.strikes == 0 {
		f.rate(compassTable[i])
		f.Text = handName(i) + " has nothing to play."
		return f
	}
	lo, hi := t.keys.low(), t.keys.high()
	f.Value = (hi - lo) * 1000
	f.rate(compassTable[i])
	p.worst(&f, func(b int) int {
		k := p.tallies[i][b].keys
		if k.size() == 0 {
			return 0
		}
		return k.high() - k.low()
	})
	f.Text = fmt.Sprintf("%s goes from %s to %s, %s%s.", handName(i), p.pitchOf(i, lo), p.pitchOf(i, hi), count(hi-lo, "half step"), p.where(f, "; widest in "))
	return f
}

// pitchOf names a key as the hand's first note on it is spelled.
func (p *page) pitchOf(i, key int) string {
	for _, n := range p.s.Notes {
		if handIndex(n.Hand) == i && n.Grace == 0 && n.Pitch.MIDI() == key {
			return n.Pitch.Pretty()
		}
	}
	return theory.Pitch{}.Pretty()
}

func (f *Feature) rate(r reference) {
	f.z, f.Level = r.norm().z(f.Value), r.level(f.Value)
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
