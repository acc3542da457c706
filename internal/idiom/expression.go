package idiom

import (
	"slices"
	"strings"

	"gradatim/leadsheet"
	"gradatim/score"
)

// Dynamics are how loud tunes of a kind are in the parts of their form, as signs; ""
// for Again, Return and Close: as the section was the first time, as it comes. (The signs
// and places in the files are common practice, no source.)
type Dynamics struct {
	Rest     string // at the start and wherever nothing asks for more
	Contrast string // of a section that stands out
	Again    string // of a section that is heard again at once; "": as the first time
	Return   string // of the first section when it closes the piece
	Climax   string // at the tune's highest note; "": nothing grows
	Close    string // on the last chord
	Swells   int    // how many phrases of a section swell to their highest note
}

// Touch is how the notes of a kind are joined and struck.
type Touch struct {
	Groups                   bool // running notes are joined by the beat, as dances have it
	Slurs                    int  // how many bars of the tune a slur covers at most; 0: none is written
	Staccato, Tenuto, Accent []Place
}

// Place is where a kind puts a sign of touch.
type Place uint8

// Places.
const (
	AfterBeats   Place = iota + 1 // what the left hand strikes after its bass, no longer than a beat
	StruckAgain                   // a tune note, no longer than a beat, that is struck again at once
	BeforeLeaps                   // a tune note of a beat from which the tune leaps a fourth and more
	Cadences                      // the tune's last two notes before a phrase comes to rest, of a beat and more
	Openings                      // the tune's first note on the first beat of a section
	Syncopations                  // a tune note struck between beats and held over the next
	Summit                        // the tune's highest note
)

var placeNames = [...]string{AfterBeats: "after-beats", StruckAgain: "struck-again", BeforeLeaps: "before-leaps", Cadences: "cadences", Openings: "openings", Syncopations: "syncopations", Summit: "summit"}

func (p Place) String() string { return placeNames[p] }

// expressionFile is what the file of a kind says of both.
type expressionFile struct {
	Dynamics struct {
		Rest     string `toml:"rest"`
		Contrast string `toml:"contrast"`
		Again    string `toml:"again"`
		Return   string `toml:"return"`
		Climax   string `toml:"climax"`
		Close    string `toml:"close"`
		Swells   int    `toml:"swells"`
	} `toml:"dynamics"`
	Touch struct {
		Groups   bool     `toml:"groups"`
		Slurs    int      `toml:"slurs"`
		Staccato []string `toml:"staccato"`
		Tenuto   []string `toml:"tenuto"`
		Accent   []string `toml:"accent"`
	} `toml:"touch"`
}

func (f expressionFile) parse(bad func(leadsheet.Saying, ...any)) (Dynamics, Touch) {
	for _, d := range []struct {
		sign     string
		optional bool
	}{{f.Dynamics.Rest, false}, {f.Dynamics.Contrast, false}, {f.Dynamics.Again, true}, {f.Dynamics.Return, true}, {f.Dynamics.Climax, true}, {f.Dynamics.Close, true}} {
		if _, ok := score.StepOf(d.sign); !ok && (d.sign != "" || !d.optional) {
			bad("idiom-dynamics", "Sign", leadsheet.Quoted(d.sign))
		}
	}
	if n := f.Dynamics.Swells; n < 0 || n > 4 {
		bad("idiom-dynamics.swells", "Phrases", n, "Least", 0, "Most", 4)
	}
	if n := f.Touch.Slurs; n < 0 || n > 8 {
		bad("idiom-touch.slurs", "Bars", n, "Least", 0, "Most", 8)
	}
	places := func(names []string) []Place {
		var out []Place
		for _, name := range names {
			i := slices.Index(placeNames[:], name)
			if i < 1 {
				bad("idiom-touch", "Place", leadsheet.Quoted(name), "Places", strings.Join(placeNames[1:], ", "))
				continue
			}
			out = append(out, Place(i))
		}
		return out
	}
	t := Touch{f.Touch.Groups, f.Touch.Slurs, places(f.Touch.Staccato), places(f.Touch.Tenuto), places(f.Touch.Accent)}
	return Dynamics(f.Dynamics), t
}
