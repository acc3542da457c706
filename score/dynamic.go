package score

import (
	"slices"
	"sort"
	"strings"

	"gradatim/theory"
)

// Step is the height of a dynamic on the ladder from ppp to fff, in thousandths of
// a step: Step(5000) is mf. 0 is none.
type Step int

// Mezzoforte is what is played where nothing is said.
const Mezzoforte Step = 5000

// steps are the signs that hold until the next; others, such as "sfz", say
// nothing of what follows.
var steps = map[string]Step{"ppp": 1000, "pp": 2000, "p": 3000, "mp": 4000, "mf": Mezzoforte, "f": 6000, "ff": 7000, "fff": 8000}

// StepOf returns the step of a sign; ok is false for one that does not hold.
func StepOf(sign string) (s Step, ok bool) { s, ok = steps[sign]; return s, ok }

// holds tells whether a direction is a dynamic sign that holds.
func holds(d Direction) bool {
	_, ok := StepOf(d.Text)
	return d.Kind == Dynamic && ok
}

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
		if !holds(d) {
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

// Hairpin is a stretch that grows or fades.
type Hairpin struct {
	From, To theory.Dur
	Hand     Hand // its staff
	Fades    bool
	Words    bool // "cresc." or "dim.": it has no printed end
}

// Hairpins lists the hairpins in order of their beginnings. One that no sign ends
// goes to the next hairpin or dynamic sign of its staff, or to the end.
func (s Score) Hairpins() []Hairpin {
	var out []Hairpin
	open := [3]int{-1, -1, -1}
	end := func(staff Hand, at theory.Dur) {
		if i := open[staff]; i >= 0 {
			out[i].To = at
			open[staff] = -1
		}
	}
	for _, d := range s.Directions {
		staff := Right
		if d.Hand == Left {
			staff = Left
		}
		switch {
		case d.Kind == Crescendo, d.Kind == Diminuendo:
			end(staff, d.At)
			open[staff] = len(out)
			out = append(out, Hairpin{From: d.At, To: s.End(), Hand: staff, Fades: d.Kind == Diminuendo})
		case open[staff] >= 0 && d.At > out[open[staff]].From && (d.Kind == HairpinEnd || holds(d)):
			end(staff, d.At)
		}
	}
	return slices.DeleteFunc(out, func(p Hairpin) bool { return p.To <= p.From })
}

// grows reads words that ask for growing or fading: "cresc.", "dim. poco a poco".
func grows(words string) (fades, ok bool) {
	for _, w := range strings.FieldsFunc(strings.ToLower(words), func(r rune) bool { return r < 'a' || r > 'z' }) {
		switch {
		case strings.HasPrefix(w, "cresc"):
			return false, true
		case strings.HasPrefix(w, "dim"), strings.HasPrefix(w, "decresc"):
			return true, true
		}
	}
	return false, false
}

// Loudness is how loud a hand is to play, by position: straight between points.
type Loudness []struct {
	At   theory.Dur
	Step Step
}

// At returns the step at a position; Mezzoforte where nothing is said.
func (l Loudness) At(at theory.Dur) Step {
	i := sort.Search(len(l), func(i int) bool { return l[i].At > at })
	switch {
	case i == 0:
		return Mezzoforte
	case i == len(l):
		return l[i-1].Step
	}
	a, b := l[i-1], l[i]
	return a.Step + Step(int64(b.Step-a.Step)*int64(at-a.At)/int64(b.At-a.At))
}

// Loudness follows the dynamic signs and hairpins that govern a hand.
//
// A hairpin governs both hands unless the other staff has one of its own at that
// time. It leads to the sign at its end (up to a quarter note later), where that
// lies in its direction, else one step on, and there it stays until the next
// sign. Words that ask for growing or fading lead to the next sign within four
// bars, else one step within a bar. Common practice, no source.
func (s Score) Loudness(h Hand) Loudness {
	type sign struct {
		at   theory.Dur
		step Step
	}
	var signs []sign
	for _, d := range s.Directions {
		if holds(d) && (len(signs) == 0 || signs[len(signs)-1].at < d.At) {
			signs = append(signs, sign{d.At, steps[s.DynamicAt(d.At, h)]})
		}
	}
	pins := s.Hairpins()
	for _, d := range s.Directions {
		if d.Kind != Words {
			continue
		}
		if fades, ok := grows(d.Text); ok {
			bar := theory.Whole
			if i := s.BarAt(d.At); i >= 0 && s.Bars[i].Meter.Valid() {
				bar = s.Bars[i].Meter.Bar()
			}
			p := Hairpin{From: d.At, To: min(d.At+bar, s.End()), Hand: max(d.Hand, Right), Fades: fades, Words: true}
			for _, g := range signs {
				if g.at > p.From && g.at <= p.From+4*bar {
					p.To = g.at
					break
				}
			}
			pins = append(pins, p)
		}
	}
	slices.SortStableFunc(pins, func(a, b Hairpin) int { return int(min(max(a.From-b.From, -1), 1)) })
	mine := pins[:0:0]
	for _, p := range pins {
		other := (p.Hand == Left) != (h == Left)
		if other && slices.ContainsFunc(pins, func(q Hairpin) bool {
			return (q.Hand == Left) == (h == Left) && q.From < p.To && p.From < q.To
		}) {
			continue
		}
		mine = append(mine, p)
	}
	var out Loudness
	to := func(at theory.Dur, step Step) {
		if n := len(out); n > 0 && out[n-1].At >= at {
			at = out[n-1].At
			if n > 1 && out[n-2].At == at { // three in one place: the middle one is never heard
				out[n-1].Step = step
				return
			}
		}
		out = append(out, struct {
			At   theory.Dur
			Step Step
		}{at, step})
	}
	now := Mezzoforte
	next := 0
	jump := func(until theory.Dur) { // signs up to a position, each at once
		for ; next < len(signs) && signs[next].at <= until; next++ {
			to(signs[next].at, now)
			now = signs[next].step
			to(signs[next].at, now)
		}
	}
	for _, p := range mine {
		jump(p.From)
		if len(out) > 0 && out[len(out)-1].At > p.From {
			continue // within the one before
		}
		goal := now + 1000
		if p.Fades {
			goal = now - 1000
		}
		end := p.To
		if next < len(signs) && signs[next].at <= p.To+theory.Quarter && signs[next].step != now && (signs[next].step < now) == p.Fades {
			goal = signs[next].step
		}
		goal = min(max(goal, steps["ppp"]), steps["fff"])
		to(p.From, now)
		now = goal
		to(end, now)
	}
	jump(s.End())
	return out
}
