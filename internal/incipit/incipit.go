// Package incipit tells melodies apart by their intervals: how a tune begins, whatever its
// key, spelling and metre, and which tunes may be the same.
//
// Problem: of a hundred thousand melodies find those that are this one again, in another
// key, another metre, with other repeats or a few other notes, without comparing it with
// each. Source: sets of short stretches compared by the least of their hashes, A. Broder,
// "On the resemblance and containment of documents" (1997), with bands of several such
// hashes, as is common for finding near duplicates. The stretches are of the melody's
// contour, in five sizes of step, with repeated notes left out: metre and syllables change
// those first. What shares a mark is compared note for note ([Same]). Of two tunes with
// the share s of stretches in common, 1-(1-s⁴)⁸ are found: 98 % at 0.8, a tune in another
// key always; at a share of 0.1, which strangers have, one in a thousand is compared.
// Rejected: an index of every stretch, which has fifty rows for each tune in place of
// eight; the edit distance to all, a second for each tune that is added.
package incipit

import (
	"encoding/binary"
	"hash/fnv"
	"strconv"
	"strings"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// Most is how many intervals of a melody are kept.
const Most = 64

// Least is how few notes of a melody say too little to take two for the same.
const Least = 12

// Incipit is a melody as intervals, in half steps.
type Incipit struct {
	First    string // from the first note on, as Text writes it
	Downbeat string // from the first note of the first full bar on
	Melody   string // the whole, Most at most, repeated notes left out
	Marks    []int64
}

// Of finds the incipit of a song's melody.
func Of(song leadsheet.Song) Incipit {
	var pitches []theory.Pitch
	downbeat := -1
	start := theory.Dur(0)
	for _, b := range song.Bars {
		if !b.Pickup {
			start = b.At
			break
		}
	}
	for i, n := range song.Melody {
		if downbeat < 0 && n.At >= start {
			downbeat = i
		}
		pitches = append(pitches, n.Pitch)
	}
	all := Intervals(pitches)
	var moving []int
	for _, iv := range all {
		if iv != 0 {
			moving = append(moving, iv)
		}
	}
	moving = moving[:min(len(moving), Most)]
	in := Incipit{First: Text(all[:min(len(all), Most)]), Melody: Text(moving), Marks: marks(moving)}
	if downbeat >= 0 && downbeat < len(all) {
		in.Downbeat = Text(all[downbeat:min(len(all), downbeat+Most)])
	}
	return in
}

// Again is an incipit of which the texts were kept.
func Again(first, downbeat, melody string) Incipit {
	return Incipit{First: first, Downbeat: downbeat, Melody: melody, Marks: marks(Parse(melody))}
}

// Intervals are the steps between pitches, in half steps.
func Intervals(ps []theory.Pitch) []int {
	var out []int
	for i := 1; i < len(ps); i++ {
		out = append(out, ps[i].MIDI()-ps[i-1].MIDI())
	}
	return out
}

// Text writes intervals so that the beginning of a melody is the beginning of its text:
// "2,2,-4,".
func Text(ivs []int) string {
	var b strings.Builder
	for _, iv := range ivs {
		b.WriteString(strconv.Itoa(iv))
		b.WriteByte(',')
	}
	return b.String()
}

// Parse reads what Text wrote.
func Parse(text string) []int {
	var out []int
	for f := range strings.SplitSeq(text, ",") {
		if n, err := strconv.Atoi(f); err == nil {
			out = append(out, n)
		}
	}
	return out
}

// Typed reads how a person writes the beginning of a melody: notes, "G A B C5", of which
// one without an octave lies nearest to the one before it (a fourth up or less, or a fourth
// down or less; between an augmented fourth up and down, up); or intervals in half steps,
// "+2 +2 -4", each with its sign but 0.
func Typed(text string) ([]int, bool) {
	words := strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == ',' || r == '\t' })
	if len(words) == 0 {
		return nil, false
	}
	if strings.ContainsAny(words[0][:1], "+-0") {
		var out []int
		for _, w := range words {
			n, err := strconv.Atoi(w)
			if err != nil || n < -48 || n > 48 || n != 0 && w[0] != '+' && w[0] != '-' {
				return nil, false
			}
			out = append(out, n)
		}
		return out, true
	}
	var out []int
	last := 0
	for i, w := range words {
		var at int
		if p, err := theory.ParsePitch(w); err == nil {
			at = p.MIDI()
		} else if p, err := theory.ParsePitch(w + "4"); err == nil {
			at = p.MIDI()
			for i > 0 && at-last > 6 {
				at -= 12
			}
			for i > 0 && at-last < -5 {
				at += 12
			}
		} else {
			return nil, false
		}
		if i > 0 {
			out = append(out, at-last)
		}
		last = at
	}
	return out, len(out) > 0
}

// stretch is how many steps of the contour are looked at together.
const stretch = 4

// Marks are in bands of rows hashes.
const (
	bands = 8
	rows  = 4
)

// size is a step of the contour: a step of the scale, a third, a fourth or fifth, more.
func size(iv int) byte {
	n := max(iv, -iv)
	var s byte
	switch {
	case n == 0:
		s = 0
	case n <= 2:
		s = 1
	case n <= 4:
		s = 2
	case n <= 7:
		s = 3
	default:
		s = 4
	}
	if iv < 0 {
		return s | 8
	}
	return s
}

// marks are none of a melody that is too short to say anything.
func marks(ivs []int) []int64 {
	if len(ivs) < Least-1 {
		return nil
	}
	var least [bands * rows]uint64
	for i := range least {
		least[i] = ^uint64(0)
	}
	for i := 0; i+stretch <= len(ivs); i++ {
		var s uint64
		for _, iv := range ivs[i : i+stretch] {
			s = s<<4 | uint64(size(iv))
		}
		for k := range least {
			least[k] = min(least[k], mixed(s+uint64(k)<<32))
		}
	}
	out := make([]int64, bands)
	for b := range out {
		h := fnv.New64a()
		var buf [8]byte
		h.Write([]byte{byte(b)})
		for r := range rows {
			binary.LittleEndian.PutUint64(buf[:], least[b*rows+r])
			h.Write(buf[:])
		}
		out[b] = int64(h.Sum64())
	}
	return out
}

// mixed spreads a number over 64 bits: the finaliser of MurmurHash3 (A. Appleby, public
// domain).
func mixed(x uint64) uint64 {
	x ^= x >> 33
	x *= 0xff51afd7ed558ccd
	x ^= x >> 33
	x *= 0xc4ceb9fe1a85ec53
	return x ^ x>>33
}

// Same tells whether two melodies are one: of the stretch that both have, one note in
// eight at most is another, more, or less. They are Melody of Incipit.
func Same(a, b string) bool {
	x, y := Parse(a), Parse(b)
	n := min(len(x), len(y))
	if n < Least-1 {
		return false
	}
	if d := max(len(x), len(y)) - n; d > n/8 && max(len(x), len(y)) < Most {
		return false // one is much longer than the other
	}
	x, y = x[:n], y[:n]
	// An interval is two notes: a changed note is two changed intervals.
	most := 2 * ((n + 7) / 8)
	return distance(x, y, most) <= most
}

// distance is the least number of intervals to add, drop or change (V. Levenshtein,
// 1966), or more than most: only what can stay within is looked at.
func distance(a, b []int, most int) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		corner, least := row[0], i
		row[0] = i
		for j := 1; j <= len(b); j++ {
			change := corner
			if a[i-1] != b[j-1] {
				change++
			}
			corner = row[j]
			row[j] = min(change, corner+1, row[j-1]+1)
			least = min(least, row[j])
		}
		if least > most {
			return least
		}
	}
	return row[len(b)]
}
