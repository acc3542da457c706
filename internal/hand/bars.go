package hand

import (
	"encoding/binary"
	"sort"

	"gradatim/score"
	"gradatim/theory"
)

// A bar that a hand plays again is fingered, and printed, as it was. A player learns it
// once; what differs without need is marked by every teacher. (Common practice, no
// source.)

// barOf returns the strikes from one place to another, as indexes.
func barOf(strikes []Strike, from, to theory.Dur) (i, j int) {
	i = sort.Search(len(strikes), func(k int) bool { return strikes[k].At >= from })
	j = sort.Search(len(strikes), func(k int) bool { return strikes[k].At >= to })
	return i, max(i, j)
}

// barKey is what strikes in a bar have in common that are the same to a hand.
func barKey(strikes []Strike, bar theory.Dur) string {
	var b []byte
	put := func(v int64) { b = binary.AppendVarint(b, v) }
	for i := range strikes {
		s := &strikes[i]
		put(int64(s.At - bar))
		put(int64(s.End - s.At))
		grace := int64(0)
		if s.Grace {
			grace = 1
		}
		put(grace)
		for _, keys := range [...][]int{s.Keys, s.Held} {
			put(int64(len(keys)))
			for _, k := range keys {
				put(int64(k))
			}
		}
	}
	return string(b)
}

// wishAlike hopes, for bars that are the same, for the fingers that most of them have, of
// as many the first one's. It tells whether some have others. Linear in the strikes.
func wishAlike(bars []score.Bar, strikes []Strike, fingers []Fingering) bool {
	type way struct{ count, first int }
	groups := map[string]map[string]*way{}
	keys := make([]string, len(bars))
	unlike := false
	for n, b := range bars {
		i, j := barOf(strikes, b.At, b.End())
		if i == j {
			continue
		}
		keys[n] = barKey(strikes[i:j], b.At)
		var f []byte
		for _, x := range fingers[i:j] {
			f = append(f, x.Keys...)
		}
		g := groups[keys[n]]
		if g == nil {
			g = map[string]*way{}
			groups[keys[n]] = g
		}
		if g[string(f)] == nil {
			g[string(f)] = &way{first: n}
		}
		g[string(f)].count++
		unlike = unlike || len(g) > 1
	}
	if !unlike {
		return false
	}
	for n, b := range bars {
		best := ""
		for f, w := range groups[keys[n]] {
			if o := groups[keys[n]][best]; o == nil || w.count > o.count || w.count == o.count && w.first < o.first {
				best = f
			}
		}
		if best == "" {
			continue
		}
		i, j := barOf(strikes, b.At, b.End())
		wish := []byte(best)
		for k := i; k < j; k++ {
			m := len(strikes[k].Keys)
			if strikes[k].Asked == nil && len(wish) >= m {
				strikes[k].Wished = wish[:m:m]
			}
			wish = wish[min(m, len(wish)):]
		}
	}
	return true
}

// printAlike shows of a bar that a hand plays again, with the same fingers, none that was
// not shown the first time but its first, where the hand comes from elsewhere; of one that
// it plays again at once, nothing but that.
func printAlike(s score.Score, h score.Hand, keep []bool) {
	ps, strikes := plays(s, h)
	type where struct{ i, j, bar int }
	known := map[string]where{}
	last := "" // the bar before
	bare := 0  // bars since a finger was shown
	for n, b := range s.Bars {
		i, j := barOf(strikes, b.At, b.End())
		if i == j {
			last = ""
			continue
		}
		id := []byte(barKey(strikes[i:j], b.At))
		for _, p := range ps[i:j] {
			for _, ns := range p.notes {
				id = append(id, s.Notes[ns[0]].Finger, s.Notes[ns[0]].FingerTo)
			}
		}
		key := string(id)
		was, again := known[key]
		if !again {
			known[key] = where{i, j, n}
		} else {
			for k := i; k < j; k++ {
				for x, ns := range ps[k].notes {
					first := keep[ps[was.i+k-i].notes[x][0]]
					own := keep[ns[0]] && k == i
					switch {
					case key == last && bare < longestBare:
						keep[ns[0]] = own && !first
					case key == last:
						keep[ns[0]] = k == i
					default:
						keep[ns[0]] = keep[ns[0]] && (first || k == i)
					}
				}
			}
		}
		bare++
		for _, p := range ps[i:j] {
			for _, ns := range p.notes {
				if keep[ns[0]] {
					bare = 0
				}
			}
		}
		last = key
	}
}
