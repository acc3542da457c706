package dictation

import (
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/smf"
	"gradatim/leadsheet"
	"gradatim/score"
)

// handWords are the names by which programs call a hand's track (common practice, no
// source).
var handWords = map[score.Hand][]string{
	score.Right: {"right", "rh", "r.h.", "rechte", "treble", "upper"},
	score.Left:  {"left", "lh", "l.h.", "linke", "bass clef", "lower"},
}

// tuneWords are those by which they call a tune's.
var tuneWords = []string{"melod", "tune", "voice", "vocal", "lead", "solo", "sopran", "singer", "gesang", "stimme", "theme"}

func named(name string, words []string) bool {
	name = strings.ToLower(name)
	return slices.ContainsFunc(words, func(w string) bool {
		i := strings.Index(name, w)
		return i >= 0 && (len(w) > 2 || name == w || strings.HasSuffix(name, " "+w) || strings.HasPrefix(name, w+" "))
	})
}

// Lines lists the lines of a file that can have the tune, in its order, as they are
// called. Percussion is none.
func Lines(f smf.File) (names []string, index []int) {
	for i, l := range f.Lines {
		if l.Channel == smf.Percussion || len(l.Notes) == 0 {
			continue
		}
		name := l.Name
		if name == "" {
			name = fmt.Sprintf("track %d, channel %d", l.Track, l.Channel+1)
		}
		names, index = append(names, name), append(index, i)
	}
	return names, index
}

// lines chooses the notes and their hands.
func (t *take) lines() error {
	names, index := Lines(t.file)
	if len(index) == 0 {
		t.tell(leadsheet.Error, "no-music.notes")
		return t.problems
	}
	if len(index) < len(t.file.Lines) {
		t.info("midi-percussion")
	}
	if t.opt.Line > len(index) {
		t.tell(leadsheet.Error, "midi-line", "Number", fmt.Sprint(t.opt.Line), "Lines", strings.Join(names, ", "))
		return t.problems
	}
	hands := make(map[int]score.Hand)
	split := -1 // the line that both hands share
	switch right, left := byHands(t.file, index); {
	case t.opt.Line > 0:
		for _, i := range index {
			hands[i] = score.Left
		}
		hands[index[t.opt.Line-1]] = score.Right
	case right >= 0 && left >= 0 && len(index) == 2:
		hands[right], hands[left] = score.Right, score.Left
	case len(index) == 1:
		hands[index[0]] = score.Right
		if polyphonic(t.file.Lines[index[0]]) {
			split = index[0]
		}
	case len(index) == 2:
		up, low := index[0], index[1]
		if meanKey(t.file.Lines[low]) > meanKey(t.file.Lines[up]) {
			up, low = low, up
		}
		hands[up], hands[low] = score.Right, score.Left
	default:
		best, most := 0, -1.0
		for k, i := range index {
			if v := tuneful(t.file, i); v > most {
				best, most = k, v
			}
		}
		for _, i := range index {
			hands[i] = score.Left
		}
		hands[index[best]] = score.Right
		t.info("midi-line-found", "Line", names[best], "Number", best+1, "Lines", strings.Join(names, ", "))
	}
	div := float64(t.file.Division)
	for _, i := range index {
		for _, n := range t.file.Lines[i].Notes {
			on, off := float64(n.At)/div, float64(n.At+n.Length)/div
			t.notes = append(t.notes, note{line: i, on: on, off: off, down: on, up: off, key: n.Key, vel: n.Velocity, hand: hands[i]})
		}
	}
	t.sortNotes()
	// What strikes one key twice at once is one note, as long as the longest.
	last := map[[2]int]int{}
	kept := t.notes[:0]
	for _, n := range t.notes {
		k := [2]int{int(n.hand), n.key}
		if j, ok := last[k]; ok && kept[j].on == n.on {
			kept[j].off, kept[j].vel = max(kept[j].off, n.off), max(kept[j].vel, n.vel)
			kept[j].up = kept[j].off
			continue
		}
		last[k] = len(kept)
		kept = append(kept, n)
	}
	t.notes = kept
	if split >= 0 {
		t.splitHands()
		t.info("midi-hands-split")
	}
	return nil
}

// byHands finds the lines that are called after the hands; −1: none.
func byHands(f smf.File, index []int) (right, left int) {
	right, left = -1, -1
	for _, i := range index {
		switch name := f.Lines[i].Name; {
		case named(name, handWords[score.Right]) && right < 0:
			right = i
		case named(name, handWords[score.Left]) && left < 0:
			left = i
		}
	}
	return right, left
}

func meanKey(l smf.Line) float64 {
	sum := 0
	for _, n := range l.Notes {
		sum += n.Key
	}
	return float64(sum) / float64(len(l.Notes))
}

// alone is the share of a line's notes that begin when no other of it sounds.
func alone(l smf.Line) float64 {
	n, end := 0, int64(-1)
	for i, x := range l.Notes {
		if x.At+x.Length/8 >= end && (i+1 == len(l.Notes) || l.Notes[i+1].At > x.At) {
			n++
		}
		end = max(end, x.At+x.Length)
	}
	return float64(n) / float64(len(l.Notes))
}

func polyphonic(l smf.Line) bool { return alone(l) < 0.9 }

// tuneful weighs a line as the tune: called so, one note at a time, high, and there
// most of the time.
func tuneful(f smf.File, i int) float64 {
	l := f.Lines[i]
	end := int64(1)
	for _, x := range f.Lines {
		for _, n := range x.Notes {
			end = max(end, n.At+n.Length)
		}
	}
	bars := map[int64]bool{}
	for _, n := range l.Notes {
		bars[n.At/int64(4*f.Division)] = true
	}
	v := 2*alone(l) + meanKey(l)/48 + float64(len(bars))*float64(4*f.Division)/float64(end)
	if named(l.Name, tuneWords) {
		v += 3
	}
	if l.Program >= 32 && l.Program < 40 { // basses of General MIDI
		v -= 1.5
	}
	return v
}

// splitHands gives each note of a line that both hands play to one of them.
//
// Problem: where the hands part, moment by moment. Objective: a key at which they part,
// that stays where it is (3 for each half step that it moves, spread over the notes), with
// hands no wider than a tenth (20 for each half step beyond), no more than five notes
// each, near the middle of the keyboard, and in a gap. Dynamic programming over the
// moments and the keys from C2 to C6: 49 × 49 × moments. Rejected: one key for the piece,
// which cuts through a left hand that climbs. Our own weights; common practice, no source.
func (t *take) splitHands() {
	const low, n = 36, 49
	var groups [][]int
	for i := 0; i < len(t.notes); {
		j := i
		for j < len(t.notes) && t.notes[j].on-t.notes[i].on < 0.06 {
			j++
		}
		var g []int
		for k := i; k < j; k++ {
			g = append(g, k)
		}
		groups = append(groups, g)
		i = j
	}
	cost := make([]int, n)
	from := make([][n]uint8, len(groups))
	for gi, g := range groups {
		var next [n]int
		for s := range n {
			best, arg := 1<<60, 0
			for p := range n {
				if c := cost[p] + 3*max(s-p, p-s); c < best {
					best, arg = c, p
				}
			}
			at := low + s
			var span [2][2]int
			var count [2]int
			span[0], span[1] = [2]int{127, 0}, [2]int{127, 0}
			near := 12
			for _, k := range g {
				key, h := t.notes[k].key, 0
				if key >= at {
					h = 1
				}
				count[h]++
				span[h][0], span[h][1] = min(span[h][0], key), max(span[h][1], key)
				near = min(near, max(key-at, at-1-key))
			}
			c := best + max(at-60, 60-at)/2 - near
			for h := range 2 {
				c += 20*max(0, span[h][1]-span[h][0]-16) + 60*max(0, count[h]-5)
			}
			next[s], from[gi][s] = c, uint8(arg)
		}
		copy(cost, next[:])
	}
	s := 0
	for k := range cost {
		if cost[k] < cost[s] {
			s = k
		}
	}
	for gi := len(groups) - 1; gi >= 0; gi-- {
		for _, k := range groups[gi] {
			t.notes[k].hand = score.Left
			if t.notes[k].key >= low+s {
				t.notes[k].hand = score.Right
			}
		}
		s = int(from[gi][s])
	}
}
