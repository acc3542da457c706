package proof

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/harmony"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Kind is what of the sheet is suspected.
type Kind uint8

// Kinds.
const (
	Chord     Kind = iota + 1 // a chord that the tune denies
	Held                      // a chord under a note held into it, which cannot hold it
	Spelling                  // a chord spelled against the key
	LastChord                 // the tune closes, and its last chord does not
	Signature                 // a signature that the notes deny
	Mode                      // the key has another tonic than the sheet says
	Length                    // a bar of the wrong length
	Ending                    // a first and second ending without their signs
	Pickup                    // a pick-up that does not fit
)

var kinds = [...]string{Chord: "chord", Held: "held", Spelling: "spelling", LastChord: "last", Signature: "signature",
	Mode: "mode", Length: "length", Ending: "ending", Pickup: "pickup"}

// String returns the kind's word, as ids have it.
func (k Kind) String() string {
	if int(k) >= len(kinds) {
		return "unknown"
	}
	return kinds[k]
}

// Kinds lists all kinds.
func Kinds() []Kind {
	var out []Kind
	for k := Chord; int(k) < len(kinds); k++ {
		out = append(out, k)
	}
	return out
}

// Sure is the likelihood, in percent, from which a reading is taken without asking
// further.
const Sure = 80

// Suspicion is one error that a sheet may have. The zero Suspicion is none.
type Suspicion struct {
	Kind   Kind
	Pos    leadsheet.Pos
	Says   leadsheet.Saying // what the sheet says, and the likely reading
	Parts  []any            // of what is said, without the id
	Likely int              // how likely the reading is, in percent
	ID     string           // names it as long as the sheet says the same there: "chord-b5-1_4"

	strays map[int]bool                        // numbers of bars that it explains
	mend   func(leadsheet.Song) leadsheet.Song // nil: the reading is not known
}

// Mendable tells whether the reading can be taken.
func (s Suspicion) Mendable() bool { return s.mend != nil }

// Problem is the suspicion as something to tell.
func (s Suspicion) Problem() leadsheet.Problem {
	p := leadsheet.Tell(leadsheet.Warning, s.Pos, s.Says, s.Parts...)
	if s.Mendable() {
		p.Mend, p.Likely = s.ID, s.Likely
	}
	return p
}

// Mended is what to tell once it was taken.
func (s Suspicion) Mended() leadsheet.Problem {
	p := leadsheet.Tell(leadsheet.Info, s.Pos, "sheet-mended", "Problem", leadsheet.Tell(leadsheet.Warning, s.Pos, s.Says, s.Parts...))
	p.Mend, p.Likely = s.ID, s.Likely
	return p
}

// Of reads a sheet for errors. a is its analysis. The list is in the order of the sheet.
func Of(song leadsheet.Song, a harmony.Analysis) []Suspicion {
	if len(song.Bars) == 0 || len(song.Melody) == 0 {
		return nil
	}
	r := newReader(song, a)
	var out []Suspicion
	endings := r.endings()
	out = append(out, endings...)
	for _, s := range r.bars() { // an ending too many may be short
		if !slices.ContainsFunc(endings, func(e Suspicion) bool { return e.strays[s.Pos.Bar] }) {
			out = append(out, s)
		}
	}
	signature := r.signatures()
	out = append(out, signature...)
	for _, s := range r.modes() { // a signature that is wrong says of no mode what it is
		if !slices.ContainsFunc(signature, func(g Suspicion) bool { return g.Pos.Bar == s.Pos.Bar }) {
			out = append(out, s)
		}
	}
	as := r // chords are read in the key that is meant
	if i := slices.IndexFunc(signature, func(s Suspicion) bool { return s.Likely >= Sure }); i >= 0 {
		meant := signature[i].mend(song)
		as = newReader(meant, harmony.Analyse(meant))
	}
	out = append(out, as.chords()...)
	slices.SortStableFunc(out, func(a, b Suspicion) int {
		return cmp.Or(cmp.Compare(a.Pos.Bar, b.Pos.Bar), cmp.Compare(a.Pos.Beat, b.Pos.Beat), cmp.Compare(a.Kind, b.Kind))
	})
	seen := map[string]int{}
	for i := range out {
		if seen[out[i].ID]++; seen[out[i].ID] > 1 {
			out[i].ID += fmt.Sprintf("-%d", seen[out[i].ID])
		}
	}
	return out
}

// mostRounds bounds how often a sheet is read again after mending: each mend may show
// what the error before it hid.
const mostRounds = 4

// Mend takes suspicions: all that are sure, where sure is set, and those of the ids. It
// returns the song as it is then, what was taken, what is still suspected, and the ids that
// name nothing. The song given stays as it is.
func Mend(song leadsheet.Song, sure bool, ids ...string) (mended leadsheet.Song, taken, left []Suspicion, unknown []string) {
	wanted := map[string]bool{}
	for _, id := range ids {
		wanted[id] = true
	}
	for range mostRounds {
		left = Of(song, harmony.Analyse(song))
		before := len(taken)
		for _, s := range left {
			if s.mend == nil || !wanted[s.ID] && !(sure && s.Likely >= Sure) {
				continue
			}
			if s.Kind.moves() && len(taken) > before { // places after it are others then
				continue
			}
			delete(wanted, s.ID)
			song = s.mend(song)
			taken = append(taken, s)
			if s.Kind.moves() {
				break
			}
		}
		if len(taken) == before {
			break
		}
	}
	if len(taken) > 0 {
		left = Of(song, harmony.Analyse(song))
	}
	for _, id := range ids {
		if wanted[id] && !slices.Contains(unknown, id) {
			unknown = append(unknown, id)
		}
	}
	return song, taken, left, unknown
}

// moves tells whether a mend changes where things are.
func (k Kind) moves() bool { return k == Length || k == Ending || k == Pickup }

// reader holds a sheet that is read.
type reader struct {
	song  leadsheet.Song
	a     harmony.Analysis
	spots []spot
	tunes []int   // for each bar a number: bars with the same one have the same tune
	with  [][]int // for each of these numbers its bars, the first of each written one
}

func newReader(song leadsheet.Song, a harmony.Analysis) *reader {
	r := &reader{song: song, a: a}
	r.tunes, r.with = tunes(song)
	r.spots = r.gather()
	return r
}

// id names a suspicion by its kind and its place on the sheet.
func (r *reader) id(k Kind, at theory.Dur) string {
	b := r.song.Bars[r.song.BarAt(at)]
	id := fmt.Sprintf("%s-b%d", k, b.Sheet)
	if off := b.Offset(at); off > 0 {
		id += "-" + strings.ReplaceAll(off.String(), "/", "_")
	}
	return id
}

// pos places a suspicion, with the line of the file where it is known.
func (r *reader) pos(at theory.Dur) leadsheet.Pos {
	p := r.song.PosAt(at)
	p.Line = r.song.Bars[r.song.BarAt(at)].Line
	return p
}

// chordPos places a suspicion at its chord's sign.
func (r *reader) chordPos(s harmony.Span) leadsheet.Pos {
	p := r.pos(s.At)
	if s.Mark >= 0 {
		if m := r.song.Chords[s.Mark].Pos; m.Line > 0 {
			p.Line, p.Col = m.Line, m.Col
		}
	}
	return p
}

// mostAlike bounds how many bars with the same tune are compared.
const mostAlike = 32

// tunes numbers bars by their tune: pitches and onsets.
func tunes(song leadsheet.Song) (numbers []int, with [][]int) {
	known := map[string]int{}
	seen := map[int]bool{}
	var key []byte
	k := 0
	for i, b := range song.Bars {
		key = append(key[:0], byte(b.Dur>>16), byte(b.Dur>>8), byte(b.Dur))
		notes := 0
		for k < len(song.Melody) && song.Melody[k].At < b.At {
			k++
		}
		for ; k < len(song.Melody) && song.Melody[k].At < b.End(); k++ {
			n := song.Melody[k]
			at := n.At - b.At
			key = append(key, byte(at>>16), byte(at>>8), byte(at), byte(n.Pitch.MIDI()))
			notes++
		}
		n, ok := known[string(key)]
		if !ok {
			n = len(with)
			known[string(key)] = n
			with = append(with, nil)
		}
		numbers = append(numbers, n)
		if !seen[b.Written] && notes >= 2 && len(with[n]) < mostAlike {
			seen[b.Written] = true
			with[n] = append(with[n], i)
		}
	}
	return numbers, with
}
