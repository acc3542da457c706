package dictation

import (
	"cmp"
	"math"
	"slices"

	"gradatim/internal/harmony"
	"gradatim/internal/smf"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Options say how to read. The zero Options find everything out.
type Options struct {
	File string // for messages
	Line int    // which line has the tune, from 1 in the order of the file; 0: it is found
}

// note is a note of the file on its way to the page.
type note struct {
	line     int // index into smf.File.Lines
	on, off  float64
	down, up float64 // on and off as they were played, before anything was put in order
	key, vel int
	hand     score.Hand
	at, end  theory.Dur
}

// take is a file that is being written down.
type take struct {
	file     smf.File
	opt      Options
	notes    []note // by onset, then key; positions in quarters
	problems leadsheet.Problems

	found    bool // beats were found, the file has none
	tempo    int  // quarters a minute
	swing    float64
	word     bool // the file ends its notes where they are written to end
	anchored []anchor
	straight map[int]bool // quarters that do not swing, where others do
	bars     []score.Bar
	key      theory.Key
	shift    theory.Dur // what was left out before the first bar
	paces    []pace     // how fast it was played, by place
	feet     []foot     // and how it was pedalled

	doubtful []theory.Dur // moments that could be read otherwise
}

// Of writes a file down. The error is a leadsheet.Problems.
func Of(f smf.File, opt Options) (score.Score, leadsheet.Problems, error) {
	t := &take{file: f, opt: opt, problems: slices.Clone(f.Problems)}
	if err := t.lines(); err != nil {
		return score.Score{}, nil, err
	}
	t.beats()
	t.snap()
	if err := t.measure(); err != nil {
		return score.Score{}, nil, err
	}
	t.findKey()
	for i := range t.bars {
		t.bars[i].Key = t.keyAt(t.bars[i].At)
	}
	return t.score(), t.problems, nil
}

func (t *take) tell(sev leadsheet.Severity, says leadsheet.Saying, parts ...any) {
	t.problems.Tell(sev, leadsheet.Pos{File: t.opt.File}, says, parts...)
}

func (t *take) info(says leadsheet.Saying, parts ...any) { t.tell(leadsheet.Info, says, parts...) }

// quarters is a position in quarters as an exact length, to the nearest unit.
func quarters(q float64) theory.Dur { return theory.Dur(math.Round(q * float64(theory.Quarter))) }

// sortNotes puts the notes in order of their raw onsets.
func (t *take) sortNotes() {
	slices.SortStableFunc(t.notes, func(a, b note) int {
		return cmp.Or(cmp.Compare(a.on, b.on), cmp.Compare(a.key, b.key), cmp.Compare(a.line, b.line))
	})
}

// findKey takes the file's key, or finds one from the notes.
func (t *take) findKey() {
	if len(t.file.Keys) > 0 && (len(t.file.Keys) > 1 || t.file.Keys[0].Fifths != 0 || t.file.Keys[0].Minor || t.fits(theory.KeyOf(0, theory.Major))) {
		return // bar by bar, in keyAt
	}
	song := leadsheet.Song{Key: theory.KeyOf(0, theory.Major)}
	for _, b := range t.bars {
		song.Bars = append(song.Bars, leadsheet.Bar{At: b.At, Dur: b.Dur, Meter: b.Meter, Key: song.Key, Number: b.Number})
	}
	for _, n := range t.notes {
		song.Melody = append(song.Melody, leadsheet.Note{At: n.at, Dur: n.end - n.at, Pitch: theory.HarmonicSpelling(song.Key, theory.Chord{}, n.key)})
	}
	if k, ok := harmony.EstimateKey(song); ok && k.Fifths() >= -6 && k.Fifths() <= 6 {
		t.key = k
	} else {
		t.key = song.Key
	}
	t.file.Keys = nil
	t.info("midi-key-found", "Key", t.key)
}

// fits tells whether the notes belong to a key: nine of ten are in its scale. Programs
// write the signature of C where they know none.
func (t *take) fits(k theory.Key) bool {
	in := 0
	for _, n := range t.notes {
		if k.Contains(theory.HarmonicSpelling(k, theory.Chord{}, n.key).Name) {
			in++
		}
	}
	return 10*in >= 9*len(t.notes)
}

// keyAt is the key in force at a place of the page.
func (t *take) keyAt(at theory.Dur) theory.Key {
	if len(t.file.Keys) == 0 {
		return t.key
	}
	k := t.file.Keys[0]
	for _, next := range t.file.Keys[1:] {
		if quarters(float64(next.At)/float64(t.file.Division))-t.shift <= at {
			k = next
		}
	}
	if k.Minor {
		return theory.KeyOf(k.Fifths, theory.Minor)
	}
	return theory.KeyOf(k.Fifths, theory.Major)
}

// score puts the notes on the page.
func (t *take) score() score.Score {
	s := score.Score{Live: true, Title: t.file.Title, Rights: t.file.Copyright, Bars: t.bars}
	beat := t.bars[len(t.bars)/2].Meter.BeatDur()
	if beat <= 0 {
		beat = theory.Quarter
	}
	s.Tempo = leadsheet.Tempo{Beat: beat, PerMinute: max(1, int(math.Round(float64(t.tempo)*float64(theory.Quarter)/float64(beat))))}
	if t.swing > 0 {
		s.Feel, s.Swing = leadsheet.Swing, score.Ratio{First: int(math.Round(20 * t.swing)), Second: 20 - int(math.Round(20*t.swing))}
	}
	for _, n := range t.notes {
		if n.end <= n.at {
			continue
		}
		key := t.bars[max(0, barAt(t.bars, n.at))].Key
		s.Notes = append(s.Notes, score.Note{Hand: n.hand, Voice: 1, At: n.at, Dur: n.end - n.at, Pitch: theory.HarmonicSpelling(key, theory.Chord{}, n.key),
			Stroke: t.stroke(n)})
	}
	s.Directions = t.played(s.End())
	voices(s.Notes)
	return s.Finish()
}

// voices parts what a hand holds from what it strikes under or over it: a note that
// overlaps others of its hand that begin or end elsewhere goes to a second voice, where
// it lies lower.
func voices(ns []score.Note) {
	slices.SortStableFunc(ns, score.Compare)
	var free [3][3]theory.Dur // by hand and voice: until when it is taken
	for i := 0; i < len(ns); {
		j := i
		for j < len(ns) && ns[j].At == ns[i].At {
			j++
		}
		for _, h := range []score.Hand{score.Right, score.Left} {
			var idx []int
			for k := i; k < j; k++ {
				if ns[k].Hand == h {
					idx = append(idx, k)
				}
			}
			if len(idx) == 0 {
				continue
			}
			slices.SortFunc(idx, func(a, b int) int { return cmp.Compare(ns[b].Pitch.MIDI(), ns[a].Pitch.MIDI()) })
			top := ns[idx[0]].Dur
			for _, k := range idx {
				v := uint8(1)
				if ns[k].Dur != top || free[h][1] > ns[k].At && free[h][2] <= ns[k].At {
					v = 2
				}
				ns[k].Voice = v
			}
			for _, k := range idx {
				free[h][ns[k].Voice] = max(free[h][ns[k].Voice], ns[k].End())
			}
		}
		i = j
	}
}
