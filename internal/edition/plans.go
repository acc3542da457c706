package edition

import (
	"context"
	"reflect"
	"slices"
	"sync"

	"gradatim/internal/arrange"
	"gradatim/internal/choice"
)

// Plans keeps the last plans of tunes that are too long for each edition to keep its own:
// whoever works on one level of a long tune has its plan at hand, with the search, and a
// change is searched around itself. The zero Plans is ready; nil keeps nothing. Several
// editions may share one, at the same time, too. What stands in it changes no page.
type Plans struct {
	mu   sync.Mutex
	last []planned // newest first
}

type planned struct {
	on   *sheet
	opt  arrange.Options
	plan arrange.Plan
	made *attempt // its page; nil: not kept
}

// maxPlans bounds them: two levels, each as it comes by itself and at the three densities that the
// ladder asks for at most. Of 512 bars at level 5 a plan is 20 MB, much of which they share.
const maxPlans = 8

// of tells whether a plan is for the same page but for what the teacher has fixed.
func (p planned) of(on *sheet, opt arrange.Options) bool {
	if p.on != on || p.opt.Density != opt.Density || p.opt.Level.Number != opt.Level.Number {
		return false
	}
	opt.Choices = p.opt.Choices
	return reflect.DeepEqual(p.opt, opt)
}

// near finds a plan of the page with any choices.
func (ps *Plans) near(on *sheet, opt arrange.Options) (arrange.Plan, bool) {
	if ps == nil {
		return arrange.Plan{}, false
	}
	ps.mu.Lock()
	defer ps.mu.Unlock()
	for _, p := range ps.last {
		if p.of(on, opt) {
			return p.plan, true
		}
	}
	return arrange.Plan{}, false
}

// made finds the page of a plan with just these choices; nil: it is not kept.
func (ps *Plans) made(on *sheet, opt arrange.Options) *attempt {
	if ps == nil {
		return nil
	}
	ps.mu.Lock()
	defer ps.mu.Unlock()
	n := opt.Level.Number
	for _, p := range ps.last {
		if p.of(on, opt) && p.made != nil && reflect.DeepEqual(here(n, p.made.by.Choices), here(n, opt.Choices)) {
			a := *p.made
			a.by.Choices = opt.Choices
			return &a
		}
	}
	return nil
}

// keep has the page of a plan stand with it.
func (ps *Plans) keep(on *sheet, opt arrange.Options, a *attempt) {
	if ps == nil {
		return
	}
	ps.mu.Lock()
	defer ps.mu.Unlock()
	for i, p := range ps.last {
		if p.of(on, opt) {
			ps.last[i].made = a
		}
	}
}

// put keeps a plan in the place of one of the same page, else of the oldest.
func (ps *Plans) put(on *sheet, opt arrange.Options, plan arrange.Plan) {
	if ps == nil || len(on.song.Bars) <= keptBars {
		return
	}
	ps.mu.Lock()
	defer ps.mu.Unlock()
	ps.last = slices.DeleteFunc(ps.last, func(p planned) bool { return p.of(on, opt) })
	ps.last = slices.Insert(ps.last, 0, planned{on: on, opt: opt, plan: plan})
	if len(ps.last) > maxPlans {
		ps.last = slices.Delete(ps.last, maxPlans, len(ps.last))
	}
}

// prepared is the plan of the level with some options: out of one that was kept, else from
// nothing.
func (r *rung) prepared(ctx context.Context, opt arrange.Options) (arrange.Plan, error) {
	if plan, ok := r.plans.near(r.sheet, opt); ok {
		return choosing(ctx, plan, opt.Level.Number, opt.Choices)
	}
	return arrange.Prepare(ctx, r.sheet.song, r.sheet.analysis, opt)
}

// here are the choices for a level.
func here(level int, cs []choice.Choice) []choice.Choice {
	return slices.DeleteFunc(slices.Clone(cs), func(c choice.Choice) bool { return c.Level != level })
}

// choosing is a plan of a level with other choices: all, of every level.
func choosing(ctx context.Context, plan arrange.Plan, level int, choices []choice.Choice) (arrange.Plan, error) {
	old, now := here(level, plan.Choices()), here(level, choices)
	has := func(cs []choice.Choice, c choice.Choice) bool {
		return slices.ContainsFunc(cs, func(d choice.Choice) bool { return reflect.DeepEqual(c, d) })
	}
	gone := func(c choice.Choice) bool { return c.Level == level && !has(now, c) }
	var err error
	if slices.ContainsFunc(old, gone) {
		plan, err = plan.Without(ctx, gone)
	}
	if more := slices.DeleteFunc(now, func(c choice.Choice) bool { return has(old, c) }); err == nil && len(more) > 0 {
		plan, err = plan.With(ctx, more...)
	}
	return plan, err
}
