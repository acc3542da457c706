package harmony

import (
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Key finding.
//
// Problem: name the key of a stretch of music from what sounds in it, so that a
// wrong or missing key signature is noticed. Source: the probe-tone profiles of
// Krumhansl & Kessler (1982), the values from memory, correlated with how long
// each pitch class sounds, as Krumhansl and Schmuckler proposed; to that we add
// what a musician looks at first: the first and the last chord, the last melody
// note, and which chords dominants fall to. Objective: the highest sum over the
// 24 major and minor keys. All in integers: the profiles are centred and brought
// to one length beforehand, and the correlation's other factor is the same for
// all keys. Cost: one pass over the notes and spans, 24·12 products. A tie goes
// to the key nearer to the signature, then to major, then along the line of
// fifths. Rejected: a hidden Markov model of keys per bar, which finds
// modulations that a lead sheet's player reads as applied dominants.

// profiles are Krumhansl & Kessler's ratings for major and minor, centred on
// zero and scaled to length 1000: (r − mean) · 1000 / |r − mean|.
//
//	major 6.35 2.23 3.48 2.33 4.38 4.09 2.52 5.19 2.39 3.66 2.29 2.88
//	minor 6.33 2.68 3.52 5.38 2.60 3.53 2.54 4.75 3.98 2.69 3.34 3.17
var profiles = [2][12]int{
	{655, -286, -1, -263, 205, 139, -220, 390, -250, 41, -273, -138},
	{655, -257, -47, 418, -277, -45, -292, 260, 68, -255, -92, -135},
}

// weights of the evidence. The correlations reach ±1000 each.
const (
	melodyWeight  = 2
	chordWeight   = 3
	lastChord     = 900
	picardyThird  = 600 // …as a major triad that closes a minor tune
	firstChord    = 350
	lastNote      = 350
	resolvedShare = 1000 // times the share of dominant sevenths that fall to the tonic
	fewDominants  = 6    // …of so many at least: two do not prove a key
)

// evidence is what one stretch holds.
type evidence struct {
	melody, chords [12]int64 // sounding time per pitch class
	resolved       [12]int64 // dominant sevenths that fall a fifth, by the class they reach
	first, last    theory.Chord
	dominants      int64 // …and how many there are
	final          int   // class of the last melody note; −1
}

// gather collects what sounds in the bars first to last.
func gather(song leadsheet.Song, ss []Span, from, to theory.Dur) evidence {
	e := evidence{final: -1}
	for _, n := range notesIn(song.Melody, from, to) {
		e.melody[n.Pitch.Class()] += int64(min(n.Dur, 2*theory.Whole))
		e.final = n.Pitch.Class()
	}
	var before theory.Chord
	for _, s := range spansIn(ss, from, to) {
		if !s.Sounding() {
			continue
		}
		long := int64(min(s.End, to) - max(s.At, from))
		for d := range s.Chord.Tones.All() {
			w := long
			if d.Number == 1 {
				w = 2 * long
			}
			if d.Number <= 7 {
				e.chords[(s.Chord.Root.Class()+d.Class())%12] += w
			}
		}
		if isDominantSeventh(before) && above(before.Root, s.Chord.Root) == 5 {
			e.resolved[s.Chord.Root.Class()]++
			e.dominants++
		}
		before = s.Chord
		if e.first.Silent() {
			e.first = s.Chord
		}
		e.last = s.Chord
	}
	return e
}

// score weighs one key against the evidence.
func (e evidence) score(tonic int, minorKey bool) int64 {
	g := 0
	if minorKey {
		g = 1
	}
	total := melodyWeight*correlate(e.melody, profiles[g], tonic) +
		chordWeight*correlate(e.chords, profiles[g], tonic)
	if isTriadOn(e.last, tonic, minorKey) {
		total += lastChord
	}
	if minorKey && isTriadOn(e.last, tonic, false) {
		total += picardyThird
	}
	if isTriadOn(e.first, tonic, minorKey) {
		total += firstChord
	}
	if e.final == tonic {
		total += lastNote
	}
	if e.dominants > 0 {
		total += resolvedShare * e.resolved[tonic] / max(e.dominants, fewDominants)
	}
	return total
}

// correlate returns 1000 times the correlation of a histogram with a profile
// turned to a tonic, 0 for an empty or even one.
func correlate(hist [12]int64, profile [12]int, tonic int) int64 {
	var sum int64
	for _, h := range hist {
		sum += h
	}
	if sum <= 0 {
		return 0
	}
	for sum >= 1<<40 { // keeps the products below in range, whatever the length
		sum = 0
		for i := range hist {
			hist[i] /= 1 << 8
			sum += hist[i]
		}
	}
	var dot, square int64
	for i := range 12 {
		c := (hist[(tonic+i)%12]*12 - sum) * 10000 / sum // centred, in 1/10000 of an even share
		dot += c * int64(profile[i])
		square += c * c
	}
	if square == 0 {
		return 0
	}
	return dot / int64(isqrt(uint64(square)))
}

// isqrt is the integer square root, rounded down.
func isqrt(n uint64) uint64 {
	if n < 2 {
		return n
	}
	x := n
	for y := (x + 1) / 2; y < x; y = (x + n/x) / 2 {
		x = y
	}
	return x
}

// estimate names the key of the evidence. near is the declared key, which
// settles ties and spelling; the zero Key settles nothing. ok is false where
// nothing sounds.
func (e evidence) estimate(near theory.Key) (key theory.Key, margin int64, ok bool) {
	var best, second int64 = -1 << 62, -1 << 62
	var bestKey theory.Key
	for _, mode := range []theory.Mode{theory.Major, theory.Minor} {
		for class := range 12 {
			k := theory.Key{Tonic: spellTonic(class, mode, near), Mode: mode}
			s := e.score(class, mode == theory.Minor)
			switch {
			case s > best || s == best && closer(k, bestKey, near):
				second, best, bestKey = best, s, k
			case s > second:
				second = s
			}
		}
	}
	if best == 0 && second == 0 {
		return near, 0, false
	}
	bestKey.Mode = e.mode(bestKey)
	return bestKey, best - second, true
}

// closer orders equally good keys: fewer signature steps from the near key,
// then major before minor, then the lower place on the line of fifths.
func closer(a, b, near theory.Key) bool {
	if near.Valid() {
		if x, y := abs(a.Fifths()-near.Fifths()), abs(b.Fifths()-near.Fifths()); x != y {
			return x < y
		}
	}
	if a.Mode != b.Mode {
		return a.Mode < b.Mode
	}
	return a.Fifths() < b.Fifths()
}

// mode refines major and minor by the degrees that set the church modes apart:
// a flat seventh instead of the leading tone makes major mixolydian; a natural
// sixth and no leading tone make minor dorian. Phrygian, lydian and locrian are
// left to the sheet to declare.
func (e evidence) mode(k theory.Key) theory.Mode {
	at := func(semitones int) int64 {
		c := (k.Tonic.Class() + semitones) % 12
		return 2*e.melody[c] + e.chords[c]
	}
	switch k.Mode {
	case theory.Major:
		if at(10) > 3*at(11) && at(10)*12 > at(0) {
			return theory.Mixolydian
		}
	case theory.Minor:
		if at(9) > 3*at(8) && at(10) > 3*at(11) && at(9)*12 > at(0) {
			return theory.Dorian
		}
	}
	return k.Mode
}

// spellTonic spells a tonic: as in the near key's surroundings where there is
// one, else with the smaller signature, else with flats.
func spellTonic(class int, mode theory.Mode, near theory.Key) theory.Name {
	if near.Valid() && near.Tonic.Class() == class {
		return near.Tonic
	}
	want := 0
	if near.Valid() {
		want = near.Fifths()
	}
	var best theory.Key
	for f := -7; f <= 7; f++ {
		k := theory.KeyOf(f, mode)
		if k.Tonic.Class() != class {
			continue
		}
		if !best.Valid() || abs(f-want) < abs(best.Fifths()-want) {
			best = k
		}
	}
	return best.Tonic
}

// EstimateKey names the key of a whole song from its melody and chords alone;
// ok is false where nothing sounds. Spelling leans towards the declared key.
func EstimateKey(song leadsheet.Song) (key theory.Key, ok bool) {
	return estimateSong(song, spans(song))
}

func estimateSong(song leadsheet.Song, ss []Span) (theory.Key, bool) {
	if len(song.Bars) == 0 {
		return song.Key, false
	}
	key, _, ok := gather(song, ss, song.Bars[0].At, song.End()).estimate(song.Key)
	return key, ok
}

// agrees tells whether two keys are one to a player: the same tonic by sound and
// both major or both minor in their third. A mode's finer shade does not count.
func agrees(a, b theory.Key) bool {
	return a.Tonic.Class() == b.Tonic.Class() && a.Mode.Minorish() == b.Mode.Minorish()
}

// Where the estimate must beat the next best key clearly to be told against the
// sheet, and how long a stretch must be to be judged at all.
const (
	minBars     = 4
	clearMargin = 300
	plainMargin = 1000 // …and to be read against the signature
)

// regions cuts the song where its key changes, judges each stretch, and decides
// the key that it is read in.
func regions(song leadsheet.Song, ss []Span, problems *leadsheet.Problems) []Region {
	var out []Region
	for i := range song.Bars {
		k := barKey(song, i)
		if len(out) == 0 || out[len(out)-1].Declared != k {
			out = append(out, Region{First: i, Last: i, Declared: k, Estimate: k, Key: k})
		}
		out[len(out)-1].Last = i
	}
	for i := range out {
		r := &out[i]
		r.judge(song, ss, problems)
	}
	return out
}

// tune is where the region has the tune: what an arranger sets around that says nothing of its key.
func (r *Region) tune(song leadsheet.Song) (from, to theory.Dur) {
	bars := song.Bars[r.First : r.Last+1]
	around := func(b leadsheet.Bar) bool { return b.Part != leadsheet.Tune }
	for len(bars) > 1 && around(bars[0]) {
		bars = bars[1:]
	}
	for len(bars) > 1 && around(bars[len(bars)-1]) {
		bars = bars[:len(bars)-1]
	}
	return bars[0].At, bars[len(bars)-1].End()
}

func (r *Region) judge(song leadsheet.Song, ss []Span, problems *leadsheet.Problems) {
	from, to := r.tune(song)
	declared := r.Declared.Valid() && song.KeyDeclared
	e := gather(song, ss, from, to)
	est, margin, ok := e.estimate(r.Declared)
	if !ok {
		if !r.Key.Valid() {
			r.Key = theory.Key{Tonic: theory.Name{Letter: theory.C}, Mode: theory.Major}
			r.Estimate = r.Key
		}
		return
	}
	r.Estimate = est
	pos := song.PosAt(from)
	switch {
	case !declared:
		r.Key = est
		problems.Tell(leadsheet.Info, pos, "key-estimated", "Key", est)
	case agrees(r.Declared, est):
	case r.Last-r.First+1 < minBars || margin < clearMargin:
		// Too little to hold against the sheet.
	case est.Fifths() == r.Declared.Fifths():
		r.Key = est
		problems.Tell(leadsheet.Warning, pos, "key-disagrees.relative", "Declared", r.Declared, "Key", est)
	case margin >= plainMargin && e.framedBy(est) && !e.framedBy(r.Declared):
		r.Key = est
		problems.Tell(leadsheet.Warning, pos, "key-disagrees.tune", "Declared", r.Declared, "Key", est)
	default:
		problems.Tell(leadsheet.Warning, pos, "key-disagrees.kept", "Declared", r.Declared, "Key", est)
	}
}

// framedBy tells whether the tonic chord stands at both ends.
func (e evidence) framedBy(k theory.Key) bool {
	tonic, minorKey := k.Tonic.Class(), k.Mode.Minorish()
	return isTriadOn(e.first, tonic, minorKey) && isTriadOn(e.last, tonic, minorKey)
}

func isTriadOn(c theory.Chord, class int, minorThird bool) bool {
	return !c.Silent() && c.Root.Class() == class && c.MinorThird() == minorThird
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}
