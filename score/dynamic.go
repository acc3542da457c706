package score

import "gradatim/theory"

// steady are the signs that hold until the next; others, such as "sfz", say
// nothing of what follows.
var steady = map[string]bool{"ppp": true, "pp": true, "p": true, "mp": true, "mf": true, "f": true, "ff": true, "fff": true}

// DynamicAt returns the dynamic sign in force for a hand at a position, "" before
// the first. A sign governs both hands unless each staff has one of its own at
// that moment. Directions are in order.
func (s Score) DynamicAt(at theory.Dur, h Hand) string {
	sign, own := "", false
	moment := theory.Dur(-1)
	for _, d := range s.Directions {
		if d.At > at {
			break
		}
		if d.Kind != Dynamic || !steady[d.Text] {
			continue
		}
		if d.At != moment {
			moment, own = d.At, false
		}
		mine := (d.Hand == Left) == (h == Left)
		if mine || !own {
			sign = d.Text
		}
		own = own || mine
	}
	return sign
}
