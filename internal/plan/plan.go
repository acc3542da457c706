// Package plan is the form of a page before its notes: what each section and phrase
// is for, how loud it is, and where it grows. It knows neither the notes of an
// arrangement nor any format; whoever arranges follows it, and the account shows it.
package plan

import (
	"slices"

	"gradatim/internal/harmony"
	"gradatim/internal/idiom"
	"gradatim/internal/ladder"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Role is what a section or phrase is for.
type Role uint8

// Roles.
const (
	Statement    Role = iota + 1 // what is heard first
	Restatement                  // the section before once more
	Contrast                     // something new
	Return                       // of a section from before, after something else
	Climax                       // a phrase with the tune's highest note
	Ending                       // the last phrase; a tag
	Introduction                 // what is played before the tune begins
)

var roles = [...]string{Introduction: "introduction", Statement: "statement", Restatement: "restatement", Contrast: "contrast", Return: "return", Climax: "climax", Ending: "ending"}

// String returns the role in lower case.
func (r Role) String() string { return roles[r] }

// MarshalText writes what String does.
func (r Role) MarshalText() ([]byte, error) { return []byte(roles[r]), nil }

// leastTexture is how many bars a texture of the left hand stays, where there is an arc,
// and MostTexture after how many a section that goes on takes the next.
const (
	leastTexture = 7
	MostTexture  = 16
)

// Plan is the form of a page. Bars are indexes into the song's.
type Plan struct {
	Sections []Section
	Climax   Growth // to the tune's highest note; zero: none
	Swells   []Swell
	Turns    []Turn
	Close    string // how loud the last chord is; "": as it comes
}

// Section is a part of the form; a song without sections is one, without a name.
type Section struct {
	First, Last int // bars
	Name        string
	Role        Role
	Turn        int    // of the textures that take turns: equal sections have the same one
	Grows       bool   // it comes for the last time, and was there before
	Dynamic     string // at its beginning
	Loud        bool   // it is not softer than what was stated
	Soft        bool   // it is
	Octave      int    // by how many octaves the tune stands from its place
	Phrases     []Phrase
}

// Phrase is a phrase, or what of it lies in one section.
type Phrase struct {
	First, Last int
	Role        Role
	Weave       Weave // what goes along with the tune in its hand
	LeadsOn     bool  // the bass may leave its pattern at the end and go to the next phrase
}

// Growth is a crescendo to a place and what follows it. The sign at its end is Top;
// where the music fades, from Fade to Until, it leads back to After.
type Growth struct {
	Note        int // the highest note, by index in the melody
	From, To    theory.Dur
	Top         string
	Fade, Until theory.Dur // equal: it does not
	After       string
}

// Swell is a phrase that grows to its highest note and fades: hairpins from From to
// Peak and from Fall to To.
type Swell struct{ From, Peak, Fall, To theory.Dur }

// Turn is a phrase within a section that has a sign of its own. From From, where that is
// earlier, the music leads to it.
type Turn struct {
	From, At theory.Dur
	Sign     string
	Fades    bool // it is softer than what was in force
}

// Make plans the page of a level.
func Make(song leadsheet.Song, an harmony.Analysis, kind idiom.Idiom, level ladder.Level) Plan {
	m := maker{song: song, an: an, dyn: kind.Dynamics, signs: level.Dynamics, arc: level.Arc, steady: kind.Steady, dances: kind.InTime, kind: kind, support: level.Support, choral: choral(level)}
	m.sections()
	m.roles()
	m.loudness()
	m.frame()
	m.phrases()
	m.rise()
	if m.signs >= ladder.ClimaxDynamics {
		m.climax()
		m.out.Close = m.dyn.Close
		if c := m.out.Climax; c.To > 0 && c.Until >= song.End()-2*m.bar(len(song.Bars)-1) {
			m.out.Close = ""
		}
	}
	switch {
	case m.signs >= ladder.PhraseDynamics:
		m.swells(m.dyn.Swells)
	case m.signs >= ladder.ClimaxDynamics:
		m.swells(min(m.dyn.Swells, 1))
	}
	if m.signs >= ladder.SectionDynamics {
		m.turns()
	}
	m.weave()
	m.leads()
	return m.out
}

type maker struct {
	song           leadsheet.Song
	an             harmony.Analysis
	dyn            idiom.Dynamics
	signs          ladder.Dynamics
	arc            ladder.Arc
	steady, dances bool
	kind           idiom.Idiom
	support        int  // how much the level has beside the tune
	choral         bool // the left hand sings with the tune
	out            Plan
}

// bar is the length of a full bar at a bar.
func (m *maker) bar(i int) theory.Dur { return m.song.Bars[i].Meter.OrCommon().Bar() }

// sections cuts the bars where the song names a section, and where the tune begins and
// ends. What stands before the first of them, a pick-up mostly, goes with it.
func (m *maker) sections() {
	for i, b := range m.song.Bars {
		n := len(m.out.Sections)
		opens := i > 0 && b.Part != m.song.Bars[i-1].Part
		switch {
		case n == 0 || opens:
			m.out.Sections = append(m.out.Sections, Section{First: i, Last: i, Name: b.Section})
		case b.Section == "" || m.out.Sections[n-1].Name == "" && m.out.Sections[n-1].First == i-1 && m.song.Bars[i-1].Pickup:
			m.out.Sections[n-1].Last = i
			if b.Section != "" {
				m.out.Sections[n-1].Name = b.Section
			}
		default:
			m.out.Sections = append(m.out.Sections, Section{First: i, Last: i, Name: b.Section})
		}
	}
}

// roles says what the sections are for and which turn of the textures each has, which it
// finds again when it returns.
func (m *maker) roles() {
	secs := m.tune()
	total, count, turn := map[string]int{}, map[string]int{}, map[string]int{}
	fresh, since := 0, 0 // the next turn; bars since a new one was taken
	for _, s := range secs {
		total[s.Name]++
	}
	for i := range secs {
		s := &secs[i]
		if _, known := turn[s.Name]; !known {
			if m.arc != ladder.NoArc && i > 0 && since < leastTexture { // too short for one of its own
				turn[s.Name] = secs[i-1].Turn
			} else {
				turn[s.Name], since = fresh, 0
				fresh++
			}
		}
		count[s.Name]++
		s.Turn = turn[s.Name]
		s.Grows = s.Name != "" && total[s.Name] > 1 && count[s.Name] == total[s.Name]
		switch {
		case i == 0:
			s.Role = Statement
		case s.Name == secs[i-1].Name:
			s.Role = Restatement
			if m.arc != ladder.NoArc && i < len(secs)-1 {
				s.Grows = false // it is varied, and what closes the piece grows
			}
			if m.arc != ladder.NoArc && s.Name != "" && count[s.Name] == 2 { // what is written out again has something new
				s.Turn, since = fresh, 0
				fresh++
			}
		case count[s.Name] > 1:
			s.Role = Return
		default:
			s.Role = Contrast
		}
		since += s.Last - s.First + 1
	}
}

// tune are the sections of the tune itself.
func (m *maker) tune() []Section {
	secs := m.out.Sections
	for len(secs) > 1 && m.song.Bars[secs[0].First].Part == leadsheet.Introduction {
		secs = secs[1:]
	}
	for len(secs) > 1 && m.song.Bars[secs[len(secs)-1].First].Part == leadsheet.Tag {
		secs = secs[:len(secs)-1]
	}
	return secs
}

// frame says the same of an introduction and a tag: they play as the tune does that they
// lead to or come from.
func (m *maker) frame() {
	secs, tune := m.out.Sections, m.tune()
	for i := range secs {
		s := &secs[i]
		switch m.song.Bars[s.First].Part {
		case leadsheet.Introduction:
			s.Role, s.Turn, s.Dynamic = Introduction, tune[0].Turn, tune[0].Dynamic
		case leadsheet.Tag:
			last := tune[len(tune)-1]
			s.Role, s.Turn, s.Dynamic = Ending, last.Turn, last.Dynamic
		}
	}
}

// loudness gives each section its sign: its own the first time, and when it comes
// again. What is heard again at once may have another, and the return that closes the
// piece.
func (m *maker) loudness() {
	secs := m.tune()
	first := map[string]string{}
	for i := range secs {
		s := &secs[i]
		sign, known := first[s.Name]
		if !known {
			sign = m.dyn.Rest
			if len(first)%2 == 1 && m.signs >= ladder.SectionDynamics { // they take turns
				sign = m.dyn.Contrast
			}
			first[s.Name] = sign
		}
		s.Dynamic = sign
		if s.Role == Restatement && s.Name != "" && m.dyn.Again != "" && m.signs >= ladder.SectionDynamics && !(m.arc != ladder.NoArc && s.Grows) {
			s.Dynamic = m.dyn.Again
		}
		if m.dances && s.Grows && m.arc == ladder.ToClimax && m.dyn.Climax != "" {
			s.Dynamic = m.dyn.Climax // a dance goes in terraces, its last strain the loudest
		} else if i == len(secs)-1 && s.Role == Return && m.dyn.Return != "" && m.signs >= ladder.SectionDynamics {
			s.Dynamic = m.dyn.Return
		}
	}
}

func (m *maker) phrases() {
	secs := m.out.Sections
	for _, ph := range m.an.Phrases {
		for i := range secs {
			s := &secs[i]
			if first, last := max(ph.First, s.First), min(ph.Last, s.Last); first <= last {
				s.Phrases = append(s.Phrases, Phrase{First: first, Last: last, Role: s.Role})
			}
		}
	}
	if n := len(secs); n > 0 {
		if k := len(secs[n-1].Phrases); k > 0 && (n > 1 || k > 1) {
			secs[n-1].Phrases[k-1].Role = Ending
		}
	}
}

// sectionOf returns the index of the section that holds a bar.
func (m *maker) sectionOf(bar int) int {
	return slices.IndexFunc(m.out.Sections, func(s Section) bool { return bar <= s.Last })
}

// PhraseAt returns the phrase that holds a bar; its zero value where there is none.
func (p Plan) PhraseAt(bar int) Phrase {
	for _, ph := range p.At(bar).Phrases {
		if bar <= ph.Last {
			return ph
		}
	}
	return Phrase{}
}

// At returns the section that holds a bar; its zero value in a song without bars.
func (p Plan) At(bar int) Section {
	for _, s := range p.Sections {
		if bar <= s.Last {
			return s
		}
	}
	return Section{}
}
