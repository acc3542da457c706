package proof

import (
	"slices"

	"gradatim/internal/harmony"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// modes are the stretches whose key is another one than the sheet says.
func (r *reader) modes() []Suspicion {
	var out []Suspicion
	for _, p := range r.a.Problems {
		if p.Code != "key-disagrees" {
			continue
		}
		k := slices.IndexFunc(r.a.Regions, func(g harmony.Region) bool {
			return r.song.PosAt(r.song.Bars[g.First].At) == p.Pos
		})
		if k < 0 {
			continue
		}
		g := r.a.Regions[k]
		at := r.song.Bars[g.First].At
		s := Suspicion{Kind: Mode, Pos: p.Pos, ID: r.id(Mode, at), Says: p.Says, Parts: p.Parts, Likely: 85}
		if g.Key == g.Declared { // it was kept
			s.Likely = 60
		}
		s.mend = setKey(g.First, g.Last, g.Declared, g.Estimate, r.better(g, g.Estimate) > 0)
		out = append(out, s)
	}
	return out
}

// letters count the notes of a stretch by letter and alteration, in sounding time.
type letters struct {
	long  [7][5]theory.Dur
	times [7]int // how many notes have the letter
}

func (l *letters) add(n theory.Name, d theory.Dur) {
	if n.Alter >= -2 && n.Alter <= 2 {
		l.long[n.Letter][n.Alter+2] += d
		l.times[n.Letter]++
	}
}

// share is how much of a letter has an alteration, in percent; all is its time.
func (l *letters) share(at theory.Letter, alter int8) (percent int, all theory.Dur) {
	for _, d := range l.long[at] {
		all += d
	}
	if all == 0 {
		return 0, 0
	}
	return int(100 * int64(l.long[at][alter+2]) / int64(all)), all
}

const (
	mostSteps  = 3  // signs by which a signature may be wrong
	mostly     = 85 // percent that speak for a reading
	fewNotes   = 2  // …of so many at least
	impliedBar = 1500
)

// signatures are the stretches whose signature the notes deny: where a letter has nearly
// always another sign than the signature gives it; or it never has, and the chords have.
func (r *reader) signatures() []Suspicion {
	var out []Suspicion
	if !r.song.KeyDeclared {
		return nil
	}
	for _, g := range r.a.Regions {
		if s, ok := r.signature(g); ok {
			out = append(out, s)
		}
	}
	return out
}

func (r *reader) signature(g harmony.Region) (Suspicion, bool) {
	from, to := r.song.Bars[g.First].At, r.song.Bars[g.Last].End()
	var tune, chords letters
	for i := r.noteFrom(from); i < len(r.song.Melody) && r.song.Melody[i].At < to; i++ {
		if n := r.song.Melody[i]; n.At >= from {
			tune.add(n.Pitch.Name, n.Dur)
		}
	}
	for _, s := range r.a.Spans {
		if s.Sounding() && s.At >= from && s.At < to {
			for d := range s.Chord.Tones.All() {
				if d.Number <= 7 {
					chords.add(d.On(s.Chord.Root), s.Dur())
				}
			}
		}
	}
	is := g.Declared.Fifths()
	best, key, printed := 0, theory.Key{}, false
	for step := 1; step <= mostSteps; step++ {
		for _, d := range []int{step, -step} {
			cand := is + d
			if cand < -7 || cand > 7 {
				continue
			}
			other := theory.KeyOf(cand, theory.Major)
			if n := r.denied(&tune, &chords, g.Declared, other); n > best {
				best, key, printed = n, r.keyWith(g, cand, false), false
			}
			if n := r.implied(&tune, &chords, g, other); n > best {
				best, key, printed = n, r.keyWith(g, cand, true), true
			}
		}
	}
	if best == 0 {
		return Suspicion{}, false
	}
	s := Suspicion{Kind: Signature, Pos: r.pos(from), ID: r.id(Signature, from), Likely: min(95, 60+4*best),
		Says: "key-doubtful.notes", Parts: []any{"Declared", g.Declared, "Key", key}}

	if printed {
		s.Says = "key-doubtful.chords"
	}
	s.mend = setKey(g.First, g.Last, g.Declared, key, printed)
	return s, true
}

// changed are the letters in which two signatures differ.
func changed(a, b theory.Key) []theory.Letter {
	var out []theory.Letter
	for l := theory.C; l <= theory.B; l++ {
		if a.Signature(l) != b.Signature(l) {
			out = append(out, l)
		}
	}
	return out
}

// denied counts the notes that have another signature's signs, 0 where not all speak for
// it.
func (r *reader) denied(tune, chords *letters, declared, other theory.Key) int {
	n := 0
	for _, l := range changed(declared, other) {
		p, all := tune.share(l, other.Signature(l))
		if all == 0 || p < mostly || tune.times[l] < fewNotes {
			return 0
		}
		if p, all := chords.share(l, other.Signature(l)); all > 0 && p < 50 {
			return 0
		}
		n += tune.times[l]
	}
	return n
}

// implied counts the notes that would have another signature's signs, where all the chords
// have them and the tune agrees better so.
func (r *reader) implied(tune, chords *letters, g harmony.Region, other theory.Key) int {
	n := 0
	for _, l := range changed(g.Declared, other) {
		if p, all := chords.share(l, other.Signature(l)); all == 0 || p < mostly && !(p >= 60 && g.Estimate.Fifths() == other.Fifths()) {
			return 0
		}
		p, all := tune.share(l, g.Declared.Signature(l))
		if all > 0 && p < mostly {
			return 0
		}
		n += tune.times[l]
	}
	if n < fewNotes {
		return 0
	}
	if r.better(g, other) == 0 {
		return 0
	}
	return n
}

// better is by how much less the tune denies its chords in a stretch where the notes go
// with another signature; 0 where that is little.
func (r *reader) better(g harmony.Region, other theory.Key) int {
	from, to := r.song.Bars[g.First].At, r.song.Bars[g.Last].End()
	meant := *r
	meant.song = setKey(g.First, g.Last, g.Declared, theory.KeyOf(other.Fifths(), g.Declared.Mode), true)(r.song)
	before, after := 0, 0
	for _, s := range r.a.Spans {
		if s.Sounding() && s.At >= from && s.At < to {
			x, _ := r.weigh(s.Chord, s.At, s.End)
			y, _ := meant.weigh(s.Chord, s.At, s.End)
			before, after = before+x, after+y
		}
	}
	if before-after < impliedBar || 10*after > 9*before {
		return 0
	}
	return before - after
}

// keyWith is the key of a stretch under another signature.
func (r *reader) keyWith(g harmony.Region, fifths int, notes bool) theory.Key {
	if !notes {
		for m := theory.Major; m <= theory.Locrian; m++ { // its tonic with another mode
			if m != theory.Aeolian && m != theory.Locrian {
				if k := (theory.Key{Tonic: g.Declared.Tonic, Mode: m}); k.Fifths() == fifths && g.Estimate.Tonic.Class() == k.Tonic.Class() {
					return k
				}
			}
		}
	}
	song := setKey(g.First, g.Last, g.Declared, theory.KeyOf(fifths, g.Declared.Mode), notes)(r.song)
	if k, ok := harmony.EstimateKey(song); ok && k.Fifths() == fifths {
		return k
	}
	return theory.KeyOf(fifths, g.Declared.Mode)
}

// setKey is the mend that reads bars in another key; with notes what has the old
// signature's signs gets the new one's.
func setKey(first, last int, old, key theory.Key, notes bool) func(leadsheet.Song) leadsheet.Song {
	return func(song leadsheet.Song) leadsheet.Song {
		song.Bars = slices.Clone(song.Bars)
		for i := first; i <= last && i < len(song.Bars); i++ {
			song.Bars[i].Key = key
		}
		if first == 0 {
			song.Key = key
		}
		if !notes {
			return song
		}
		from, to := song.Bars[first].At, song.Bars[last].End()
		ls := changed(old, key)
		turn := func(p *theory.Pitch) {
			if slices.Contains(ls, p.Letter) && p.Alter == old.Signature(p.Letter) {
				p.Alter = key.Signature(p.Letter)
			}
		}
		song.Melody = slices.Clone(song.Melody)
		for i := range song.Melody {
			n := &song.Melody[i]
			if n.At < from || n.At >= to {
				continue
			}
			turn(&n.Pitch)
			if len(n.Graces) > 0 {
				n.Graces = slices.Clone(n.Graces)
				for k := range n.Graces {
					turn(&n.Graces[k])
				}
			}
		}
		return song
	}
}
