package theory

import (
	"math/bits"
	"sync"
)

// Scale is a kind of scale; with a root it becomes notes. The zero Scale is none.
type Scale uint8

// The scales. Altered is named by what sounds over its dominant: the third stays
// a third.
const (
	IonianScale Scale = iota + 1
	DorianScale
	PhrygianScale
	LydianScale
	MixolydianScale
	AeolianScale
	LocrianScale
	MelodicMinor
	DorianFlat2
	LydianAugmented
	LydianDominant
	MixolydianFlat6
	LocrianNatural2
	Altered
	HarmonicMinor
	PhrygianDominant
	WholeHalfDiminished
	HalfWholeDiminished
	WholeTone
	MajorPentatonic
	MinorPentatonic
	Blues
	lastScale = Blues
)

// scaleTable: names and degrees as any jazz theory course lists them; the modes
// by rotation of their parent (checked by the tests).
var scaleTable = [...]struct{ name, degrees string }{
	IonianScale:         {"ionian", "1 2 3 4 5 6 7"},
	DorianScale:         {"dorian", "1 2 b3 4 5 6 b7"},
	PhrygianScale:       {"phrygian", "1 b2 b3 4 5 b6 b7"},
	LydianScale:         {"lydian", "1 2 3 #4 5 6 7"},
	MixolydianScale:     {"mixolydian", "1 2 3 4 5 6 b7"},
	AeolianScale:        {"aeolian", "1 2 b3 4 5 b6 b7"},
	LocrianScale:        {"locrian", "1 b2 b3 4 b5 b6 b7"},
	MelodicMinor:        {"melodic minor", "1 2 b3 4 5 6 7"},
	DorianFlat2:         {"dorian b2", "1 b2 b3 4 5 6 b7"},
	LydianAugmented:     {"lydian augmented", "1 2 3 #4 #5 6 7"},
	LydianDominant:      {"lydian dominant", "1 2 3 #4 5 6 b7"},
	MixolydianFlat6:     {"mixolydian b6", "1 2 3 4 5 b6 b7"},
	LocrianNatural2:     {"locrian natural 2", "1 2 b3 4 b5 b6 b7"},
	Altered:             {"altered", "1 b2 #2 3 #4 b6 b7"},
	HarmonicMinor:       {"harmonic minor", "1 2 b3 4 5 b6 7"},
	PhrygianDominant:    {"phrygian dominant", "1 b2 3 4 5 b6 b7"},
	WholeHalfDiminished: {"whole-half diminished", "1 2 b3 4 b5 b6 6 7"},
	HalfWholeDiminished: {"half-whole diminished", "1 b2 #2 3 #4 5 6 b7"},
	WholeTone:           {"whole tone", "1 2 3 #4 #5 b7"},
	MajorPentatonic:     {"major pentatonic", "1 2 3 5 6"},
	MinorPentatonic:     {"minor pentatonic", "1 b3 4 5 b7"},
	Blues:               {"blues", "1 b3 4 b5 5 b7"},
}

type scaleSet struct {
	degrees Degrees
	classes uint16
}

var scaleSets = sync.OnceValue(func() []scaleSet {
	out := make([]scaleSet, lastScale+1)
	for s := IonianScale; s <= lastScale; s++ {
		d, err := ParseDegrees(scaleTable[s].degrees)
		if err != nil {
			panic(err) // tested
		}
		out[s] = scaleSet{d, d.classes()}
	}
	return out
})

// Scales returns every scale, in the order of the constants.
func Scales() []Scale {
	var out []Scale
	for s := IonianScale; s <= lastScale; s++ {
		out = append(out, s)
	}
	return out
}

// Valid tells whether s is one of the scales.
func (s Scale) Valid() bool { return s >= IonianScale && s <= lastScale }

// String returns the name: "lydian dominant".
func (s Scale) String() string {
	if !s.Valid() {
		return "no scale"
	}
	return scaleTable[s].name
}

// ParseScale reads what String writes.
func ParseScale(name string) (Scale, bool) {
	for _, s := range Scales() {
		if s.String() == name {
			return s, true
		}
	}
	return 0, false
}

// Degrees returns the scale's degrees.
func (s Scale) Degrees() Degrees {
	if !s.Valid() {
		return Degrees{}
	}
	return scaleSets()[s].degrees
}

// classes returns the pitch classes over the root, one bit each.
func (s Scale) classes() uint16 {
	if !s.Valid() {
		return 0
	}
	return scaleSets()[s].classes
}

// On spells the scale upwards from a root, without the octave.
func (s Scale) On(root Name) []Name {
	var out []Name
	for d := range s.Degrees().All() {
		out = append(out, d.On(root))
	}
	return out
}

// Has tells whether a degree, by sound, is in the scale.
func (s Scale) Has(d Degree) bool {
	return s.classes()>>d.Class()&1 == 1
}

// ScaleOf returns the mode's scale (minor: the natural one).
func ScaleOf(m Mode) Scale {
	switch m {
	case Major:
		return IonianScale
	case Minor, Aeolian:
		return AeolianScale
	case Dorian:
		return DorianScale
	case Phrygian:
		return PhrygianScale
	case Lydian:
		return LydianScale
	case Mixolydian:
		return MixolydianScale
	case Locrian:
		return LocrianScale
	}
	return 0
}

// chordScales are the scales that are played over chords, in the order in which
// they are thought of when nothing else decides.
var chordScales = [...]Scale{
	IonianScale, DorianScale, MixolydianScale, LydianScale, AeolianScale, PhrygianScale,
	LydianDominant, MixolydianFlat6, PhrygianDominant, LocrianScale, LocrianNatural2,
	MelodicMinor, HarmonicMinor, Altered, WholeTone, HalfWholeDiminished, WholeHalfDiminished,
	LydianAugmented, DorianFlat2,
}

// Scales returns the scales that hold every tone of the chord (of a polychord,
// of both), best known first. Where none does, a perfect fifth, which voicings
// leave out first, is not asked for: 7(♯9,♭13) takes the altered scale.
func (c Chord) Scales() []Scale {
	var out []Scale
	if c.Silent() {
		return nil
	}
	for _, s := range chordScales {
		if s.holds(c) {
			out = append(out, s)
		}
	}
	if fifth := (Degree{5, 0}); len(out) == 0 && c.Tones.Has(fifth) {
		c.Tones = c.Tones.Without(fifth)
		return c.Scales()
	}
	return out
}

// holds tells whether the scale has every tone of the chord and nothing that
// contradicts one: no major third over a minor chord, no perfect fifth beside an
// augmented one. The altered and the half-whole scale belong to
// dominants, the whole-half to diminished chords.
func (s Scale) holds(c Chord) bool {
	const minorThird, majorThird, tritone, fifth, minorSeventh = 1 << 3, 1 << 4, 1 << 6, 1 << 7, 1 << 10
	in, tones := s.classes(), c.Tones.classes()
	if !c.UpperTones.Empty() {
		tones |= turn(c.UpperTones.classes(), c.UpperRoot.Class()-c.Root.Class())
	}
	all := func(set, wanted uint16) bool { return set&wanted == wanted }
	switch {
	case !all(in, tones),
		tones&(minorThird|majorThird) == minorThird && all(in, minorThird|majorThird),
		c.Tones.Has(Degree{5, 1}) && tones&fifth == 0 && in&fifth != 0,
		s == Altered && !all(tones, majorThird|minorSeventh),
		s == HalfWholeDiminished && !all(tones, majorThird|minorSeventh),
		s == WholeHalfDiminished && !all(tones, minorThird|tritone):
		return false
	}
	return true
}

// ChordScale picks the scale to play over a chord in the key: of those that
// hold the chord, the one with the most notes of the key; ties go to the better
// known. Two habits go before that: a substitute dominant takes the lydian
// dominant scale, and a tonic minor chord with a major seventh or a sixth the
// melodic minor. ok is false where no scale holds the chord. Common practice, no
// source.
func (k Key) ChordScale(c Chord) (s Scale, ok bool) {
	var in uint16
	if k.Valid() && !c.Silent() {
		in = turn(ScaleOf(k.Mode).classes(), k.Tonic.Class())
		if LydianDominant.holds(c) && k.Roman(c).Kind == Substitute {
			return LydianDominant, true
		}
		if c.Root.Class() == k.Tonic.Class() && c.MinorThird() && MelodicMinor.holds(c) &&
			(c.Tones.Has(Degree{7, 0}) || c.Tones.Has(Degree{6, 0})) {
			return MelodicMinor, true
		}
	}
	best := -1
	for _, t := range c.Scales() {
		shared := bits.OnesCount16(in & turn(t.classes(), c.Root.Class()))
		shared -= max(0, t.Degrees().Len()-7) // eight notes share more by number only
		if shared > best {
			s, best, ok = t, shared, true
		}
	}
	return s, ok
}
