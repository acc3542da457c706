package notate

import (
	"slices"
	"sort"

	"gradatim/score"
	"gradatim/theory"
)

// Octave lines.
//
// Problem: a tune that lies high is hard to read in ledger lines, and harder where 8va
// begins and ends among its notes. So a line stands over whole phrases: over those that
// need it and whose every note can be written an octave lower, and over a phrase between
// two of them that can. Where a phrase falls out of it near its end the line stands over what
// comes before. A phrase needs it where it stays on three ledger lines for a third
// of its time, on four for some beats, or goes above four, and does so more than in passing; below that ledger lines are read.
// Once there is a line, it goes on over a phrase that goes up to four at all. Beside a phrase
// of its strain that goes as high and can have no line, one that stays within four has none
// either: a strain half under 8va and half on ledger lines is read worse than one way.
// What no pianist counts, six lines and more, has a line by itself where its phrase can have
// none. Linear in the notes. Rejected: a line over each stretch of high notes, which goes
// off for a beat in the middle of a phrase. (Common practice, no source; the limits are
// ours.)
const (
	readLedgers  = 3 // lines that are read, though not for long
	fewLedgers   = 4 // lines that are read now and then
	mostLedgers  = 5 // lines that are read at all
	fewBeats     = 2 // on fewLedgers, at least
	fewStrikes   = 3 // on readLedgers, at least: for one or two nobody writes a line
	below        = 6 // positions under the middle line that notes may come to under a line: one ledger line
	deepest      = 8 // and those that sound under others: two
	phraseOfBars = 4 // where the score names no phrases
)

// breath is a phrase of a staff: the notes that begin in it.
type breath struct {
	reach
	needs, fits bool
	high        bool       // a note of it stands on fewLedgers
	steep       bool       // and one on mostLedgers
	strain      int        // the section that most of it belongs to
	head        theory.Dur // where it falls out of an octave line for good, most of it being before; 0: it does not
	first, last int        // the notes, by index; last is behind them
}

// lined is the stretch of a phrase that a line can stand over; ok is false where there is none.
func (b *breath) lined() (r reach, ok bool) {
	if b.fits {
		return b.reach, true
	}
	return reach{b.a, b.head}, b.head > 0
}

// chooseOctaves puts 8va lines over phrases that lie too high. Where the score
// brings its own for a staff, those are used.
func (w *writer) chooseOctaves() {
	cuts := w.phrases()
	for _, staff := range w.hands() {
		if w.givenOctaves(staff) {
			continue
		}
		notes := w.heldOn(staff)
		all := w.breaths(staff, notes, cuts)
		lined := 0 // behind the last phrase under a line
		for i := 0; i < len(all); {
			b := all[i]
			r, ok := b.lined()
			if !b.needs || !ok {
				if b.needs {
					w.peaks(staff, notes[b.first:b.last])
				}
				i++
				continue
			}
			first := i
			for i++; i < len(all) && all[i-1].fits; i++ {
				next, ok := all[i].lined()
				if !ok || !all[i].needs && !all[i].high && !(all[i].fits && i+1 < len(all) && all[i+1].needs && all[i+1].fits) {
					break
				}
				r.b = next.b
			}
			if torn(all, first, i, lined) {
				continue
			}
			w.raise(staff, r)
			lined = i
		}
	}
}

// torn tells whether a line over the phrases from first to last (not included) would leave
// a phrase of the same strain beside them as high without one, though they can do without;
// lined is behind the last phrase before that has a line.
func torn(all []breath, first, last, lined int) bool {
	if slices.ContainsFunc(all[first:last], func(b breath) bool { return b.steep }) {
		return false
	}
	bare := func(i, beside int) bool {
		return i >= lined && i < len(all) && all[i].strain == all[beside].strain && (all[i].needs || all[i].high)
	}
	return bare(first-1, first) || bare(last, last-1)
}

// phrases lists where the phrases and sections of the score begin, in order.
func (w *writer) phrases() []theory.Dur {
	bars := w.Source.Bars
	named := slices.ContainsFunc(bars, func(b score.Bar) bool { return b.PhraseStart && b.At > 0 || b.Section != "" && b.At > 0 })
	out := []theory.Dur{0}
	full := 0
	for i, b := range bars {
		at := b.At
		switch {
		case i == 0:
		case named && b.PhraseStart:
			out = append(out, at+min(b.PhraseAt, b.Dur-1))
		case named && b.Section != "" && !bars[i-1].Pickup, !named && full%phraseOfBars == 0 && !bars[i-1].Pickup:
			out = append(out, at)
		}
		if !b.Pickup {
			full++
		}
	}
	return out
}

// breaths cuts the notes of a staff into phrases and looks at each.
func (w *writer) breaths(staff score.Hand, notes []held, cuts []theory.Dur) (out []breath) {
	i := 0
	until := theory.Dur(0) // of the notes before
	bar, strain := 0, 0    // the next, and the sections begun before it
	for k, from := range cuts {
		to := w.Source.End()
		if k+1 < len(cuts) {
			to = cuts[k+1]
		}
		b := breath{first: i, fits: until <= from}
		var time [mostLedgers + 1]theory.Dur // on so many ledger lines and more
		strikes := 0
		for i < len(notes) && notes[i].at < to {
			n, end, fitted := notes[i], theory.Dur(0), b.fits
			if i == b.first {
				b.a = n.at
			}
			high, low := n.pos, n.pos
			for ; i < len(notes) && notes[i].at == n.at; i++ {
				high, end, low = max(high, notes[i].pos), max(end, notes[i].end), min(low, notes[i].pos)
			}
			room := below
			if low < high || until > n.at {
				room = deepest
			}
			b.fits = b.fits && low-7 >= Treble.middle()-room && (high == low || high-7 >= Treble.middle()-below)
			if fitted && !b.fits && until <= n.at {
				b.head = n.at
			}
			b.b, until = max(b.b, min(end, to)), max(until, end)
			if i < len(notes) {
				end = min(end, notes[i].at)
			}
			if w.clefAt(staff, n.at) != Treble {
				b.fits = false
				continue
			}
			if ledgers(high, Treble) >= readLedgers {
				strikes++
				if !b.fits { // it goes up again
					b.head = 0
				}
			}
			b.high = b.high || ledgers(high, Treble) >= fewLedgers
			for l := 1; l <= min(ledgers(high, Treble), mostLedgers); l++ {
				time[l] += end - n.at
			}
		}
		if b.last = i; b.first == b.last {
			continue
		}
		beat := w.Source.Bars[w.Source.BarAt(b.a)].Meter.BeatDur()
		b.needs = strikes >= fewStrikes && (time[readLedgers]*3 >= b.b-b.a || time[fewLedgers] >= fewBeats*beat || time[mostLedgers] > 0)
		b.fits = b.fits && until <= to
		b.steep = time[mostLedgers] > 0
		for middle := (b.a + b.b) / 2; bar < len(w.Source.Bars) && w.Source.Bars[bar].At <= middle; bar++ {
			if w.Source.Bars[bar].Section != "" {
				strain++
			}
		}
		b.strain = strain
		if 2*(b.head-b.a) < b.b-b.a {
			b.head = 0
		}
		out = append(out, b)
	}
	return out
}

// raise puts a line over a stretch; it goes on where the one before ends.
func (w *writer) raise(staff score.Hand, r reach) {
	if rs := w.octaves[staff]; len(rs) > 0 && rs[len(rs)-1].b >= r.a {
		rs[len(rs)-1].b = max(rs[len(rs)-1].b, r.b)
		return
	}
	w.octaves[staff] = append(w.octaves[staff], r)
}

// peaks puts a line over notes that nobody reads without one, together with those beside
// them that are as good with it.
func (w *writer) peaks(staff score.Hand, notes []held) {
	for i := 0; i < len(notes); {
		r := reach{notes[i].at, notes[i].end}
		beyond, strikes, j := false, 0, i
		for ; j < len(notes) && notes[j].pos-7 > Treble.middle() && w.clefAt(staff, notes[j].at) == Treble; j++ {
			beyond = beyond || ledgers(notes[j].pos, Treble) > mostLedgers
			r.b = max(r.b, notes[j].end)
			if j == i || notes[j].at > notes[j-1].at {
				strikes++
			}
		}
		if j < len(notes) && notes[j].at < r.b {
			beyond = false
		}
		if beyond && strikes >= fewStrikes {
			w.raise(staff, r)
		}
		i = max(j, i+1)
	}
}

func (w *writer) givenOctaves(staff score.Hand) bool {
	given, open := false, theory.Dur(-1)
	for _, d := range w.Source.Directions {
		if w.signStaff(d.Hand) != staff {
			continue
		}
		switch d.Kind {
		case score.OctaveUp:
			given = true
			if open < 0 {
				open = max(d.At, 0)
			}
		case score.OctaveEnd:
			if open >= 0 && d.At > open {
				w.octaves[staff] = append(w.octaves[staff], reach{open, min(d.At, w.Source.End())})
			}
			open = -1
		}
	}
	if open >= 0 && open < w.Source.End() {
		w.octaves[staff] = append(w.octaves[staff], reach{open, w.Source.End()})
	}
	return given
}

// position returns where a pitch stands on its staff at a moment: the diatonic
// position as written, an octave lower under an 8va line.
func (w *writer) position(staff score.Hand, at theory.Dur, p theory.Pitch) int {
	rs := w.octaves[staff]
	i := sort.Search(len(rs), func(i int) bool { return rs[i].b > at })
	if i < len(rs) && rs[i].a <= at {
		return p.Staff() - 7
	}
	return p.Staff()
}
