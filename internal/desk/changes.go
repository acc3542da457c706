package desk

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gradatim"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// chosenIn says what the teacher has fixed in a bar at a level.
func (d *Desk) chosenIn(choices []byte, level int, b leadsheet.Bar) []string {
	var out []string
	all, ok := tables(choices)
	if !ok {
		return nil
	}
	for text, es := range all {
		for _, e := range es {
			if toText(e.Level) != strconv.Itoa(level) {
				continue
			}
			for _, a := range e.areas() {
				if b.Sheet < a.first || b.Sheet > a.last {
					continue
				}
				out = append(out, d.fixedText(text))
			}
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// fixedText says what a table of choices fixes, of its text as tables gives it.
func (d *Desk) fixedText(table string) string {
	kind, rest, _ := strings.Cut(table, "\x00")
	if kind == "lock" {
		return d.say("fixed.lock")
	}
	has := map[string]string{}
	for _, f := range strings.Split(rest, "\x00") {
		k, v, _ := strings.Cut(f, "=")
		if u, err := strconv.Unquote(v); err == nil {
			v = u
		}
		has[k] = v
	}
	hand := func() string {
		if h := has["hand"]; h != "" {
			return d.say("hand." + h)
		}
		return d.say("hand.both")
	}
	switch {
	case has["chord"] != "":
		return d.say("fixed.chord", "Chord", prettySymbol(has["chord"]))
	case has["figure"] != "":
		name, _, named := strings.Cut(has["figure"], ":")
		if !named || name == "rest" {
			return d.say("fixed.figure", "Hand", hand(), "Name", d.say("way.by-hand"))
		}
		return d.say("fixed.figure", "Hand", hand(), "Name", d.words.Technique(name).Name)
	case has["technique"] != "" || has["texture"] != "":
		return d.say("fixed.use", "Name", d.words.Technique(cmp.Or(has["technique"], has["texture"])).Name)
	case has["avoid"] != "":
		return d.say("fixed.avoid", "Name", d.words.Technique(has["avoid"]).Name)
	case has["add"] != "":
		return d.say("fixed.add", "Note", has["add"])
	case has["take"] != "":
		return d.say("fixed.take", "Note", d.plainNote(has["take"]))
	case has["move"] != "":
		return d.say("fixed.move", "Note", has["move"], "To", has["to"])
	case has["finger"] != "":
		return d.say("fixed.finger", "Note", d.plainNote(has["note"]), "Finger", has["finger"])
	}
	if has["dynamic"] != "" {
		return d.say("fixed.dynamic", "Sign", has["dynamic"])
	}
	return d.say("fixed.octave", "Octaves", has["octave"])
}

// prettySymbol writes a chord's symbol with its signs; what cannot be read stays.
func prettySymbol(text string) string {
	if s, err := theory.ParseSymbol(text); err == nil {
		return s.Chord.Pretty()
	}
	return text
}

// plainNote is the name of a note that a choice names, without its octave.
func (d *Desk) plainNote(text string) string {
	if p, err := theory.ParsePitch(text); err == nil {
		return d.words.Name(p.Name)
	}
	return text
}

// placeKey is a bar of the tune at a level.
type placeKey struct{ level, bar int }

// changedSince tells which bars sound otherwise than at a version of the choices.
func (d *Desk) changedSince(ctx context.Context, st *state, since string) (map[placeKey]bool, error) {
	out := map[placeKey]bool{}
	version, err := strconv.Atoi(since)
	if err != nil || version == st.Version {
		return out, nil
	}
	old, err := d.at(ctx, st, version)
	if err != nil {
		return out, nil // nobody has to have that version
	}
	return changedBars(ctx, st.Session.Song(), old, st.Session)
}

// changedBars tells which bars of which levels are otherwise in one session than in another
// of the same tune.
func changedBars(ctx context.Context, song leadsheet.Song, old, now *gradatim.Session) (map[placeKey]bool, error) {
	out := map[placeKey]bool{}
	was, err := old.Ladder(ctx)
	if err != nil {
		return nil, err
	}
	is, err := now.Ladder(ctx)
	if err != nil {
		return nil, err
	}
	for _, p := range is {
		i := slices.IndexFunc(was, func(q gradatim.Page) bool { return q.Level.Number == p.Level.Number })
		if i < 0 || p.Failed || was[i].Failed {
			continue
		}
		for _, b := range song.Bars {
			x, ok := standsAt(p.Score, b)
			y, ok2 := standsAt(was[i].Score, b)
			if ok != ok2 || ok && barText(p.Score, x) != barText(was[i].Score, y) {
				out[placeKey{p.Level.Number, b.Number}] = true
			}
		}
	}
	return out, nil
}

// barText is what a bar says to a player, to be compared.
func barText(s score.Score, b score.Bar) string {
	var out strings.Builder
	for _, n := range s.Notes {
		if n.At >= b.At && n.At < b.End() {
			fmt.Fprintln(&out, n.Hand, n.At-b.At, n.Dur, n.Pitch, n.Grace, n.Finger, n.Marks, n.Ornament)
		}
	}
	for _, c := range s.Chords {
		if c.At >= b.At && c.At < b.End() {
			fmt.Fprintln(&out, c.At-b.At, c.Chord)
		}
	}
	return out.String()
}

// elsewhere are bars of a level that a change has changed though nobody touched them.
type elsewhere struct {
	Level string
	Bars  []place
}

// elsewhere lists the bars that were changed but for the one that was touched.
func (d *Desk) elsewhere(st *state, pages []gradatim.Page, marked map[placeKey]bool, touched leadsheet.Bar) []elsewhere {
	var out []elsewhere
	h := tuneHead{ID: st.Tune.ID}
	for _, p := range pages {
		e := elsewhere{Level: d.words.Level(p.Level.Number, p.Level.Name)}
		for _, x := range st.Session.Song().Bars {
			if marked[placeKey{p.Level.Number, x.Number}] && x.Number != touched.Number {
				e.Bars = append(e.Bars, place{Path: fmt.Sprintf("%s?level=%d", h.Href("bar/"+strconv.Itoa(x.Number)), p.Level.Number), Text: d.barName(x)})
			}
		}
		if e.Bars != nil {
			out = append(out, e)
		}
	}
	return out
}
