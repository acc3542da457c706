package desk

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"gradatim"
	"gradatim/leadsheet"
	"gradatim/score"
)

// planView is the plan of a level's page: its sections with their texture, density and
// loudness, and what holds for all levels.
type planView struct {
	frame
	Levels   []optionValue
	Level    int
	Failed   bool
	Refused  []problem
	Action   string
	Parts    []planPart
	Textures []optionRowOf // of every section
	Signs    []string
	Options  []optionRow
	Kind     string   // that the sheet was taken for
	KindWhy  []string // what speaks for it
	Second   string   // what else it may be; "": nothing comes near
	SecondID string
	WasKind  string // the kind that was chosen; "": it is found
	laneMusic
}

// planPart is a section.
type planPart struct {
	ID          int    // its first bar on the sheet
	Name, Bars  string // "A", "bars 1–8"
	Role        string
	Texture     string // of its left hand, most first
	Density     string
	Dynamic     string
	Textures    []optionRowOf // that can stand there
	first, last int
}

// stretchOf is a section of a song: bars of the sheet, and the first of the time line.
type stretchOf struct {
	name        string
	first, last int
	bars        []leadsheet.Bar
}

// sectionsOf are the sections of a song as the sheet has them, each once; a pick-up goes
// with the one after it. A song without sections is one.
func sectionsOf(song leadsheet.Song) []stretchOf {
	var out []stretchOf
	for i, b := range song.Bars {
		n := len(out)
		if n == 0 || b.Section != "" && !(n == 1 && i == 1 && song.Bars[0].Pickup && out[0].name == "") {
			out = append(out, stretchOf{name: b.Section, first: b.Sheet, last: b.Sheet, bars: []leadsheet.Bar{b}})
			continue
		}
		s := &out[n-1]
		s.name = cmp.Or(s.name, b.Section)
		s.first, s.last, s.bars = min(s.first, b.Sheet), max(s.last, b.Sheet), append(s.bars, b)
	}
	var once []stretchOf
	for _, s := range out {
		if !slices.ContainsFunc(once, func(o stretchOf) bool { return o.first <= s.last && s.first <= o.last }) {
			once = append(once, s)
		}
	}
	return once
}

// planSigns are the signs of loudness that can be asked for.
var planSigns = []string{"pp", "p", "mp", "mf", "f", "ff"}

func (d *Desk) showPlan(w http.ResponseWriter, r *http.Request) error {
	st, err := d.state(r.Context(), r.PathValue("tune"))
	if err != nil {
		return err
	}
	return d.planPage(w, r, st, http.StatusOK, nil)
}

func (d *Desk) planPage(w http.ResponseWriter, r *http.Request, st *state, status int, refused leadsheet.Problems) error {
	ctx := r.Context()
	p, ok, err := pageOf(ctx, st.Session, levelAsked(r))
	if err != nil {
		return err
	}
	if !ok {
		return errNoPage
	}
	v := &planView{frame: d.head(st, "plan"), Level: p.Level.Number, Failed: p.Failed, Refused: d.problems(refused), Signs: planSigns, Action: "/tunes/" + st.Tune.ID + "/plan"}
	if v.Levels, err = d.levelValues(ctx, st.Session, v.Level); err != nil {
		return err
	}
	if !p.Failed {
		if err := d.planParts(ctx, st, p, v); err != nil {
			return err
		}
		v.laneMusic = d.laneMusic(st, p)
	}
	all, err := d.optionRows(ctx, st)
	if err != nil {
		return err
	}
	for _, row := range all {
		v.Options = append(v.Options, row)
		if row.Name == "style" {
			v.WasKind = row.Value
		}
	}
	data, err := st.Session.Summary(ctx)
	if err != nil {
		return err
	}
	var told struct {
		Levels []struct {
			Idiom struct {
				Kind, Second string
				Why          []string
			}
		}
	}
	if err := json.Unmarshal(data, &told); err != nil {
		return err
	}
	if len(told.Levels) > 0 {
		x := told.Levels[0].Idiom
		v.Kind, v.KindWhy = d.words.Manner(x.Kind, x.Kind), x.Why
		if x.Second != "" && x.Second != x.Kind {
			v.Second, v.SecondID = d.words.Manner(x.Second, x.Second), x.Second
		}
	}
	return d.render(w, r, status, "plan", v)
}

// planParts fills in the sections of a page.
func (d *Desk) planParts(ctx context.Context, st *state, p gradatim.Page, v *planView) error {
	a, err := d.accountOf(ctx, st.Session, p)
	if err != nil {
		return err
	}
	song := st.Session.Song()
	for _, s := range sectionsOf(song) {
		part := planPart{ID: s.first, Name: s.name, Bars: d.barsText(s.first, s.last), first: s.first, last: s.last}
		begin := s.bars[0]
		if begin.Pickup && len(s.bars) > 1 {
			begin = s.bars[1]
		}
		if at, ok := standsAt(p.Score, begin); ok {
			part.Dynamic = p.Score.DynamicAt(at.At, score.Right)
			for _, f := range a.Form {
				if at.Number >= f.Bars[0] && at.Number <= f.Bars[1] {
					part.Role = d.say("role." + f.Role)
				}
			}
		}
		offers, err := d.textures(ctx, st, p, s)
		if err != nil {
			return err
		}
		for _, o := range offers {
			row := optionRowOf{o.id, d.words.Technique(o.id).Title()}
			part.Textures = append(part.Textures, row)
			if !slices.Contains(v.Textures, row) {
				v.Textures = append(v.Textures, row)
			}
		}
		strikes, notes, most := leftOf(p.Score, s)
		if most != "" {
			part.Texture = d.words.Technique(most).Title()
		}
		part.Density = d.say("plan.density", "Strikes", tenths(strikes), "Notes", tenths(notes))
		v.Parts = append(v.Parts, part)
	}
	return nil
}

// tenths writes a number of tenths with one decimal, or none: 35 is "3.5".
func tenths(n int) string {
	if n%10 == 0 {
		return strconv.Itoa(n / 10)
	}
	return fmt.Sprintf("%d.%d", n/10, n%10)
}

// leftOf counts what the left hand does in a section: strikes and notes a bar, in tenths,
// and which technique has most of its notes.
func leftOf(s score.Score, sec stretchOf) (strikes, notes int, most string) {
	by := map[string]int{}
	n := 0
	for _, b := range sec.bars {
		at, ok := standsAt(s, b)
		if !ok || b.Pickup {
			continue
		}
		n++
		last := at.At - 1
		for _, x := range s.Notes {
			if x.Hand != score.Left || x.Grace > 0 || x.At < at.At || x.At >= at.End() {
				continue
			}
			notes++
			if x.At != last {
				strikes++
				last = x.At
			}
			by[x.Origin.Technique]++
		}
	}
	for _, id := range slices.Sorted(maps.Keys(by)) {
		if id != "" && by[id] > by[most] {
			most = id
		}
	}
	return strikes * 10 / max(1, n), notes * 10 / max(1, n), most
}

// textureOffer is a texture that the search knows for a section, and about how many notes
// a bar it strikes.
type textureOffer struct {
	id    string
	notes int // in a bar where the search has it
}

// textures lists what the left hand could do in a section, as its bars' runners-up have it:
// the first full bar, one in the middle and the last.
func (d *Desk) textures(ctx context.Context, st *state, p gradatim.Page, s stretchOf) ([]textureOffer, error) {
	var out []textureOffer
	full := slices.DeleteFunc(slices.Clone(s.bars), func(b leadsheet.Bar) bool { return b.Pickup })
	if len(full) == 0 {
		return nil, nil
	}
	for _, i := range slices.Compact([]int{0, len(full) / 2, len(full) - 1}) {
		ds, err := d.tunes.runnersUp(ctx, st.Session, p.Level.Number, full[i].Number)
		if err != nil {
			return nil, err
		}
		for _, x := range ds {
			for _, r := range x.Runners {
				if x.Hand != score.Left || r.Technique == "" || slices.ContainsFunc(out, func(o textureOffer) bool { return o.id == r.Technique }) {
					continue
				}
				n := 0
				for _, y := range strikesOf(r.Text) {
					n += len(y.keys)
				}
				out = append(out, textureOffer{r.Technique, n})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b textureOffer) int {
		return cmp.Compare(d.words.Technique(a.id).Title(), d.words.Technique(b.id).Title())
	})
	return out, nil
}

// setPlan does what a form of the plan asks for.
func (d *Desk) setPlan(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	st, err := d.state(ctx, r.PathValue("tune"))
	if err != nil {
		return err
	}
	p, ok, err := pageOf(ctx, st.Session, levelAsked(r))
	if err != nil {
		return err
	}
	sections := sectionsOf(st.Session.Song())
	i := slices.IndexFunc(sections, func(s stretchOf) bool { return strconv.Itoa(s.first) == r.PostFormValue("part") })
	if !ok || i < 0 {
		return errNoPage
	}
	o, refused, err := d.attempt(ctx, st, r, func() (changing, string, error) { return d.planWish(ctx, st, p, sections[i], r) })
	switch {
	case err != nil:
		return err
	case refused != nil:
		return d.planPage(w, r, st, http.StatusUnprocessableEntity, refused)
	}
	q := url.Values{"level": {strconv.Itoa(p.Level.Number)}, "told": {o.how()}}
	http.Redirect(w, r, fmt.Sprintf("/tunes/%s/plan?%s#part-%d", st.Tune.ID, q.Encode(), sections[i].first), http.StatusSeeOther)
	return nil
}

// planWish reads what a form of the plan asks for.
func (d *Desk) planWish(ctx context.Context, st *state, p gradatim.Page, s stretchOf, r *http.Request) (changing, string, error) {
	level := p.Level.Number
	base := gradatim.Choice{Level: level, Bar: s.first, Bars: s.last - s.first + 1}
	where := d.inBars(s.first, s.last)
	change := func(c gradatim.Choice) changing {
		return func(ctx context.Context, was *gradatim.Session) (*gradatim.Session, error) {
			next, err := was.Change(ctx, c)
			if err != nil {
				return nil, err
			}
			return next, notKept(ctx, was, next, level)
		}
	}
	switch do := r.PostFormValue("do"); do {
	case "texture":
		c := base
		c.Technique = r.PostFormValue("texture")
		if offers, err := d.textures(ctx, st, p, s); err != nil {
			return nil, "", err
		} else if !slices.ContainsFunc(offers, func(o textureOffer) bool { return o.id == c.Technique }) {
			return nil, "", d.impossible("plan-texture")
		}
		return change(c), d.say("done.use", "Level", level, "Bar", where, "Name", d.words.Technique(c.Technique).Name), nil
	case "dynamic":
		c := base
		c.Dynamic = r.PostFormValue("dynamic")
		return change(c), d.say("done.dynamic", "Level", level, "Bar", where, "Sign", c.Dynamic), nil
	case "fuller", "thinner":
		id, err := d.denser(ctx, st, p, s, do == "fuller", func(id string) changing {
			c := base
			c.Technique = id
			return change(c)
		})
		if err != nil {
			return nil, "", err
		}
		c := base
		c.Technique = id
		return change(c), d.say("done.use", "Level", level, "Bar", where, "Name", d.words.Technique(id).Name), nil
	}
	return nil, "", errNoPage
}

// impossible is a Problem of the desk's own words.
func (d *Desk) impossible(says leadsheet.Saying) error {
	return d.words.Err(leadsheet.Problems{leadsheet.Tell(leadsheet.Error, leadsheet.Pos{}, says)})
}

// denser finds the texture that has the section's left hand strike more notes (or fewer),
// by the least step that is one. A texture is tried on the page itself: what the search
// offers for a bar need not stand in all of them.
func (d *Desk) denser(ctx context.Context, st *state, p gradatim.Page, s stretchOf, more bool, change func(string) changing) (string, error) {
	_, now, here := leftOf(p.Score, s)
	offers, err := d.textures(ctx, st, p, s)
	if err != nil {
		return "", err
	}
	best, by := "", 0
	for _, o := range offers {
		if o.id == here {
			continue
		}
		next, err := change(o.id)(ctx, st.Session)
		var ps leadsheet.Problems
		switch {
		case errors.As(err, &ps):
			continue
		case err != nil:
			return "", err
		}
		q, ok, err := pageOf(ctx, next, p.Level.Number)
		if err != nil {
			return "", err
		}
		if !ok || q.Failed {
			continue
		}
		_, notes, _ := leftOf(q.Score, s)
		step := notes - now
		if !more {
			step = -step
		}
		if step >= leastStep && (best == "" || step < by) {
			best, by = o.id, step
		}
	}
	if best == "" {
		if more {
			return "", d.impossible("plan-density.fuller")
		}
		return "", d.impossible("plan-density.thinner")
	}
	return best, nil
}

// leastStep is how many notes a bar make a difference, in tenths.
const leastStep = 3

// planBack is where a form of options comes back to.
func planBack(r *http.Request, tune string) string {
	if n, err := strconv.Atoi(r.PostFormValue("plan")); err == nil {
		return fmt.Sprintf("/tunes/%s/plan?level=%d&", tune, n)
	}
	return "/tunes/" + tune + "/plan?"
}
