package theory

import (
	"cmp"
	"math/bits"
	"slices"
	"strings"
	"sync"
)

// Normal returns the set as chord symbols count it: without a seventh the 13th
// is a 6th, and an 11th that stands alone is a 4th; with one the 6th is a 13th;
// beside a third the 2nd is a 9th; compound numbers that no symbol has (8, 10,
// 12) fall an octave; ♯7 is the major seventh. Sets that are equal after Normal
// are written alike.
func (s Degrees) Normal() Degrees {
	var t Degrees
	seventh := len(s.Number(7)) > 0
	third := len(s.Number(3))+len(s.Number(10)) > 0
	lone := !seventh && len(s.Number(9))+len(s.Number(2))+len(s.Number(6))+len(s.Number(13)) == 0
	for d := range s.All() {
		switch {
		case d.Number == 8 || d.Number == 12:
			d.Number -= 7
		case d.Number == 10 && d.Alter == -1 && s.Has(Degree{3, 0}):
			d = Degree{9, 1} // ♭10 over a major third
		case d.Number == 10:
			d.Number = 3
		case d.Number == 7 && d.Alter > 0:
			d.Alter = 0
		case d.Number == 2 && (third || d.Alter != 0):
			d.Number = 9
		case d.Number == 4 && d.Alter > 0:
			d.Number = 11
		case d.Number == 11 && d.Alter == 0 && lone:
			d.Number = 4
		case d.Number == 13 && !seventh:
			d.Number = 6
		case d.Number == 6 && seventh:
			d.Number = 13
		}
		t = t.With(d)
	}
	return t
}

// bases are the suffixes that additions and alterations are written on, in the
// order of preference.
var bases = sync.OnceValue(func() []quality {
	var out []quality
	for _, s := range []string{"", "m", "7", "m7", "maj7", "6", "m6", "dim", "dim7", "m7b5", "aug",
		"9", "m9", "maj9", "13", "m13", "maj13", "11", "m11", "maj11", "6/9", "m6/9",
		"sus4", "sus2", "7sus4", "9sus4", "13sus4", "7sus2", "sus2sus4", "6sus4", "maj7sus4", "maj9sus4",
		"m9b5", "m11b5", "5", "m(maj7)", "m(maj9)", "m(maj11)", "m(maj13)", "dim(maj7)"} {
		out = append(out, quality{suffix: s, tones: qualityBook().word[s]})
	}
	return out
})

// suffixOf writes a set of degrees in the house style: the suffix of the table
// where there is one, else the base that needs the fewest changes, with these
// in brackets in ascending order. Every normal set has a suffix, and it reads
// back as the same set.
func suffixOf(s Degrees) string {
	s = s.Normal()
	if t, ok := qualityBook().suffix[s]; ok {
		return t
	}
	best, bestCost := "", -1
	for i, b := range bases() {
		if least := i + 100*missing(b.tones, s); bestCost >= 0 && least >= bestCost {
			continue
		}
		changes, cost := changesFrom(b.tones, s)
		if cost += i; bestCost >= 0 && cost >= bestCost {
			continue
		}
		best, bestCost = b.suffix+"("+strings.Join(changes, ",")+")", cost
		if t, ok := strings.CutSuffix(b.suffix, ")"); ok {
			best = t + "," + strings.Join(changes, ",") + ")"
		}
	}
	return best
}

// missing counts the wanted degrees that a base has not; each costs a change.
func missing(base, want Degrees) int {
	return bits.OnesCount64(want.lo&^base.lo) + bits.OnesCount64(want.hi&^base.hi)
}

// changesFrom lists what turns a base into the wanted set: alterations, then
// additions, then omissions, each in ascending order. The cost counts a change
// as 100, an omission of third or fifth as 150, another as 250.
func changesFrom(base, want Degrees) (changes []string, cost int) {
	type change struct {
		number int8
		text   string
	}
	var list []change
	seventh := len(base.Number(7)) > 0
	replaced := Degrees{} // wanted degrees that bare alterations account for
	for n := 1; n <= 13; n++ {
		missing := false
		for _, d := range base.Number(n) {
			missing = missing || !want.Has(d)
		}
		if !missing {
			continue
		}
		// A bare alteration takes the place of the natural degree.
		if base.Has(Degree{int8(n), 0}) && len(base.Number(n)) == 1 && (n == 5 || seventh && n >= 9) {
			bare := false
			for _, d := range want.Number(n) {
				if bareAlteration(d) {
					bare, replaced = true, replaced.With(d)
				}
			}
			if bare {
				continue
			}
		}
		list = append(list, change{int8(n), "no" + Degree{int8(n), 0}.String()})
		if cost += 50; n != 3 && n != 5 {
			cost += 100 // nobody writes "no7"
		}
		for _, d := range base.Number(n) {
			base = base.Without(d)
		}
	}
	for d := range want.All() {
		switch {
		case base.Has(d):
		case replaced.Has(d) || bareAlteration(d) && d.Number >= 9 && seventh && !base.Has(Degree{d.Number, 0}):
			list = append(list, change{d.Number, d.String()})
		case d == Degree{7, 0}:
			list = append(list, change{7, "addmaj7"})
		case d == Degree{4, 0} && seventh && len(base.Number(3)) > 0:
			return nil, 1 << 20 // "add4" would be an 11th here; a sus base says it
		default:
			list = append(list, change{d.Number, "add" + d.String()})
		}
	}
	rank := func(c change) int {
		return 2*btoi(strings.HasPrefix(c.text, "no")) + btoi(strings.HasPrefix(c.text, "add"))
	}
	slices.SortStableFunc(list, func(a, b change) int {
		return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(a.number, b.number))
	})
	for _, c := range list {
		changes = append(changes, c.text)
	}
	return changes, cost + 100*len(list)
}

// bareAlteration tells whether a degree may be written without "add".
func bareAlteration(d Degree) bool {
	switch d {
	case Degree{5, -1}, Degree{5, 1}, Degree{9, -1}, Degree{9, 1}, Degree{11, 1}, Degree{13, -1}:
		return true
	}
	return false
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}
