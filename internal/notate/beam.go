package notate

import (
	"gradatim/theory"
)

// beams joins the short notes of each voice.
//
// Groups follow the metre: one beat (in 6/8 a dotted one, in cut time and 3/2 a
// quarter), and neighbouring beats of plain eighths are joined up to half a bar
// of 4/4 or 2/2, a bar of 2/4 or 3/4, half a bar of 6/4. So 4/4 is never beamed
// across its middle and 3/4 never as 3+3. Rests end a beam. A tuplet is a group
// of its own. Common practice, no source.
func (w *writer) beams(b *Bar) {
	m := metreOf(b.Meter)
	shift := b.Bar.Offset(0)
	for i := range b.Voices {
		v := &b.Voices[i]
		ev := v.Events
		for j := 0; j < len(ev); {
			end := j + 1
			if flags(ev[j]) > 0 {
				for end < len(ev) && flags(ev[end]) > 0 && together(m, ev[j:end+1], shift) {
					end++
				}
				// A join of whole beats may not be cut short: shrink until the
				// group stands as it is.
				for end > j+1 && !stands(m, ev, j, end, shift) {
					end--
				}
			}
			beamGroup(ev[j:end], m, shift)
			j = end
		}
		brackets(ev)
	}
}

// flags counts the flags or beams of an event; 0 for what takes none.
func flags(e Event) int {
	if e.Kind != Chord || e.Tremolo == Alternating {
		return 0
	}
	n := 0
	for base := theory.Eighth; base >= theory.SixtyFourth; base /= 2 {
		n++
		if e.Value.Base == base {
			return n
		}
	}
	return 0
}

// together tells whether the last event may still join the group.
func together(m metre, g []Event, shift theory.Dur) bool {
	first, last := g[0], g[len(g)-1]
	if (first.Ratio != Ratio{}) || (last.Ratio != Ratio{}) {
		return first.Ratio == last.Ratio && !last.Opens && oneUnit(g)
	}
	a, z := first.At+shift, last.At+shift
	return floorDiv(a, m.widest()) == floorDiv(z, m.widest()) && !m.between(a, z)
}

// oneUnit keeps a tuplet of quarters or longer from being beamed across them.
func oneUnit(g []Event) bool {
	for _, e := range g {
		if e.Value.Base > theory.Eighth {
			return false
		}
	}
	return true
}

// group is the stretch that short notes are beamed within.
func (m metre) group() theory.Dur {
	switch {
	case m.compound && m.sub < theory.Quarter:
		return m.beat
	case m.beat > theory.Quarter || m.compound:
		return theory.Quarter
	}
	return m.beat
}

// widest is the stretch up to which beats of plain eighths are joined.
func (m metre) widest() theory.Dur {
	switch {
	case m.compound || m.beat > theory.Quarter:
		return m.beat
	case m.regular && len(m.strong) == 1:
		return m.bar / 2
	}
	return m.bar
}

// between tells whether a strong place lies after a and not after z.
func (m metre) between(a, z theory.Dur) bool {
	a, z = floorMod(a, m.bar), floorMod(z, m.bar)
	for _, s := range m.strong {
		if a < s && s <= z {
			return true
		}
	}
	return false
}

// stands tells whether the events from i to j may be one beam: within one group
// of the metre, or several groups of plain eighths. Groups are joined whole,
// but in half a bar of 4/4, which may begin or end with an eighth rest.
func stands(m metre, ev []Event, i, j int, shift theory.Dur) bool {
	first, last := ev[i], ev[j-1]
	if (first.Ratio != Ratio{}) {
		return true
	}
	a, z := first.At+shift, last.At+last.Dur+shift
	unit := m.group()
	if floorDiv(a, unit) == floorDiv(last.At+shift, unit) || unit < theory.Quarter && !m.compound {
		return true // in 5/8 and 7/8 the strong places alone divide
	}
	if unit != theory.Quarter {
		return false
	}
	if m.widest() != theory.Half && (a%unit != 0 || z%unit != 0) {
		return false
	}
	if j < len(ev) && flags(ev[j]) > 0 && floorDiv(ev[j].At+shift, unit) == floorDiv(last.At+shift, unit) {
		return false // the rest of the last group would be left behind
	}
	for _, e := range ev[i:j] {
		if (e.Value != Value{theory.Eighth, 0}) {
			return false
		}
	}
	return true
}

func beamGroup(g []Event, m metre, shift theory.Dur) {
	if len(g) < 2 {
		return
	}
	for i := range g {
		n := flags(g[i])
		g[i].Beams = make([]Beam, n)
		for l := range n {
			left := i > 0 && flags(g[i-1]) > l
			right := i < len(g)-1 && flags(g[i+1]) > l
			switch {
			case left && right:
				g[i].Beams[l] = Continue
			case left:
				g[i].Beams[l] = End
			case right:
				g[i].Beams[l] = Begin
			case i == 0, i < len(g)-1 && m.level(g[i].At+shift) <= m.level(g[i+1].At+shift):
				g[i].Beams[l] = ForwardHook
			default:
				g[i].Beams[l] = BackwardHook
			}
		}
	}
}

// brackets shows a bracket over tuplets that are not one beam.
func brackets(ev []Event) {
	for i := range ev {
		if !ev[i].Opens {
			continue
		}
		j := i
		for j < len(ev)-1 && !ev[j].Closes {
			j++
		}
		beamed := i < j
		for k := i; k <= j; k++ {
			want := Continue
			switch k {
			case i:
				want = Begin
			case j:
				want = End
			}
			beamed = beamed && len(ev[k].Beams) > 0 && ev[k].Beams[0] == want
		}
		ev[i].Bracket = !beamed
	}
}
