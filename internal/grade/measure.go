package grade

import (
	"math/bits"
	"slices"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// keySet is a set of MIDI keys.
type keySet [2]uint64

func (k keySet) has(key int) bool { return k[key>>6]>>(key&63)&1 == 1 }
func (k *keySet) add(key int)     { k[key>>6] |= 1 << (key & 63) }
func (k keySet) size() int        { return bits.OnesCount64(k[0]) + bits.OnesCount64(k[1]) }

func (k keySet) low() int {
	if k[0] != 0 {
		return bits.TrailingZeros64(k[0])
	}
	return 64 + bits.TrailingZeros64(k[1])
}

func (k keySet) high() int {
	if k[1] != 0 {
		return 127 - bits.LeadingZeros64(k[1])
	}
	return 63 - bits.LeadingZeros64(k[0])
}

// strike is what one hand strikes at one moment.
type strike struct {
	at, end  theory.Dur // end: when the last of its notes is let go
	bar      int
	keys     keySet
	down     keySet // keys, and those still held from before
	altered  int    // how many of its notes are outside the key signature
	sounding int    // keys down in this hand, those held from before included
	effort   int    // of the fingering, where it was given
}

// tally counts what one hand does in one bar.
type tally struct {
	strikes  int
	notes    int
	sounding int // sum over strikes
	steps    int // moves from one strike to the next, counted where they arrive
	points   int // moves: 1 for a move of 7 half steps, 2 from 12
	octaves  int // shifts of the whole hand by 12 half steps and more
	fifths   int // shifts by 7 to 11
	fresh    int // new patterns that end here
	altered  int
	effort   int
	most     int // sounding at once
	keys     keySet
}

// pulses counts what the two hands together do with the beats of one bar.
type pulses struct {
	beats    int // with something struck
	held     int // off-beat strikes held over the next beat
	uneven   int // beats divided otherwise than the metre divides them
	crossing int // beats in which the hands fall between each other's notes
}

// points weighs them: an off-beat held over and an uneven division ask for one
// unusual rhythm, interlocking hands for two at once.
func (p pulses) points() int { return p.held + p.uneven + 2*p.crossing }

// handIndex counts the hands as the tables do: right first.
func handIndex(h score.Hand) int {
	if h == score.Left {
		return 1
	}
	return 0
}

var hands = [2]score.Hand{score.Right, score.Left}

// page is a score measured.
type page struct {
	s        score.Score
	bars     []score.Bar
	quarters int // a minute
	assumed  bool
	strikes  [2][]strike
	tallies  [2][]tally
	pulses   []pulses
	effort   [2]bool // whether a fingering was given
}

// plainTempo is assumed where a score gives none: quarter notes a minute. Common
// practice, no source.
const plainTempo = 100

// measure reads a score once. It is linear in notes and bars, but for sorting the
// ends of notes.
func measure(s score.Score, opt Options) *page {
	if !slices.IsSortedFunc(s.Notes, score.Compare) {
		s.Notes = slices.Clone(s.Notes)
		slices.SortStableFunc(s.Notes, score.Compare)
	}
	p := &page{s: s, bars: s.Bars, quarters: s.Tempo.QuartersPerMinute()}
	if p.quarters <= 0 {
		p.quarters, p.assumed = plainTempo, true
	}
	if len(p.bars) == 0 && len(s.Notes) > 0 {
		p.bars = oneBar(s)
	}
	var costs [2][]Effort
	if opt.Fingering != nil {
		costs = opt.Fingering(s)
	}
	for i := range hands {
		p.collect(i)
		p.addEffort(i, costs[i])
		p.tally(i)
	}
	p.countPulses()
	return p
}

// oneBar stands for a score without bars.
func oneBar(s score.Score) []score.Bar {
	b := score.Bar{At: s.Notes[0].At, Number: 1, Meter: leadsheet.Meter{Beats: 4, Unit: 4}}
	for _, n := range s.Notes {
		b.Dur = max(b.Dur, n.End()-b.At)
	}
	return []score.Bar{b}
}

// collect gathers the strikes of a hand. Grace notes and ornament signs are left
// out, as in the published measures.
func (p *page) collect(hand int) {
	var ends []theory.Dur
	type held struct {
		key int
		end theory.Dur
	}
	var down []held
	bar := 0
	out := make([]strike, 0, len(p.s.Notes)/2)
	for i := range p.s.Notes {
		n := &p.s.Notes[i]
		key := n.Pitch.MIDI()
		if handIndex(n.Hand) != hand || n.Grace > 0 || key < 0 || key > 127 {
			continue
		}
		for bar+1 < len(p.bars) && p.bars[bar+1].At <= n.At {
			bar++
		}
		if k := len(out); k == 0 || out[k-1].at != n.At {
			st := strike{at: n.At, bar: bar}
			down = slices.DeleteFunc(down, func(h held) bool { return h.end <= n.At })
			for _, h := range down {
				st.down.add(h.key)
			}
			out = append(out, st)
		}
		st := &out[len(out)-1]
		if st.keys.has(key) {
			continue // the same key in two voices
		}
		st.keys.add(key)
		st.down.add(key)
		down = append(down, held{key, n.End()})
		st.end = max(st.end, n.End())
		if k := p.bars[bar].Key; k.Valid() && n.Pitch.Alter != k.Signature(n.Pitch.Letter) {
			st.altered++
		}
		ends = append(ends, n.End())
	}
	slices.Sort(ends)
	begun, over := 0, 0
	for i := range out {
		begun += out[i].keys.size()
		for over < len(ends) && ends[over] <= out[i].at {
			over++
		}
		out[i].sounding = max(out[i].keys.size(), begun-over)
	}
	p.strikes[hand] = out
}

// addEffort lays the costs of a fingering on the strikes that they belong to.
func (p *page) addEffort(hand int, costs []Effort) {
	i := 0
	for _, c := range costs {
		for i < len(p.strikes[hand]) && p.strikes[hand][i].at < c.At {
			i++
		}
		if i == len(p.strikes[hand]) {
			break
		}
		p.strikes[hand][i].effort += c.Cost
	}
	p.effort[hand] = len(costs) > 0
}

func (p *page) tally(hand int) {
	p.tallies[hand] = make([]tally, len(p.bars))
	sts := p.strikes[hand]
	for i := range sts {
		st := &sts[i]
		t := &p.tallies[hand][st.bar]
		t.strikes++
		t.notes += st.keys.size()
		t.sounding += st.sounding
		t.most = max(t.most, st.sounding)
		t.altered += st.altered
		t.effort += st.effort
		t.keys[0] |= st.keys[0]
		t.keys[1] |= st.keys[1]
		if i == 0 {
			continue
		}
		t.steps++
		switch d := farthest(sts[i-1].keys, st.keys); {
		case d >= 12:
			t.points += 2
		case d >= 7:
			t.points++
		}
		switch d := shift(sts[i-1].down, st.down); {
		case d >= 12:
			t.octaves++
		case d >= 7:
			t.fifths++
		}
	}
}

// farthest is the largest distance between an extreme of one set and the
// opposite extreme of the next, in half steps.
func farthest(from, to keySet) int {
	return max(to.high()-from.low(), from.high()-to.low())
}

// shift is how far a whole hand moves from what it has down to what it has down
// next, in half steps: the smaller of the ways of its lowest and its highest key. A
// hand that keeps one of them, the tune above or the bass below, stays in place
// whatever the fingers between do.
func shift(from, to keySet) int {
	return min(abs(to.low()-from.low()), abs(to.high()-from.high()))
}

// pulsesOf counts the pulses of a bar, a last one that is cut short included.
func pulsesOf(b score.Bar) int {
	pulse := b.Meter.OrCommon().Pulse()
	return int((b.Dur + pulse - 1) / pulse)
}

// countPulses walks through the beats of all bars.
func (p *page) countPulses() {
	p.pulses = make([]pulses, len(p.bars))
	var at [2]int
	for b, bar := range p.bars {
		beat := bar.Meter.OrCommon().Pulse()
		fine := beat / 4 // what the metre's own divisions are multiples of
		if bar.Meter.Compound() {
			fine = beat / 6
		}
		// A pick-up counts from its end.
		from := bar.At
		if bar.Pickup && bar.Dur%beat != 0 {
			from -= beat - bar.Dur%beat
		}
		for from < bar.End() {
			var in [2][]strike
			for h := range in {
				i := at[h]
				for at[h] < len(p.strikes[h]) && p.strikes[h][at[h]].at < from+beat && p.strikes[h][at[h]].bar == b {
					at[h]++
				}
				in[h] = p.strikes[h][i:at[h]]
			}
			if len(in[0])+len(in[1]) == 0 {
				// Empty beats pass at one go: a bar may be long.
				next := bar.End()
				for h := range in {
					if at[h] < len(p.strikes[h]) && p.strikes[h][at[h]].bar == b {
						next = min(next, p.strikes[h][at[h]].at)
					}
				}
				from += max(1, (next-from)/beat) * beat
				continue
			}
			t := &p.pulses[b]
			t.beats++
			uneven := false
			for h := range in {
				for k, st := range in[h] {
					off := st.at - from
					uneven = uneven || fine > 0 && off%fine != 0
					next := at[h] - len(in[h]) + k + 1
					if off > 0 && st.end > from+beat && (next >= len(p.strikes[h]) || p.strikes[h][next].at > from+beat) {
						t.held++
					}
				}
			}
			if uneven {
				t.uneven++
			}
			if interlock(in[0], in[1], from) {
				t.crossing++
			}
			from += beat
		}
		for h := range at { // what lies between two bars counts in no beat
			for at[h] < len(p.strikes[h]) && p.strikes[h][at[h]].bar <= b {
				at[h]++
			}
		}
	}
}

// interlock tells whether each hand strikes, off the beat, where the other does
// not.
func interlock(a, b []strike, beat theory.Dur) bool {
	onlyA, onlyB := false, false
	i, j := 0, 0
	for i < len(a) || j < len(b) {
		switch {
		case j == len(b) || i < len(a) && a[i].at < b[j].at:
			onlyA = onlyA || a[i].at > beat
			i++
		case i == len(a) || b[j].at < a[i].at:
			onlyB = onlyB || b[j].at > beat
			j++
		default:
			i++
			j++
		}
	}
	return onlyA && onlyB
}

// microseconds is how long a stretch lasts at the printed tempo.
func (p *page) microseconds(d theory.Dur) int64 {
	return int64(d) * 60_000_000 / (int64(p.quarters) * int64(theory.Quarter))
}

// sums adds up the tallies of a hand in bars [from, to).
func (p *page) sums(hand, from, to int) tally {
	var out tally
	for _, t := range p.tallies[hand][from:to] {
		out.strikes += t.strikes
		out.notes += t.notes
		out.sounding += t.sounding
		out.steps += t.steps
		out.points += t.points
		out.octaves += t.octaves
		out.fifths += t.fifths
		out.fresh += t.fresh
		out.altered += t.altered
		out.effort += t.effort
		out.most = max(out.most, t.most)
		out.keys[0] |= t.keys[0]
		out.keys[1] |= t.keys[1]
	}
	return out
}

func (p *page) pulseSums(from, to int) pulses {
	var out pulses
	for _, t := range p.pulses[from:to] {
		out.beats += t.beats
		out.held += t.held
		out.uneven += t.uneven
		out.crossing += t.crossing
	}
	return out
}

// barOf names a bar as printed.
func (p *page) barOf(i int) int { return p.bars[i].Number }
