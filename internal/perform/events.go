package perform

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sort"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Division is the number of MIDI ticks in a quarter note: one tick is one
// theory.Dur, so everything that is written falls on a whole tick.
const Division = int(theory.Quarter)

func ticks(d theory.Dur) int { return int(d) }

// EventKind is a kind of Event.
type EventKind uint8

// Kinds of events, in the order in which they stand at one tick.
const (
	TempoEvent  EventKind = iota + 1 // Micros
	MeterEvent                       // Meter
	KeyEvent                         // Signature
	MarkerEvent                      // Text: a section, a bar to count from
	NoteOff                          // Key
	PedalEvent                       // Value, controller 64
	NoteOn                           // Key, Velocity
	ClickEvent                       // Value 1: accent
)

// An Event is one moment of a performance as a MIDI file has it.
type Event struct {
	Tick      int     // from the start, Division to the quarter note
	Seconds   float64 // the same moment, from the start of the file
	Kind      EventKind
	Hand      score.Hand // of notes; 0 for what belongs to no hand
	Key       int
	Velocity  int
	Value     int
	Micros    int // microseconds a quarter note
	Meter     leadsheet.Meter
	Signature theory.Key
	Text      string
}

// mark is something to be said at a position of the score.
type mark struct {
	at    theory.Dur
	kind  EventKind
	meter leadsheet.Meter
	key   theory.Key
	text  string
}

// marks collects metres, keys and sections of the bars played. A pick-up, and what is
// short before one, is a bar of its own short metre, so that the bars after it stand where
// they do on the page.
func (r *reading) marks() []mark {
	var out []mark
	for i, b := range r.bars {
		m := b.Meter
		if b.Offset(b.At) > 0 || b.Dur < m.Bar() && i+1 < len(r.bars) {
			m = metreOf(b.Dur, m)
		}
		out = append(out, mark{at: b.At, kind: MeterEvent, meter: m})
		if b.Key.Valid() {
			out = append(out, mark{at: b.At, kind: KeyEvent, key: moved(b.Key, r.opt.Transpose)})
		}
		if b.Section != "" {
			out = append(out, mark{at: b.At, kind: MarkerEvent, text: b.Section})
		}
	}
	return out
}

// moved is a key so many semitones away, with at most six signs.
func moved(k theory.Key, semitones int) theory.Key {
	if semitones == 0 {
		return k
	}
	f := (k.Fifths() + 7*semitones) % 12
	if f > 6 {
		f -= 12
	} else if f < -6 {
		f += 12
	}
	return theory.KeyOf(f, k.Mode)
}

// metreOf is the metre of a bar that is shorter than its own.
func metreOf(d theory.Dur, m leadsheet.Meter) leadsheet.Meter {
	for unit := m.Unit; unit <= 64; unit *= 2 {
		if one := theory.Whole / theory.Dur(unit); d%one == 0 {
			return leadsheet.Meter{Beats: int(d / one), Unit: unit}
		}
	}
	return m
}

// Events returns the performance as a MIDI file has it: tempo, metres, keys and
// sections, then keys and pedal, ordered by tick, then kind, hand and key.
//
// Bar lines fall on their written ticks. The tempo changes beat by beat where
// the player's does, and whatever leaves the beat (swing, rolls, unevenness)
// lies between the beats' ticks; so a file made of this both looks like the
// score and sounds like the performance. The lead-in silence is left out.
func (p Performance) Events() []Event {
	var out []Event
	m := p.tickMap()
	for i, b := range m[:len(m)-1] {
		micros := b.micros(m[i+1])
		if i == 0 || micros != m[i-1].micros(b) {
			out = append(out, Event{Tick: b.tick, Kind: TempoEvent, Micros: micros})
		}
	}
	pass0 := ticks(p.to() - p.from())
	var metre leadsheet.Meter
	var key theory.Key
	if p.ticks0 > 0 { // the count-in has the metre of the first bar, and ends where its pick-up begins
		metre = p.bars[0].Meter
		metre.Symbol = ""
		out = append(out, Event{Kind: MeterEvent, Meter: metre})
	}
	for pass := range p.Timing.Passes {
		for i, k := range p.marks {
			e := Event{Tick: p.ticks0 + pass*pass0 + ticks(k.at-p.from()), Kind: k.kind, Meter: k.meter, Signature: k.key, Text: k.text}
			e.Meter.Symbol = ""
			switch k.kind {
			case MeterEvent:
				if e.Meter == metre || i == 0 && pass == 0 && p.ticks0 > 0 {
					continue
				}
				metre = e.Meter
			case KeyEvent:
				if e.Signature == key {
					continue
				}
				key = e.Signature
			}
			out = append(out, e)
		}
	}
	at := func(seconds float64) int { return m.tick(seconds) }
	for _, n := range p.Notes {
		if n.Shared {
			continue
		}
		on, off := at(n.Start), at(n.End)
		out = append(out,
			Event{Tick: on, Kind: NoteOn, Hand: n.Hand, Key: n.Key, Velocity: n.Velocity},
			Event{Tick: max(off, on+1), Kind: NoteOff, Hand: n.Hand, Key: n.Key})
	}
	for _, e := range p.Pedals {
		out = append(out, Event{Tick: at(e.Time), Kind: PedalEvent, Value: e.Value})
	}
	for _, t := range p.Ticks {
		e := Event{Tick: at(t.Time), Kind: ClickEvent}
		if t.Accent {
			e.Value = 1
		}
		out = append(out, e)
	}
	slices.SortStableFunc(out, func(a, b Event) int {
		return cmp.Or(cmp.Compare(a.Tick, b.Tick), cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Hand, b.Hand), cmp.Compare(a.Key, b.Key))
	})
	m.fill(out)
	return out
}

func (p Performance) from() theory.Dur { return p.bars[0].At }
func (p Performance) to() theory.Dur   { return p.bars[len(p.bars)-1].End() }

// A beatTick is a beat: its tick, and its time in the performance.
type beatTick struct {
	tick    int
	seconds float64
}

// micros is the length of a quarter note from one beat to the next.
func (b beatTick) micros(next beatTick) int {
	return int(math.Round((next.seconds - b.seconds) * 1e6 * float64(Division) / float64(next.tick-b.tick)))
}

type tickMap []beatTick

// tickMap lists the beats of the performance.
func (p Performance) tickMap() tickMap {
	m := tickMap{{0, p.Timing.Lead}}
	pass0 := ticks(p.to() - p.from())
	for _, q := range p.Timing.Points {
		if !q.Beat {
			continue
		}
		b := beatTick{p.ticks0 + q.Pass*pass0 + ticks(q.At-p.from()), q.Seconds}
		if b.tick > m[len(m)-1].tick {
			m = append(m, b)
		}
	}
	// What still sounds after the last bar line.
	last, before := m[len(m)-1], m[max(len(m)-2, 0)]
	return append(m, beatTick{2*last.tick - before.tick, 2*last.seconds - before.seconds})
}

// tick is the nearest tick to a time of the performance.
func (m tickMap) tick(seconds float64) int {
	i := sort.Search(len(m), func(i int) bool { return m[i].seconds > seconds })
	i = min(max(i, 1), len(m)-1)
	a, b := m[i-1], m[i]
	return max(int(math.Round(float64(a.tick)+(seconds-a.seconds)*float64(b.tick-a.tick)/(b.seconds-a.seconds))), 0)
}

// fill computes each event's seconds as who reads the file will, from the whole
// microseconds of the tempo events before it.
func (m tickMap) fill(events []Event) {
	now, tick, micros := 0.0, 0, 500000
	for i := range events {
		e := &events[i]
		now += float64(e.Tick-tick) * float64(micros) / 1e6 / float64(Division)
		tick = e.Tick
		e.Seconds = now
		if e.Kind == TempoEvent {
			micros = e.Micros
		}
	}
}

// String writes an event for a reader.
func (e Event) String() string {
	switch e.Kind {
	case TempoEvent:
		return fmt.Sprintf("%d tempo %d", e.Tick, e.Micros)
	case MeterEvent:
		return fmt.Sprintf("%d metre %v", e.Tick, e.Meter)
	case KeyEvent:
		return fmt.Sprintf("%d key %v", e.Tick, e.Signature)
	case MarkerEvent:
		return fmt.Sprintf("%d marker %s", e.Tick, e.Text)
	case NoteOn:
		return fmt.Sprintf("%d %v on %d %d", e.Tick, e.Hand, e.Key, e.Velocity)
	case NoteOff:
		return fmt.Sprintf("%d %v off %d", e.Tick, e.Hand, e.Key)
	case PedalEvent:
		return fmt.Sprintf("%d pedal %d", e.Tick, e.Value)
	case ClickEvent:
		return fmt.Sprintf("%d click %d", e.Tick, e.Value)
	default:
		panic(fmt.Sprintf("perform: event kind %d", e.Kind))
	}
}
