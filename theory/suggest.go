package theory

import "strings"

// suggest returns the readable symbol nearest to one that is not, or "" where
// not even a root can be made out.
//
// Objective: the fewest single-character insertions, deletions, replacements
// (Levenshtein distance) between the suffix and one that can be read, on the same
// root and bass; ties go to the row that stands first in the table of
// qualities, which has the common chords first. If that is more than half of
// what was written, the longest readable beginning is offered instead. Cost: the
// table's some 330 suffixes times the square of a suffix of at most 24 runes.
func suggest(p string) string {
	p = strings.TrimFunc(p, func(r rune) bool { return strings.ContainsRune("()[]{}\"'.,;:!?*", r) })
	if p == "" {
		return ""
	}
	switch { // a root in lower case; the German H
	case p[0] >= 'a' && p[0] <= 'g':
		p = strings.ToUpper(p[:1]) + p[1:]
	case p[0] == 'H' || p[0] == 'h':
		p = "B" + p[1:]
	}
	if c, _, ok := readChord(p); ok {
		return c.String()
	}
	root, rest, err := cutName(p)
	if err != nil {
		return ""
	}
	// "D/C7": a chord under the slash makes a polychord.
	if i := strings.LastIndexByte(p, '/'); i > 0 {
		if c, _, ok := readPolychord(p[:i], p[i+1:]); ok {
			return c.String()
		}
	}
	suffix, bass, slash := cutBass(rest)
	c := Chord{Root: root, Tones: nearestTones(suffix)}
	if slash && bass != root {
		c.Bass, c.Slash = bass, true
	}
	return c.String()
}

// suggestOver mends the two halves of a polychord.
func suggestOver(upper, lower string) string {
	up, low := suggest(upper), suggest(lower)
	if up == "" || low == "" || strings.Contains(up, "/") {
		return low
	}
	return up + " over " + low
}

func nearestTones(suffix string) Degrees {
	runes := []rune(suffix)
	if len(runes) > 24 {
		runes = runes[:24]
	}
	best, bestCost := Degrees{}, len(runes)/2+1
	for _, q := range qualityBook().list {
		for i, w := range append([]string{q.suffix}, q.aliases...) {
			if i > 0 && len(w) > 4 && !strings.ContainsAny(w, "0123456789") {
				continue // "power" is not what "mover" meant
			}
			if cost := editDistance(runes, []rune(w)); cost < bestCost {
				best, bestCost = q.tones, cost
			}
		}
	}
	if !best.Empty() {
		return best
	}
	for n := len(runes); n > 0; n-- {
		if t, ok := readSuffix(string(runes[:n])); ok {
			return t
		}
	}
	return DegreesOf(Degree{1, 0}, Degree{3, 0}, Degree{5, 0})
}

// editDistance is the Levenshtein distance.
func editDistance(a, b []rune) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i, x := range a {
		diagonal := row[0]
		row[0] = i + 1
		for j, y := range b {
			cost := diagonal
			if x != y {
				cost++
			}
			diagonal = row[j+1]
			row[j+1] = min(cost, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
