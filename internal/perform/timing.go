package perform

import (
	"math"
	"slices"
	"sort"
	"strings"
	"unicode"

	"gradatim/internal/sound/event"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Timing is the one table that maps positions of the score to seconds. Between
// two neighbouring points time runs evenly. The page, the player and every
// sound file made with the same options use this table.
type Timing struct {
	Lead   float64 `json:"lead"`   // seconds before anything
	Start  float64 `json:"start"`  // the music begins, after the count-in
	End    float64 `json:"end"`    // the last bar line, in seconds
	Passes int     `json:"passes"` // how many times the bars are played
	Points []Point `json:"points"` // by Pass, then At
}

// A Point is a position in a score and when it comes.
type Point struct {
	At      theory.Dur `json:"at"`   // in 1/20160 of a whole note from the start of the score
	Pass    int        `json:"pass"` // from 0
	Bar     int        `json:"bar"`  // number as printed
	Beat    bool       `json:"beat"` // a beat or a bar line, not a place between
	Seconds float64    `json:"s"`
}

// perPass is the number of points of one pass.
func (t Timing) perPass() int { return len(t.Points) / max(t.Passes, 1) }

// pass returns the points of one pass.
func (t Timing) pass(pass int) []Point {
	n := t.perPass()
	return t.Points[pass*n : (pass+1)*n]
}

// Seconds returns when a position comes in a pass. Positions outside the bars
// played continue at the tempo of the nearest.
func (t Timing) Seconds(at theory.Dur, pass int) float64 {
	ps := t.pass(min(max(pass, 0), t.Passes-1))
	i := sort.Search(len(ps), func(i int) bool { return ps[i].At > at })
	i = min(max(i, 1), len(ps)-1)
	a, b := ps[i-1], ps[i]
	return a.Seconds + (b.Seconds-a.Seconds)*float64(at-a.At)/float64(b.At-a.At)
}

// Position returns the position and the pass that sound at a time; ok is false
// before the music and after it.
func (t Timing) Position(seconds float64) (at theory.Dur, pass int, ok bool) {
	if len(t.Points) == 0 || seconds < t.Start || seconds >= t.End {
		return 0, 0, false
	}
	n := t.perPass()
	pass = sort.Search(t.Passes, func(p int) bool { return t.Points[p*n].Seconds > seconds }) - 1
	ps := t.pass(pass)
	i := sort.Search(len(ps), func(i int) bool { return ps[i].Seconds > seconds })
	i = min(max(i, 1), len(ps)-1)
	a, b := ps[i-1], ps[i]
	return a.At + theory.Dur(math.Round(float64(b.At-a.At)*(seconds-a.Seconds)/(b.Seconds-a.Seconds))), pass, true
}

// step is one beat of the grid on which time is laid.
type step struct {
	at, dur theory.Dur
	bar     int  // index into r.bars
	swung   bool // its second half comes late
}

// stepDur is the grid of a metre: quarters, or the beat of a compound metre.
func stepDur(m leadsheet.Meter) theory.Dur {
	if !m.Valid() {
		return theory.Quarter
	}
	if m.Compound() || m.BeatDur() < theory.Quarter {
		return m.BeatDur()
	}
	return theory.Quarter
}

// grid cuts the bars played into steps.
func (r *reading) grid() []step {
	var steps []step
	for i, b := range r.bars {
		unit := stepDur(b.Meter)
		for at := b.At; at < b.End(); {
			off := b.Offset(at)
			next := min(at+unit-off%unit, b.End())
			steps = append(steps, step{at: at, dur: next - at, bar: i})
			at = next
		}
	}
	if r.swing.Upbeat() == 0.5 {
		return steps
	}
	// A beat swings when its second half is struck and nothing is written in
	// finer values: triplets and sixteenths mean what they say. Both hands of a
	// player agree on the upbeat, so the beat decides for both.
	halves, finer := map[theory.Dur]bool{}, map[theory.Dur]bool{}
	for _, n := range r.score.Notes {
		if n.Grace > 0 {
			continue
		}
		for _, at := range []theory.Dur{n.At, n.End()} {
			j := sort.Search(len(steps), func(i int) bool { return steps[i].at > at }) - 1
			if j < 0 || at >= steps[j].at+steps[j].dur {
				continue
			}
			switch into := at - steps[j].at + theory.Quarter - steps[j].dur; {
			case into == theory.Eighth:
				halves[steps[j].at] = true
			case into%theory.Eighth != 0 && into%(theory.Quarter/3) != 0:
				finer[steps[j].at] = true
			}
		}
	}
	for i, s := range steps {
		m := r.bars[s.bar].Meter
		steps[i].swung = halves[s.at] && !finer[s.at] && !m.Compound() && s.dur >= theory.Eighth && stepDur(m) == theory.Quarter
	}
	return steps
}

// lay fills the timing table.
func (r *reading) lay() {
	steps := r.grid()
	slow := r.slowing(steps)
	t := Timing{Lead: Lead, Passes: max(r.opt.Loop, 1)}
	now := Lead + r.countIn()
	t.Start = now
	for pass := range t.Passes {
		drift := r.drift(steps, slow, pass)
		for i, s := range steps {
			unit, within := r.unitOver(s.at, s.dur)
			unit *= drift[i]
			b := r.bars[s.bar]
			t.Points = append(t.Points, Point{At: s.at, Pass: pass, Bar: b.Number, Beat: true, Seconds: now})
			length := float64(s.dur) * unit * slow[i]
			// A beat that a pick-up cuts short keeps its second half, and so its
			// distance to the next beat; an eighth alone is that second half.
			if second := float64(theory.Quarter) * unit * slow[i] * (1 - r.swing.Upbeat()); s.swung && s.dur == theory.Eighth {
				length = second
			} else if s.swung {
				t.Points = append(t.Points, Point{At: s.at + s.dur - theory.Eighth, Pass: pass, Bar: b.Number, Seconds: now + length - second})
			}
			if !s.swung { // a swung pair keeps one tempo
				at, in, unit := s.at, now, r.unitAt(s.at)
				for _, p := range within {
					in += float64(p.at-at) * unit * drift[i] * slow[i]
					at, unit = p.at, p.unit
					t.Points = append(t.Points, Point{At: at, Pass: pass, Bar: b.Number, Seconds: in})
				}
			}
			now += length
		}
		last := r.bars[len(r.bars)-1]
		t.Points = append(t.Points, Point{At: last.End(), Pass: pass, Bar: last.Number, Beat: true, Seconds: now})
	}
	for i := range t.Points {
		t.Points[i].Seconds = math.Round(t.Points[i].Seconds*1e6) / 1e6
	}
	t.End = t.Points[len(t.Points)-1].Seconds
	r.timing = t
}

// slowing returns by how much each step is longer than the tempo says.
//
// In straight pieces the last beat of a phrase takes its time (10 %), and a fermata
// holds half as long again: common practice, no source. What slows down is told by
// slowdowns. Where the score changes its tempo by itself, that is the tempo. The metronome
// overrules all of it.
func (r *reading) slowing(steps []step) []float64 {
	slow := make([]float64, len(steps))
	for i := range slow {
		slow[i] = 1
	}
	if r.steady || r.live {
		return slow
	}
	if r.swing.Upbeat() == 0.5 && len(r.paces) == 1 {
		for i := 1; i < len(steps); i++ {
			if b := r.bars[steps[i].bar]; b.PhraseStart && steps[i].bar > 0 && steps[i].at == b.At && !b.Pickup {
				slow[i-1] *= 1.1
			}
		}
	}
	for _, d := range r.slowdowns() {
		for i, s := range steps {
			x := float64(s.at+s.dur/2-d.from) / float64(max(d.goal-d.from, 1))
			if x > 0 && s.at < d.until {
				x = min(x, 1)
				slow[i] /= math.Cbrt(1 + (d.final*d.final*d.final-1)*x)
			}
		}
	}
	for _, n := range r.score.Notes {
		if n.Marks.Has(score.Fermata) && n.At < r.to && n.End() > r.from && !r.changes(n.At-1, n.End()) {
			from := n.At // several hold from the last of them on
			for _, m := range r.score.Notes {
				if m.Marks.Has(score.Fermata) && m.At < n.End() && m.End() > n.At {
					from = max(from, m.At)
				}
			}
			for i, s := range steps {
				if s.at < n.End() && s.at+s.dur > from {
					slow[i] = max(slow[i], 1.5)
				}
			}
		}
	}
	return slow
}

// slowdown is a stretch in which the tempo falls to a share of what it was.
type slowdown struct {
	from, goal theory.Dur // it begins; the share is reached
	until      theory.Dur // the tempo is as before again
	final      float64
}

// slowdowns lists where the player slows down: where the page says "rit.", until it
// says "a tempo" or the next phrase or section begins, and at the end, said or not.
//
// The tempo falls as a runner's who stops: with the cube root of a straight line
// (Friberg and Sundberg, "Does music performance allude to locomotion?", Journal of
// the Acoustical Society of America 105(3), 1999, with q = 3), to 70 % at the last
// onset; swing ends nearer to its time, and what slows down within a piece falls
// less (the amounts are ours).
func (r *reading) slowdowns() []slowdown {
	var out []slowdown
	swinging := r.swing.Upbeat() > 0.5
	end := theory.Dur(-1)
	for _, n := range r.score.Notes {
		end = max(end, n.At)
	}
	said := false // how the end slows down
	for i, d := range r.score.Directions {
		if d.Kind != score.Words || !slows(d.Text) {
			continue
		}
		until := r.score.End()
		for _, b := range r.score.Bars {
			if b.At > d.At && (b.PhraseStart || b.Section != "") {
				until = b.At
				break
			}
		}
		for _, e := range r.score.Directions[i+1:] {
			if e.Kind == score.Words && e.At > d.At && (restores(e.Text) || slows(e.Text)) {
				until = min(until, e.At)
				break
			}
		}
		switch {
		case d.At >= until || d.At >= end:
		case r.changes(d.At-1, until):
			said = said || until == r.score.End()
		case until < r.score.End():
			out = append(out, slowdown{d.At, until, until, 0.75})
		case swinging:
			said = true
			out = append(out, slowdown{d.At, end, until, 0.8})
		default:
			said = true
			out = append(out, slowdown{d.At, end, until, 0.7})
		}
	}
	if !said && r.to == r.score.End() {
		span := min(2*r.bars[len(r.bars)-1].Meter.Bar(), (r.to-r.from)/4)
		final := 0.7
		if swinging {
			final = 0.88
		}
		if len(r.paces) > 1 { // the score knows how to slow down, and does not
			return out
		}
		out = append(out, slowdown{end - span, end, r.to, final})
	}
	return out
}

// slows and restores read the words that slow a tempo down and bring it back.
func slows(words string) bool {
	return hasWord(words, "rit", "ritard", "ritardando", "riten", "ritenuto", "rall", "rallentando", "allarg", "allargando")
}

func restores(words string) bool {
	return hasWord(words, "tempo") && hasWord(words, "a", "i", "primo")
}

func hasWord(words string, list ...string) bool {
	for _, w := range strings.FieldsFunc(strings.ToLower(words), func(r rune) bool { return !unicode.IsLetter(r) }) {
		if slices.Contains(list, w) {
			return true
		}
	}
	return false
}

// countIn is the length of the count-in in seconds. Where the music starts with
// a pick-up, the bar it belongs to is counted up to it.
func (r *reading) countIn() float64 { return float64(r.countInDur()) * r.unitAt(r.from) }

func (r *reading) countInDur() theory.Dur {
	if r.opt.CountIn == 0 {
		return 0
	}
	b := r.bars[0]
	return theory.Dur(r.opt.CountIn)*b.Meter.Bar() + b.Offset(b.At)
}

// clicks returns the metronome's ticks: the count-in, and all beats if asked.
func (r *reading) clicks() []event.Tick {
	var ticks []event.Tick
	if n := r.countInDur(); n > 0 {
		m := r.bars[0].Meter
		for bar := theory.Dur(0); bar < n; bar += m.Bar() {
			for _, off := range r.ticked(m) {
				if at := bar + off; at < n {
					ticks = append(ticks, event.Tick{Time: Lead + float64(at)*r.unitAt(r.from), Accent: off == 0})
				}
			}
		}
	}
	if !r.opt.Click {
		return ticks
	}
	for pass := range r.timing.Passes {
		for _, b := range r.bars {
			for _, off := range r.ticked(b.Meter) {
				if at := b.At + off - b.Offset(b.At); at >= b.At && at < b.End() {
					ticks = append(ticks, event.Tick{Time: r.timing.Seconds(at, pass), Accent: off == 0})
				}
			}
		}
	}
	return ticks
}

// ticked lists the places of a full bar that are ticked: the beats; in quick uneven
// bars the short beats, or the feet where those would tick faster than four a second
// (common practice, no source).
func (r *reading) ticked(m leadsheet.Meter) []theory.Dur {
	beat := m.BeatDur()
	if m.Quick() && float64(beat)*r.tempo.unit() < 0.25 {
		return append([]theory.Dur{0}, m.Groups()...)
	}
	var out []theory.Dur
	for at := theory.Dur(0); at < m.Bar(); at += beat {
		out = append(out, at)
	}
	return out
}
