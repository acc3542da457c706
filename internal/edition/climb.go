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
	asked  []int // densities at which it was made again for the ladder
}

// attempt is a page that was made by a plan, and how it was judged.
type attempt struct {
	plan   arrange.Plan
	by     arrange.Options // what it was made with
	came   score.Score     // as it came from the search
	page   Page
	repair repaired
	rating int
}

// clean tells whether the audit passed the page as it came from the search.
func (a *attempt) clean() bool { return !a.page.Failed && count(a.page, "bar-simplified") == 0 }

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
	a, err := r.judged(ctx, plan, opt, page)
	if err != nil {
		return rung{}, err
	}
	r.Page, r.repair, r.rating = a.page, a.repair, a.rating
	if a.clean() {
		r.passed = []score.Score{a.came}
	}
	return r, nil
}

// with makes the level with other choices: all, of every level.
func (r *rung) with(ctx context.Context, choices []choice.Choice) (rung, error) {
	opt := r.opt
	opt.Choices = choices
	n := opt.Level.Number
	if !r.differs(choices) {
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

// differs tells whether other choices, all of every level, are others at this level.
func (r *rung) differs(choices []choice.Choice) bool {
	n := r.opt.Level.Number
	return !reflect.DeepEqual(here(n, r.opt.Choices), here(n, choices))
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
//
// A step looks at no level above it: was are the steps of a ladder whose levels were the same up to
// some height, which are not climbed again. It returns those of this one.
func climb(ctx context.Context, rungs []rung, was []step) ([]step, error) {
	steps := make([]step, 0, len(rungs))
	for i := range rungs {
		if i < len(was) {
			was[i].onto(rungs, i)
			steps = append(steps, was[i])
			continue
		}
		under, err := lift(ctx, rungs, i)
		if err != nil {
			return nil, err
		}
		steps = append(steps, stepped(rungs, i, under))
	}
	for i := range rungs {
		rungs[i] = rungs[i].rested()
	}
	return steps, pace(ctx, rungs)
}

// step is how two levels stand once the upper one has been lifted above the other.
type step struct {
	under       int // the lower one; −1: there is none
	this, below rung
}

func stepped(rungs []rung, i, under int) step {
	s := step{under: under, this: rungs[i].rested()}
	if under >= 0 {
		s.below = rungs[under].rested()
	}
	return s
}

// rested is a level without what serves only to make it again at once.
func (r rung) rested() rung {
	r.tried, r.passed = nil, nil
	if len(r.sheet.song.Bars) > keptBars { // it stands in Plans, where it is asked for again
		r.plan = nil
	}
	return r
}

// onto puts the two levels in their places, with what is chosen at others now.
func (s step) onto(rungs []rung, i int) {
	put := func(k int, r rung) {
		now := &rungs[k]
		r.opt.Choices, r.made.Choices, r.told, r.plans = now.opt.Choices, now.opt.Choices, now.told, now.plans
		*now = r
	}
	put(i, s.this)
	if s.under >= 0 {
		put(s.under, s.below)
	}
}

// lift raises the i-th level above the one that counts below it, whose place it returns; −1: there is none.
func lift(ctx context.Context, rungs []rung, i int) (under int, err error) {
	this, guest := &rungs[i], rungs[i].Level.Guest()
	down := func(from int) int { // the level under another that counts here
		for from--; from >= 0 && !guest && rungs[from].Level.Guest(); from-- {
		}
		return from
	}
	if under = down(i); under < 0 {
		return under, nil
	}
	below := &rungs[under]
	if this.Failed || below.Failed || !this.Level.Above(below.Level) {
		return under, nil
	}
	below.passed = nil // pages that were not harder may be easier
	climbs := func() bool { return this.rating > below.rating+rise }
	harder := func(_ Page, now int) bool { return now > this.rating }
	if err := this.seek(ctx, 1, climbs, harder, func(_ Page, now int) bool { return now > below.rating+rise }); err != nil {
		return under, err
	}
	floor, least := -1<<40, 0
	if k := down(under); k >= 0 {
		floor, least = rungs[k].rating+rise/2, keysIn100Bars(rungs[k].Page)
	}
	above := func(a Page, now int) bool { return now > floor && keysIn100Bars(a) >= least }
	easier := func(a Page, now int) bool { return now < below.rating && above(a, now) }
	if !guest {
		if err := below.seek(ctx, -1, climbs, easier, func(a Page, now int) bool { return this.rating > now+rise && above(a, now) }); err != nil {
			return under, err
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
			return under, err
		}
	}
	if !guest {
		below.plan, below.tried, below.passed = nil, nil, nil // it stands
	}
	if this.rating <= below.rating {
		this.Remarks = append(slices.Clip(this.Remarks), leadsheet.Tell(leadsheet.Info, leadsheet.Pos{File: this.sheet.song.File}, "ladder-flat",
			"Level", this.Level.Number, "Below", below.Level.Number))
	}
	return under, nil
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
		density := sign * densities[mid]
		r.asked = append(slices.Clip(r.asked), density)
		a, err := r.at(ctx, density)
		if err != nil {
			return err
		}
		r.take(a, better)
		switch {
		case r.made.Density == density && climbs():
			better, high = enough, mid // less may do
		default:
			low = mid + 1
		}
	}
	return nil
}

// at is the page at a density: one that was made in advance, else a new one; nil where it is a
// page that was tried before.
func (r *rung) at(ctx context.Context, density int) (*attempt, error) {
	o := r.opt
	o.Density = density
	if a := r.plans.made(r.sheet, o); a != nil {
		return a, nil
	}
	plan, o, err := r.denser(ctx, density)
	if err != nil {
		return nil, err
	}
	a, err := r.try(ctx, plan, o)
	if a != nil {
		r.plans.keep(r.sheet, o, a)
	}
	return a, err
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
	a, err := r.try(ctx, plan, by)
	if err == nil {
		r.take(a, better)
	}
	return err
}

// early makes the page of a long tune at a density before the ladder asks for it, with other choices;
// nothing where the plan is not at hand.
func (r *rung) early(ctx context.Context, choices []choice.Choice, density int) error {
	q := *r
	q.opt.Choices, q.passed = choices, nil
	o := q.opt
	o.Density = density
	if _, ok := q.plans.near(q.sheet, o); !ok {
		return nil
	}
	_, err := q.at(ctx, density)
	return err
}

// denser is a level at a density.
type denser struct{ level, density int }

// try makes a page by another plan; nil where it is one that was tried before.
func (r *rung) try(ctx context.Context, plan arrange.Plan, by arrange.Options) (*attempt, error) {
	page, err := plan.Page(ctx, nil)
	if err != nil || r.knows(page.Score) {
		return nil, err
	}
	return r.judged(ctx, plan, by, page)
}

func (r *rung) judged(ctx context.Context, plan arrange.Plan, by arrange.Options, page arrange.Arrangement) (*attempt, error) {
	a := &attempt{plan: plan, by: by, came: page.Score}
	var err error
	if a.page, a.repair, err = judge(ctx, r.sheet, plan, page, r.opt.Hand, r.player); err != nil {
		return nil, err
	}
	a.rating = rate(a.page, r.opt.Hand)
	return a, nil
}

// knows tells whether a page is one of the present row that passed.
func (r *rung) knows(page score.Score) bool {
	return slices.ContainsFunc(r.passed, func(s score.Score) bool { return same(s, page) })
}

// take keeps a page where it is better.
func (r *rung) take(a *attempt, better func(a Page, rating int) bool) {
	if a == nil || r.knows(a.came) {
		return
	}
	if a.clean() {
		r.passed = append(slices.Clip(r.passed), a.came)
	}
	// No gain in difficulty is worth one more place where the left hand has to
	// leave the tune alone.
	if a.page.Failed || count(a.page, "left-hand-rests") > count(r.Page, "left-hand-rests") || !better(a.page, a.rating) {
		return
	}
	r.Page, r.rating = a.page, a.rating
	r.made, r.repair, r.final = a.by, a.repair, nil
	if len(r.sheet.song.Bars) <= keptBars {
		r.final = &a.plan
	}
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
