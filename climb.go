package gradatim

import (
	"context"
	"fmt"

	"gradatim/internal/arrange"
	"gradatim/internal/grade"
	"gradatim/internal/harmony"
	"gradatim/leadsheet"
)

// fuller bounds the density at which a level is made again to be harder than the
// one below, or thinner than the one above.
const fuller = 12

// climb sees to it that each level asks more than the one below it. A level that
// does not is made again, fuller: more is played, then more is reharmonised and
// adorned, always within the level's caps and never at the price of a page that
// passes. Where that is not enough the level below is made thinner, and then printed
// for a slower practice tempo. What remains flat is reported.
//
// The measure is the composite rating of package grade. Each remake costs one
// search; a ladder that climbs by itself, as most do, costs none.
func climb(ctx context.Context, song leadsheet.Song, an harmony.Analysis, as []Arrangement, opts []arrange.Options) error {
	if len(as) == 0 {
		return nil
	}
	player := opts[0].Hand
	rate := func(a Arrangement) int {
		how := grade.Options{WithoutTechniques: true, Fingering: grade.AsFingered(player)}
		if a.Failed { // then nobody has fingered it
			how.Fingering = grade.ByHand(player)
		}
		return grade.Rate(a.Score, how).Composite
	}
	ratings := make([]int, len(as))
	for i := range as {
		ratings[i] = rate(as[i])
	}
	for i := 1; i < len(as); i++ {
		if as[i].Failed || as[i-1].Failed || as[i].Level.Number <= as[i-1].Level.Number {
			continue
		}
		for n := 1; n <= fuller && ratings[i] <= ratings[i-1]+rise; n += 1 + n/3 {
			o := opts[i]
			o.Density = n
			if err := remake(ctx, song, an, &as[i], &ratings[i], o, rate, func(old, now int) bool { return now > old }); err != nil {
				return err
			}
		}
		floor := -1 << 40
		if i > 1 {
			floor = ratings[i-2] + rise/2
		}
		for n := 1; n <= fuller && ratings[i] <= ratings[i-1]+rise; n += 1 + n/3 {
			o := opts[i-1]
			o.Density = -n
			if err := remake(ctx, song, an, &as[i-1], &ratings[i-1], o, rate, func(old, now int) bool { return now < old && now > floor }); err != nil {
				return err
			}
		}
		for n := 1; n <= slower && ratings[i] <= ratings[i-1]+rise/4 && !opts[i-1].Tempo.Set(); n++ {
			o := opts[i-1]
			o.Density = -fuller
			o.Level.TempoPercent -= 5 * n
			if err := remake(ctx, song, an, &as[i-1], &ratings[i-1], o, rate, func(old, now int) bool { return now < old && now > floor }); err != nil {
				return err
			}
		}
		if ratings[i] <= ratings[i-1] {
			as[i].Problems.Add(leadsheet.Info, leadsheet.Pos{File: song.File}, "ladder-flat",
				fmt.Sprintf("level %d asks no more than level %d on this tune", as[i].Level.Number, as[i-1].Level.Number), "")
		}
	}
	return nil
}

// slower bounds by how many steps of 5 % the practice tempo of a level is lowered.
const slower = 4

// rise is how much harder a level must be than the one below, in thousandths of
// a standard deviation: enough to show in a rating of one decimal.
const rise = 60

// remake makes a level again and keeps the new page where it is better.
func remake(ctx context.Context, song leadsheet.Song, an harmony.Analysis, a *Arrangement, rating *int, o arrange.Options, rate func(Arrangement) int, better func(old, now int) bool) error {
	b, err := arrangeLevel(ctx, song, an, o)
	if err != nil {
		return err
	}
	if now := rate(b); !b.Failed && better(*rating, now) && rests(b) <= rests(*a) {
		*a, *rating = b, now
	}
	return nil
}

// rests counts the places where the left hand had to leave the tune alone: no
// gain in difficulty is worth one more.
func rests(a Arrangement) int {
	n := 0
	for _, p := range a.Problems {
		if p.Code == "left-hand-rests" {
			n++
		}
	}
	return n
}
