package desk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"gradatim"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// chooseBar does what a form of a bar asks for: it makes the change, looks whether it was
// kept, writes it down and shows the bar again, with what else has changed. What is
// impossible is not written; the page says why and what comes nearest.
func (d *Desk) chooseBar(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	st, err := d.state(ctx, r.PathValue("tune"))
	if err != nil {
		return err
	}
	b, _, err := barOf(st.Session, r.PathValue("bar"))
	if err != nil {
		return err
	}
	level := levelAsked(r)
	o, refused, err := d.attempt(ctx, st, r, func() (changing, string, error) { return d.wish(ctx, st, b, level, r) })
	switch {
	case err != nil:
		return err
	case refused != nil:
		return d.barPage(w, r, st, http.StatusUnprocessableEntity, refused, d.nearest(ctx, st, b, level, r))
	}
	q := url.Values{"level": {strconv.Itoa(level)}, "told": {o.how()}}
	if !o.Nothing && o.Kept == 0 {
		q.Set("since", strconv.Itoa(st.Version))
	}
	http.Redirect(w, r, fmt.Sprintf("/tunes/%s/bar/%d?%s", st.Tune.ID, b.Number, q.Encode()), http.StatusSeeOther)
	return nil
}

// attempt makes what a form wishes of a tune a change, as of the version that the form has
// seen. refused is why the tune cannot have it: nothing is written then, and the page that
// the form stands on says so.
func (d *Desk) attempt(ctx context.Context, st *state, r *http.Request, wish func() (changing, string, error)) (o outcome, refused leadsheet.Problems, err error) {
	seen, err := strconv.Atoi(r.PostFormValue("seen"))
	if err != nil {
		return o, nil, errNoPage
	}
	f, note, err := wish()
	if err == nil {
		o, err = d.change(ctx, st.Tune.ID, seen, note, f)
	}
	if errors.As(err, &refused) && !meanwhile(err) {
		return o, refused, nil
	}
	return o, nil, err
}

// wish reads what a form asks for: a change of sessions, and a note of it for the history.
func (d *Desk) wish(ctx context.Context, st *state, b leadsheet.Bar, level int, r *http.Request) (changing, string, error) {
	p, ok, err := pageOf(ctx, st.Session, level)
	if err != nil {
		return nil, "", err
	}
	if !ok {
		return nil, "", errNoPage
	}
	song := st.Session.Song()
	home := theory.NearestInterval(p.Key.Tonic, song.Key.Tonic) // from the page to the sheet
	val := func(name string) string { return strings.TrimSpace(r.PostFormValue(name)) }
	c := gradatim.Choice{Level: level, Bar: b.Sheet}
	choose := func(cs ...gradatim.Choice) changing {
		return func(ctx context.Context, s *gradatim.Session) (*gradatim.Session, error) {
			next, err := s.Change(ctx, cs...)
			if err != nil {
				return nil, err
			}
			return next, notKept(ctx, s, next, level)
		}
	}
	name := func(key string, parts ...any) string {
		return d.say("done."+key, append(parts, "Bar", d.inBars(b.Sheet, b.Sheet), "Level", level)...)
	}
	switch do := val("do"); do {
	case "take":
		seen, _ := strconv.Atoi(val("seen"))
		was, err := d.at(ctx, st, seen)
		if err != nil {
			return nil, "", err
		}
		cs, x, err := d.waysAt(ctx, was, level, b.Number, val("way"))
		if err != nil {
			return nil, "", err
		}
		_, k, _ := strings.Cut(val("way"), ".")
		i, _ := strconv.Atoi(k)
		return choose(cs...), name("take", "What", d.wayText(x, x.Runners[i])), nil
	case "chord":
		c, chord, err := chordChoice(p, song, b, val("chord"), val("beat"))
		if err != nil {
			_, _, err := gradatim.DescribeChords(ctx, d.words.ID(), val("chord"))
			return nil, "", err
		}
		note := name("chord-new", "Chord", chord.Pretty())
		if was := d.chordAt(p, b, val("beat")); was != "" {
			note = name("chord", "Was", was, "Chord", chord.Pretty())
		}
		return choose(c), note, nil
	case "easier":
		cs, what, err := d.easier(ctx, st, p, b)
		if err != nil {
			return nil, "", err
		}
		return choose(cs...), name("take", "What", what), nil
	case "restore":
		from, err := strconv.Atoi(val("from"))
		if err != nil {
			return nil, "", errNoPage
		}
		old, err := d.at(ctx, st, from)
		if err != nil {
			return nil, "", err
		}
		return d.restore(old, level, b.Number), name("restore", "What", d.versionName(from)), nil
	case "use", "avoid":
		id := val("technique")
		switch val("where") {
		case "section":
			first, last := sectionOf(song, b)
			c.Bar, c.Bars = first, last-first+1
		case "everywhere":
			last := 0
			c.Bar = song.Bars[0].Sheet
			for _, x := range song.Bars {
				last = max(last, x.Sheet)
			}
			c.Bars = last - c.Bar + 1
		default:
			c.Bars = 1
		}
		if do == "use" {
			c.Technique = id
		} else {
			c.Avoid = id
		}
		return choose(c), name(do, "Name", d.words.Technique(id).Name), nil
	case "octave":
		n, err := strconv.Atoi(val("octave"))
		if err != nil {
			return nil, "", errNoPage
		}
		first, last := sectionOf(song, b)
		c.Bar, c.Bars, c.Octave = first, last-first+1, n
		return choose(c), name("octave"), nil
	case "finger", "take-note", "move":
		parts := strings.Fields(val("note"))
		if len(parts) != 3 {
			return nil, "", errNoPage
		}
		pitch, err := theory.ParsePitch(parts[2])
		if err != nil {
			return nil, "", errNoPage
		}
		c.Hand, c.Beat = handOf(parts[0]), parts[1]
		at := pitch.Up(home).String()
		switch do {
		case "finger":
			c.Note = at
			if c.Finger, err = strconv.Atoi(val("finger")); err != nil {
				c.Finger = -1 // Change says what is wrong with it
			}
		case "take-note":
			c.Take = at
		case "move":
			c.Move, c.To = at, moved(val("to"), home)
		}
		note := d.noteOf(c.Hand, pitch, parts[1])
		if do == "finger" && val("finger") == noFinger {
			return d.letGo(level, b.Number, func(f gradatim.Fixed) bool {
				return f.Finger > 0 && f.Note == c.Note && (f.Hand == 0 || f.Hand == c.Hand) && cmp.Or(f.Beat, val("begins")) == c.Beat
			}), name("finger-none", "Note", note), nil
		}
		if do == "finger" {
			return choose(c), name(do, "Note", note, "Finger", val("finger")), nil
		}
		return choose(c), name(do, "Note", note), nil
	case "let-go":
		seen, _ := strconv.Atoi(val("seen"))
		was, err := d.at(ctx, st, seen)
		if err != nil {
			return nil, "", err
		}
		fs, err := was.Chosen(level, b.Number)
		if err != nil {
			return nil, "", err
		}
		i, err := strconv.Atoi(val("fixed"))
		if err != nil || i < 0 || i >= len(fs) {
			return nil, "", errNoPage
		}
		return d.letGo(level, b.Number, func(f gradatim.Fixed) bool { return f == fs[i] }), name("let-go", "What", d.fixedText(fs[i])), nil
	case "add":
		c.Hand, c.Beat, c.Add = handOf(val("hand")), val("beat"), moved(val("new"), home)
		return choose(c), name("add", "Note", val("new")), nil
	case "lock":
		return func(ctx context.Context, s *gradatim.Session) (*gradatim.Session, error) {
			return s.Lock(ctx, level, b.Number)
		}, name("lock"), nil
	case "free":
		return func(ctx context.Context, s *gradatim.Session) (*gradatim.Session, error) {
			return s.Free(ctx, level, b.Number)
		}, name("free"), nil
	}
	return nil, "", errNoPage
}

// easier finds the way of a hand in a bar that suits the page best of those that make the bar
// easier by itself, of each pattern the first.
func (d *Desk) easier(ctx context.Context, st *state, p gradatim.Page, b leadsheet.Bar) ([]gradatim.Choice, string, error) {
	level := p.Level.Number
	ds, err := d.tunes.runnersUp(ctx, st.Session, level, b.Number)
	if err != nil {
		return nil, "", err
	}
	at, ok := standsAt(p.Score, b)
	if !ok {
		return nil, "", errNoPage
	}
	now, err := ratingOf(ctx, p.Score, at, st.Job.Hand)
	if err != nil {
		return nil, "", err
	}
	type try struct {
		runner gradatim.Runner
		text   string
	}
	var tries []try
	for _, x := range ds {
		if x.Hand == 0 {
			continue
		}
		for _, r := range x.Runners[min(1, len(x.Runners)):] {
			t := try{r, d.wayText(x, r)}
			if !slices.ContainsFunc(tries, func(o try) bool { return o.text == t.text }) && r.Text != "rest" {
				tries = append(tries, t)
			}
		}
	}
	slices.SortStableFunc(tries, func(a, b try) int { return cmp.Compare(a.runner.Extra, b.runner.Extra) })
	for _, t := range tries[:min(mostEasier, len(tries))] {
		next, err := st.Session.Change(ctx, t.runner.Choices...)
		var ps leadsheet.Problems
		if errors.As(err, &ps) {
			continue
		} else if err != nil {
			return nil, "", err
		}
		q, ok, err := pageOf(ctx, next, level)
		if err != nil {
			return nil, "", err
		}
		to, stands := standsAt(q.Score, b)
		if !ok || q.Failed || !stands || notKept(ctx, st.Session, next, level) != nil {
			continue
		}
		if n, err := ratingOf(ctx, q.Score, to, st.Job.Hand); err != nil {
			return nil, "", err
		} else if n < now {
			return t.runner.Choices, t.text, nil
		}
	}
	return nil, "", d.impossible("bar-easier")
}

// mostEasier bounds the ways that are tried to make a bar easier.
const mostEasier = 8

// restore puts what was chosen in a bar in an earlier session in the place of what is chosen
// there now. A bar that was kept as it was cannot be had so: what it held is not a choice.
func (d *Desk) restore(old *gradatim.Session, level, bar int) changing {
	return func(ctx context.Context, s *gradatim.Session) (*gradatim.Session, error) {
		was, err := old.Chosen(level, bar)
		if err != nil {
			return nil, err
		}
		var again []gradatim.Choice
		for _, f := range was {
			if f.Lock {
				return nil, d.impossible("bar-restore")
			}
			again = append(again, f.Choice)
		}
		next, err := d.letGo(level, bar, func(f gradatim.Fixed) bool { return !slices.Contains(was, f) })(ctx, s)
		if err != nil {
			return nil, err
		}
		return next.Change(ctx, again...)
	}
}

// noFinger is what a form sends for a note that shall have none of the teacher's fingers.
const noFinger = "none"

// letGo lets go of what is fixed in a bar, as far as which says.
func (d *Desk) letGo(level, bar int, which func(gradatim.Fixed) bool) changing {
	return func(ctx context.Context, s *gradatim.Session) (*gradatim.Session, error) {
		fs, err := s.Chosen(level, bar)
		if err != nil {
			return nil, err
		}
		for _, f := range fs {
			if !which(f) {
				continue
			}
			if s, err = s.LetGo(ctx, f); err != nil {
				return nil, err
			}
		}
		return s, nil
	}
}

// chordAt is the chord that sounds on a beat of a bar, as a page has it; "": none.
func (d *Desk) chordAt(p gradatim.Page, b leadsheet.Bar, beat string) string {
	at, ok := standsAt(p.Score, b)
	if !ok {
		return ""
	}
	c, ok := p.Score.ChordAt(at.At)
	for _, x := range p.Score.Chords {
		if x.At >= at.At && x.At < at.End() && p.Score.PosAt(x.At).Beat.String() == beat {
			c, ok = x, true
		}
	}
	if !ok {
		return ""
	}
	return c.Chord.Pretty()
}

// noteOf calls a note of a bar as a teacher does, without the number of its octave, which
// beside a finger would be read as one.
func (d *Desk) noteOf(h score.Hand, p theory.Pitch, beat string) string {
	return d.say("tool.note-of", "Note", d.words.Name(p.Name), "Hand", d.say("hand."+h.String()), "Beat", beat)
}

func handOf(s string) score.Hand {
	switch s {
	case "left":
		return score.Left
	case "right":
		return score.Right
	}
	return 0
}

// moved puts a note as a choice writes it, "C#3@2:1/4", into the key of the sheet; what
// cannot be read stays, for Change to tell.
func moved(note string, home theory.Interval) string {
	end := strings.IndexAny(note, "@:")
	if end < 0 {
		end = len(note)
	}
	p, err := theory.ParsePitch(note[:end])
	if err != nil {
		return note
	}
	return p.Up(home).String() + note[end:]
}

// notKept tells which choices of a level could not be kept after a change: what the page
// says of it that it did not say before.
func notKept(ctx context.Context, before, after *gradatim.Session, level int) error {
	had, _, err := pageOf(ctx, before, level)
	if err != nil {
		return err
	}
	has, _, err := pageOf(ctx, after, level)
	if err != nil {
		return err
	}
	var ps leadsheet.Problems
	for _, p := range has.Problems {
		said := func(q leadsheet.Problem) bool { return q.Pos == p.Pos && q.Text == p.Text }
		if p.Code == "choice-impossible" && !slices.ContainsFunc(had.Problems, said) {
			p.Severity = leadsheet.Error
			ps = append(ps, p)
		}
	}
	return ps.Err()
}

// nearest says what comes nearest to what was refused and is possible: the chords that the
// tune allows there, or the ways of the hand that was meant; "": nothing is known.
func (d *Desk) nearest(ctx context.Context, st *state, b leadsheet.Bar, level int, r *http.Request) string {
	ds, err := d.tunes.runnersUp(ctx, st.Session, level, b.Number)
	if err != nil {
		return ""
	}
	want := score.Hand(0)
	switch r.PostFormValue("do") {
	case "chord":
	case "add":
		want = handOf(r.PostFormValue("hand"))
	case "finger", "take-note", "move":
		hand, _, _ := strings.Cut(r.PostFormValue("note"), " ")
		want = handOf(hand)
	default:
		return ""
	}
	var near []string
	for _, x := range ds {
		if x.Hand != want {
			continue
		}
		for _, runner := range x.Runners[min(1, len(x.Runners)):] {
			if t := d.wayText(x, runner); len(near) < 3 && !slices.Contains(near, t) {
				near = append(near, t)
			}
		}
	}
	if near == nil {
		return ""
	}
	return d.say("bar.nearest", "Ways", d.words.List(near))
}
