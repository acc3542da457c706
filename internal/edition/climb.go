package edition

import (
	"context"
	"reflect"
	"slices"

	"gradatim/internal/arrange"
	"gradatim/internal/choice"
	"gradatim/internal/grade"
	"gradatim/internal/hand"
	"gradatim/leadsheet"
	"gradatim/score"
)

// rung is one level of a ladder in the making.
type rung struct {
	Page
	sheet  *sheet
	player *hand.Player
	told   leadsheet.Problems // of the choices
	opt    arrange.Options
	plan   *arrange.Plan // of the page that was made first; nil: not kept
	rating int           // the weighted sum

	made   arrange.Options // what the page that stands was made with
	final  *arrange.Plan   // its plan, before repairs; nil: not kept
	repair repaired        // its repairs
	tried  *arrange.Plan   // the plan of the last remake, which the next shares most with
	plans  *Plans          // of long tunes; nil: none is kept
	// passed are the pages, in the present row of remakes, that the audit passed as
	// they came from the search. Of such a page no second one is any better.
	passed []score.Score
}

func newRung(ctx context.Context, on *sheet, player *hand.Player, opt arrange.Options) (rung, error) {
	plan, err := arrange.Prepare(ctx, on.song, on.analysis, opt)
	if err != nil {
		return rung{}, err
	}
	return rungOf(ctx, on, player, plan, opt)
}

// rungOf makes a level by its plan.
func rungOf(ctx context.Context, on *sheet, player *hand.Player, plan arrange.Plan, opt arrange.Options) (rung, error) {
	page, err := plan.Page(ctx, nil)
	if err != nil {
		return rung{}, err
	}
	r := rung{sheet: on, player: player, opt: opt, made: opt}
	if len(on.song.Bars) <= keptBars {
		r.plan, r.final = &plan, &plan
	}
	if r.Page, r.repair, err = r.judge(ctx, plan, page); err != nil {
		return rung{}, err
	}
	r.rating = rate(r.Page, opt.Hand)
	return r, nil
}

// with makes the level with other choices: all, of every level.
func (r *rung) with(ctx context.Context, choices []choice.Choice) (rung, error) {
	opt := r.opt
	opt.Choices = choices
	n := opt.Level.Number
	if reflect.DeepEqual(here(n, r.opt.Choices), here(n, choices)) {
		out := *r
		out.opt.Choices, out.made.Choices = choices, choices
		return out, nil
	}
	var plan arrange.Plan
	var err error
	if r.plan != nil {
		plan, err = choosing(ctx, *r.plan, n, choices)
	} else if plan, err = r.prepared(ctx, opt); err == nil {
		r.plans.put(r.sheet, opt, plan)
	}
	if err != nil {
		return rung{}, err
	}
	return rungOf(ctx, r.sheet, r.player, plan, opt)
}

// standing returns the plan of the page that stands.
func (r *rung) standing(ctx context.Context) (arrange.Plan, error) {
	var plan arrange.Plan
	var err error
	if r.final != nil {
		plan = *r.final
	} else if plan, err = r.prepared(ctx, r.made); err != nil {
		return plan, err
	} else {
		r.plans.put(r.sheet, r.made, plan)
	}
	if len(r.repair.letGo) > 0 {
		if plan, err = plan.LetGo(ctx, r.repair.letGo); err != nil {
			return plan, err
		}
	}
	return plan.Plainer(r.repair.plain), nil
}

// keptBars is the longest tune whose plans are kept for remakes. Those of a longer
// one are made again where one is needed, as all of them would fill the memory.
const keptBars = 200

// denser returns the rung's plan at another density, and what it is made with.
func (r *rung) denser(ctx context.Context, density int) (arrange.Plan, arrange.Options, error) {
	o := r.opt
	o.Density = density
	if plan, ok := r.plans.near(r.sheet, o); ok {
		plan, err := choosing(ctx, plan, o.Level.Number, o.Choices)
		if err == nil {
			r.plans.put(r.sheet, o, plan)
		}
		return plan, o, err
	}
	if r.plan == nil {
		plan, err := r.prepared(ctx, r.opt)
		if err != nil {
			return arrange.Plan{}, o, err
		}
		r.plan = &plan
	}
	if r.tried == nil {
		r.tried = r.plan
	}
	plan, err := r.tried.WithDensity(ctx, density)
	if err == nil {
		r.tried = &plan
		r.plans.put(r.sheet, o, plan)
	}
	return plan, o, err
}

// rate measures a page for a ladder: the weighted sum of package grade.
func rate(a Page, player hand.Profile) int {
	how := grade.Options{Fingering: grade.AsFingered(player)}
	if a.Failed { // then nobody has fingered it
		how.Fingering = grade.ByHand(player)
	}
	return grade.Sum(a.Score, how)
}

// climb sees to it that each level asks more than the one below it. A level that
// does not is made again, fuller: more is played, then more is reharmonised and
// adorned, always within the level's caps and never at the price of a page that
// passes. Where that is not enough the level below is made thinner, and then printed
// for a slower practice tempo. What remains flat is reported. A teacher's own level
// that stands beside the built-in ones does what it can by itself: these climb as if
// it were not there, so that what it is called or how easy it is changes none of them.
//
// The measure is the weighted sum of package grade. Each remake costs one
// search over what the level's plan has already found, and there are three of a level at most;
// where that gives a page that was tried before, it ends there. A ladder that climbs by itself, as most
// do, costs none.
func climb(ctx context.Context, rungs []rung) error {
	for i := 1; i < len(rungs); i++ {
		this, guest := &rungs[i], rungs[i].Level.Guest()
		down := func(from int) int { // the level under another that counts here
			for from--; from >= 0 && !guest && rungs[from].Level.Guest(); from-- {
			}
			return from
		}
		under := down(i)
		if under < 0 {
			continue
		}
		below := &rungs[under]
		if this.Failed || below.Failed || !this.Level.Above(below.Level) {
			continue
		}
		below.passed = nil // pages that were not harder may be easier
		climbs := func() bool { return this.rating > below.rating+rise }
		harder := func(_ Page, now int) bool { return now > this.rating }
		if err := this.seek(ctx, 1, climbs, harder, func(_ Page, now int) bool { return now > below.rating+rise }); err != nil {
			return err
		}
		floor, least := -1<<40, 0
		if k := down(under); k >= 0 {
			floor, least = rungs[k].rating+rise/2, keysIn100Bars(rungs[k].Page)
		}
		above := func(a Page, now int) bool { return now > floor && keysIn100Bars(a) >= least }
		easier := func(a Page, now int) bool { return now < below.rating && above(a, now) }
		if !guest {
			if err := below.seek(ctx, -1, climbs, easier, func(a Page, now int) bool { return this.rating > now+rise && above(a, now) }); err != nil {
				return err
			}
		}
		for n := 1; !guest && n <= slower && this.rating <= below.rating+rise/4 && !below.opt.Tempo.Set(); n++ {
			o := below.made
			o.Level.TempoPercent = below.opt.Level.TempoPercent - 5*n
			plan, err := arrange.Prepare(ctx, below.sheet.song, below.sheet.analysis, o)
			if err == nil {
				err = below.remake(ctx, plan, o, easier)
			}
			if err != nil {
				return err
			}
		}
		if !guest {
			below.plan, below.tried, below.passed = nil, nil, nil // it stands
		}
		if this.rating <= below.rating {
			this.Remarks = append(this.Remarks, leadsheet.Tell(leadsheet.Info, leadsheet.Pos{File: this.sheet.song.File}, "ladder-flat",
				"Level", this.Level.Number, "Below", below.Level.Number))
		}
	}
	for i := range rungs { // those of a long tune stand in Plans, where they are asked for again
		if len(rungs[i].sheet.song.Bars) > keptBars {
			rungs[i].plan, rungs[i].tried, rungs[i].passed = nil, nil, nil
		}
	}
	return pace(ctx, rungs)
}

// keysIn100Bars is how full a page is: a level that is made thinner stays as full as the one below it.
func keysIn100Bars(a Page) int { return 100 * len(a.Score.Notes) / max(1, len(a.Score.Bars)) }

// densities are those at which a level is made again: where a step is small they stand closer.
var densities = [...]int{1, 2, 3, 5, 7, 10}

// seek makes a level again at the least density, fuller or thinner by sign, at which the ladder
// climbs; where it does at none, the best page that it met stays. What a page asks goes with its
// density nearly always, so half of those left are ruled out by each page: three are made at
// most. Rejected: one after the other, which made six where none is enough.
func (r *rung) seek(ctx context.Context, sign int, climbs func() bool, better, enough func(a Page, rating int) bool) error {
	if climbs() {
		return nil
	}
	for low, high := 0, len(densities); low < high; {
		mid := (low + high) / 2
		plan, o, err := r.denser(ctx, sign*densities[mid])
		if err == nil {
			err = r.remake(ctx, plan, o, better)
		}
		switch {
		case err != nil:
			return err
		case r.made.Density == o.Density && climbs():
			better, high = enough, mid // less may do
		default:
			low = mid + 1
		}
	}
	return nil
}

// pace sees to it that no level is printed slower than the one below it of the same kind:
// where a level was slowed, those below follow, as far as they stay above their own.
func pace(ctx context.Context, rungs []rung) error {
	for i := len(rungs) - 2; i >= 0; i-- {
		next := i + 1
		for next < len(rungs)-1 && rungs[next].Level.Guest() && !rungs[i].Level.Guest() {
			next++
		}
		this, above := &rungs[i], &rungs[next]
		if above.Level.Guest() && !this.Level.Guest() {
			continue
		}
		quick := func() bool {
			return this.Score.Tempo.QuartersPerMinute() > above.Score.Tempo.QuartersPerMinute()
		}
		if this.Failed || above.Failed || this.opt.Tempo.Set() || above.opt.Tempo.Set() || !above.Level.Above(this.Level) {
			continue
		}
		floor, under := -1<<40, i-1
		for under >= 0 && rungs[under].Level.Guest() && !this.Level.Guest() {
			under--
		}
		if under >= 0 {
			floor = rungs[under].rating
		}
		o := this.made
		for n := 0; n < 2*slower && quick(); n++ {
			o.Level.TempoPercent -= 5
			plan, err := arrange.Prepare(ctx, this.sheet.song, this.sheet.analysis, o)
			if err == nil {
				err = this.remake(ctx, plan, o, func(_ Page, now int) bool { return now > floor && now < above.rating })
			}
			if err != nil {
				return err
			}
		}
	}
	return nil
}

// slower bounds by how many steps of 5 % the practice tempo of a level is lowered.
const slower = 4

// rise is how much harder a level must be than the one below, in thousandths of
// a standard deviation: enough to show in a rating.
const rise = 60

// remake makes the page again by another plan and keeps it where it is better.
func (r *rung) remake(ctx context.Context, plan arrange.Plan, by arrange.Options, better func(a Page, rating int) bool) error {
	page, err := plan.Page(ctx, nil)
	if err != nil || slices.ContainsFunc(r.passed, func(s score.Score) bool { return same(s, page.Score) }) {
		return err
	}
	a, how, err := r.judge(ctx, plan, page)
	if err != nil || a.Failed {
		return err
	}
	// No gain in difficulty is worth one more place where the left hand has to
	// leave the tune alone.
	if count(a, "left-hand-rests") > count(r.Page, "left-hand-rests") {
		return nil
	}
	if now := rate(a, r.opt.Hand); better(a, now) {
		r.Page, r.rating = a, now
		r.made, r.repair, r.final = by, how, nil
		if len(r.sheet.song.Bars) <= keptBars {
			r.final = &plan
		}
	}
	return nil
}

func (r *rung) judge(ctx context.Context, plan arrange.Plan, page arrange.Arrangement) (Page, repaired, error) {
	a, how, err := judge(ctx, r.sheet, plan, page, r.opt.Hand, r.player)
	if err == nil && !a.Failed && count(a, "bar-simplified") == 0 {
		r.passed = append(slices.Clip(r.passed), page.Score)
	}
	return a, how, err
}

// count counts the remarks with a code.
func count(a Page, code string) int {
	n := 0
	for _, r := range a.Remarks {
		if r.Code == code {
			n++
		}
	}
	return n
}

// same tells whether two pages of one level of a song are the same to play.
func same(a, b score.Score) bool {
	return a.Tempo == b.Tempo && slices.Equal(a.Notes, b.Notes) && slices.Equal(a.Chords, b.Chords) && slices.Equal(a.Directions, b.Directions)
}
