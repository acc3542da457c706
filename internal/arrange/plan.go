package arrange

import (
	"context"
	"slices"

	"gradatim/internal/choice"
	"gradatim/internal/harmony"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Plan is a song prepared for one level: set, harmonised, cut and with every
// figure that its hands could play. A page can be made from it again and again,
// more plainly each time, at little cost. It is never changed: what differs in a
// choice is another plan, which shares the rest.
type Plan struct{ p *piece }

// Prepare does what all pages of a level share. It returns an error only when the
// context ends or the song cannot be set at all.
func Prepare(ctx context.Context, song leadsheet.Song, an harmony.Analysis, opt Options) (Plan, error) {
	p, err := set(song, an, opt, nil)
	if err != nil {
		return Plan{}, err
	}
	if err := p.read(ctx, nil, nil); err != nil {
		return Plan{}, err
	}
	return p.prepare(ctx, nil, nil)
}

// WithDensity prepares the same song for the same level at another density. It
// costs less than Prepare: what chords there are to choose from does not depend
// on the density, nor what the hands could play in a cell under the same chord.
func (pl Plan) WithDensity(ctx context.Context, density int) (Plan, error) {
	opt := pl.p.opt
	opt.Density = density
	p, err := set(pl.p.song, pl.p.sheet, opt, pl.p.letGo)
	if err != nil {
		return Plan{}, err
	}
	p.readings = pl.p.readings
	return p.prepare(ctx, pl.p, nil)
}

// Choices returns what the teacher has fixed, at any level.
func (pl Plan) Choices() []choice.Choice { return slices.Clone(pl.p.opt.Choices) }

// With prepares the same page with further choices. Its pages are those that Prepare
// would give with all of them; what the choices leave as it was is shared and not
// searched again.
func (pl Plan) With(ctx context.Context, cs ...choice.Choice) (Plan, error) {
	opt := pl.p.opt
	opt.Choices = slices.Concat(opt.Choices, cs)
	return pl.follow(ctx, opt, pl.p.letGo, cs)
}

// Without prepares the same page with fewer choices: those for which drop is true are
// taken back.
func (pl Plan) Without(ctx context.Context, drop func(choice.Choice) bool) (Plan, error) {
	opt := pl.p.opt
	opt.Choices = nil
	var gone []choice.Choice
	for _, c := range pl.p.opt.Choices {
		if drop(c) {
			gone = append(gone, c)
		} else {
			opt.Choices = append(opt.Choices, c)
		}
	}
	return pl.follow(ctx, opt, pl.p.letGo, gone)
}

// Fixes tells whether the teacher has fixed notes in a bar, by index, that a page could
// do without.
func (pl Plan) Fixes(bar int) bool {
	return slices.ContainsFunc(pl.p.opt.Choices, func(c choice.Choice) bool { return pl.p.fixesNotes(c, bar) })
}

func (p *piece) fixesNotes(c choice.Choice, bar int) bool {
	b := p.song.Bars[bar]
	_, gone := p.letGo[bar]
	return !gone && c.Level == p.level.Number && ofNotes(c.Fix) && c.At >= b.At && c.At < b.End()
}

// LetGo prepares the same page without the notes that the teacher has fixed in some
// bars, by index, each for the reason given: what cannot be played, or breaks a rule of
// the audit. Each choice that is let go is told.
func (pl Plan) LetGo(ctx context.Context, why map[int]leadsheet.Problem) (Plan, error) {
	letGo := make(map[int]leadsheet.Problem, len(why)+len(pl.p.letGo))
	var gone []choice.Choice
	for bar, p := range pl.p.letGo {
		letGo[bar] = p
	}
	for bar, text := range why {
		letGo[bar] = text
	}
	for _, c := range pl.p.opt.Choices {
		if _, ok := why[pl.p.song.BarAt(c.At)]; ok && c.Level == pl.p.level.Number && ofNotes(c.Fix) {
			gone = append(gone, c)
		}
	}
	return pl.follow(ctx, pl.p.opt, letGo, gone)
}

// follow prepares the page with other choices; changed are those that came or went.
func (pl Plan) follow(ctx context.Context, opt Options, letGo map[int]leadsheet.Problem, changed []choice.Choice) (Plan, error) {
	p, err := set(pl.p.song, pl.p.sheet, opt, letGo)
	if err != nil {
		return Plan{}, err
	}
	if err := p.read(ctx, pl.p, changed); err != nil {
		return Plan{}, err
	}
	return p.prepare(ctx, pl.p, changed)
}

// touches tells whether one of some choices holds somewhere in a stretch.
func touches(cs []choice.Choice, at, end theory.Dur) bool {
	return slices.ContainsFunc(cs, func(c choice.Choice) bool { return c.At < end && c.Until > at })
}

// prepare goes on from the readings. earlier is the same piece at another density, or
// with other choices, of which changed came or went; nil: there is none.
func (p *piece) prepare(ctx context.Context, earlier *piece, changed []choice.Choice) (Plan, error) {
	shares := earlier != nil && earlier.opt.Density == p.opt.Density && earlier.octave == p.octave
	var before *piece
	if shares {
		before = earlier
	}
	p.harmonise(before, func(i int) bool { return touches(changed, p.an.Spans[i].At, p.an.Spans[i].End) })
	p.pushLine()
	p.cut()
	if err := p.offer(ctx, earlier, changed); err != nil {
		return Plan{}, err
	}
	p.dress()
	p.habits()
	p.deal(before, changed)
	var base, full *lattice
	if shares {
		base, full = earlier.base.peek(), earlier.full.peek()
	}
	p.keep(full, func(ctx context.Context) (*lattice, error) { return p.searched(ctx, base) })
	return Plan{p}, nil
}

// keep lets the piece's searches be made when they are asked for: base finds the way, and
// the other one adds the ways on, of which an earlier search has some.
func (p *piece) keep(earlier *lattice, base func(context.Context) (*lattice, error)) {
	p.base = keeping(base)
	p.full = keeping(func(ctx context.Context) (*lattice, error) {
		l, err := p.base.get(ctx)
		if err != nil {
			return nil, err
		}
		return l.withRests(ctx, earlier)
	})
}

// deal gives every cell what its hands may play; a cell that asks for the same as one
// before keeps its deal.
func (p *piece) deal(earlier *piece, changed []choice.Choice) {
	for i := range p.cells {
		c := &p.cells[i]
		if earlier != nil && c.twin >= 0 && !touches(changed, c.At, c.End) {
			if old := &earlier.cells[c.twin]; old.left == c.left && old.right == c.right && old.weave == c.weave && old.habit == c.habit && old.place == c.place && old.joins == c.joins && old.grows == c.grows {
				c.deal = old.deal
				continue
			}
		}
		c.deal = p.dealt(i)
	}
}

// Plainness says how far a bar has to be simplified, because fuller figures did
// not pass the audit: how often the left hand, the right hand under the tune, and
// the ornaments failed.
type Plainness struct{ Left, Right, Ornaments int }

// Plainer returns the plan of a page whose bars, by index, take simpler figures. It
// searches only around them.
func (pl Plan) Plainer(plain map[int]Plainness) Plan {
	if len(plain) == 0 {
		return pl
	}
	p := *pl.p
	p.plain = plain
	p.keep(nil, func(ctx context.Context) (*lattice, error) {
		base, err := pl.p.base.get(ctx)
		if err != nil {
			return nil, err
		}
		q := p
		q.cells = slices.Clone(base.cells)
		for i := range q.cells {
			if plain[q.cells[i].bar] != (Plainness{}) {
				q.cells[i].deal = q.dealt(i)
			}
		}
		return q.searched(ctx, base)
	})
	return Plan{&p}
}

// Page makes the page. plain lists bars (indexes) that must take simpler figures.
// What had to give way is told in Arrangement.Remarks.
func (pl Plan) Page(ctx context.Context, plain map[int]Plainness) (Arrangement, error) {
	p := pl.Plainer(plain).p.fresh()
	if err := p.voice(ctx); err != nil {
		return Arrangement{}, err
	}
	rest := p.edit()
	p.adorn()
	p.editOrnaments(rest)
	if err := context.Cause(ctx); err != nil {
		return Arrangement{}, err
	}
	p.keepPromises()
	s := p.page()
	p.checkChoices(s)
	p.remarks.Sort()
	return Arrangement{Level: p.level, Idiom: p.opt.Idiom, Kind: p.kind, Form: p.form, Score: s,
		Decisions: p.decisions, Used: p.used(s), Remarks: p.remarks}, nil
}
