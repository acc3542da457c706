package engrave

import (
	"strconv"
	"strings"
)

// fingering takes fingerings out, or puts those of the lower staff below it,
// where the score does not say.
func fingering(note *element, which Fingers) {
	for _, n := range note.kids {
		if n.name != "notations" {
			continue
		}
		for _, t := range n.kids {
			if t.name != "technical" {
				continue
			}
			if which == NoFingers {
				t.drop(isFingering)
				continue
			}
			for _, f := range t.kids {
				if isFingering(f) && f.get("placement") == "" && note.value("staff") == "2" {
					f.set("placement", "below")
				}
			}
		}
		n.drop(func(t *element) bool { return t.name == "technical" && len(t.kids) == 0 })
	}
	note.drop(func(n *element) bool { return n.name == "notations" && len(n.kids) == 0 })
}

func isFingering(e *element) bool { return e.name == "fingering" }

// thinFingers keeps the fingerings that tell where a hand goes: the first of
// each staff, the first after a rest, at the start of a system of the score,
// and wherever the hand is no longer over the five keys that the finger before
// implied. Common practice, no source.
func thinFingers(part *element) {
	type state struct {
		home int // diatonic place of the thumb
		have bool
	}
	hands := map[string]*state{}
	for _, m := range part.kids {
		for _, e := range m.kids {
			if e.name == "print" && (e.get("new-system") == "yes" || e.get("new-page") == "yes") {
				clear(hands)
			}
			if e.name != "note" {
				continue
			}
			staff := e.value("staff")
			if e.kid("rest") != nil {
				if e.value("voice") == "1" || e.value("voice") == "5" {
					delete(hands, staff)
				}
				continue
			}
			finger := 0
			e.walk(func(k *element) {
				if isFingering(k) && finger == 0 {
					finger, _ = strconv.Atoi(strings.TrimSpace(k.text))
				}
			})
			pitch := e.kid("pitch")
			if finger < 1 || finger > 5 || pitch == nil {
				continue
			}
			place := int(pitch.number("octave"))*7 + strings.Index("CDEFGAB", pitch.value("step"))
			home := place - (finger - 1)
			if staff == "2" {
				home = place + (finger - 1)
			}
			h := hands[staff]
			if h == nil {
				h = &state{}
				hands[staff] = h
			}
			if h.have && h.home == home {
				fingering(e, NoFingers)
			}
			*h = state{home, true}
		}
	}
}
