package edition

import (
	"context"
	"maps"
	"slices"

	"gradatim/internal/arrange"
	"gradatim/internal/audit"
	"gradatim/internal/hand"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
)

// repairs is how often a page is made again, more plainly where it failed.
const repairs = 8

// repaired is what had to be done to a plan until its page passed.
type repaired struct {
	plain map[int]arrange.Plainness
	letGo map[int]leadsheet.Problem
}

// judge has the page of a plan audited and fingers it, and has the fingers audited, too. Bars that fail are made
// again with plainer figures, until all pass or nothing plainer is left.
func judge(ctx context.Context, on *sheet, plan arrange.Plan, a arrange.Arrangement, size hand.Profile, player *hand.Player) (Page, repaired, error) {
	how := repaired{map[int]arrange.Plainness{}, map[int]leadsheet.Problem{}}
	plain, song := how.plain, on.song
	law, moves := on.law()
	var told leadsheet.Problems
	for try := 0; ; try++ {
		if err := context.Cause(ctx); err != nil {
			return Page{}, how, err
		}
		by := audit.Options{Song: &law, Hand: size, Moves: moves}
		found := audit.Check(a.Score, by)
		var fingered score.Score
		if len(found) == 0 { // only then is it worth fingers
			fingered = player.FingerScore(a.Score)
			found = audit.CheckFingers(fingered, by)
			if len(found) > 0 && try == repairs {
				found = bare(&fingered, found, by, song.File, &told)
			}
		}
		if len(found) == 0 || try == repairs {
			out := Page{Arrangement: a, Song: song}
			if len(found) > 0 {
				out.Failed = true
				out.Problems = append(out.Problems, audit.Problems(found)...)
			} else {
				out.Remarks = slices.Concat(out.Remarks, told)
				out.Score = hand.PartSlurs(fingered)
				if err := context.Cause(ctx); err != nil {
					return Page{}, how, err
				}
			}
			out.Remarks.Sort()
			return out, how, nil
		}
		seen, letGo := map[int]bool{}, map[int]leadsheet.Problem{}
		for _, v := range found {
			b := song.BarAt(v.At)
			if b >= 0 && v.Code == audit.Haste && try > 0 { // where the finger comes from may be at fault
				from := barsOf(song, a.Score, v)
				if try >= repairs/2 {
					from = append(from, b-1)
				}
				for _, bar := range from {
					if bar >= 0 && bar != b && !plan.Fixes(bar) {
						plain[bar] = plainer(plain[bar], a.Score, v.Notes, try)
					}
				}
			}
			if b < 0 || seen[b] {
				continue
			}
			seen[b] = true
			if plan.Fixes(b) { // the rules go before what the teacher has fixed
				letGo[b] = v.Problem
				continue
			}
			if plain[b] == (arrange.Plainness{}) {
				pos := v.Pos
				pos.File = song.File
				told.Tell(leadsheet.Info, pos, "bar-simplified", "Bar", words.Bars{v.Pos.Bar}, "Why", v.Problem)
			}
			plain[b] = plainer(plain[b], a.Score, v.Notes, try)
			// A jump into a bar may come from what the bar before holds under the tune.
			if try > 0 && v.Code == audit.Jump && b > 0 && v.At == song.Bars[b].At && !plan.Fixes(b-1) {
				plain[b-1] = plainer(plain[b-1], a.Score, nil, repairs)
			}
		}
		var err error
		if len(letGo) > 0 {
			maps.Copy(how.letGo, letGo)
			if plan, err = plan.LetGo(ctx, letGo); err != nil {
				return Page{}, how, err
			}
		}
		if a, err = plan.Page(ctx, maps.Clone(plain)); err != nil {
			return Page{}, how, err
		}
	}
}

// bare takes away the fingers that come too late, hand by hand and bar by bar, where no plainer bar
// has better ones: a page without a few fingers is of more use than none. It tells of them, and
// returns what is at fault without them.
func bare(s *score.Score, found []audit.Violation, by audit.Options, file string, told *leadsheet.Problems) []audit.Violation {
	type place struct {
		hand score.Hand
		bar  int
	}
	seen := map[place]bool{}
	for len(found) > 0 {
		late := map[string]leadsheet.Pos{}
		for _, v := range found {
			for _, id := range v.Notes {
				late[id] = v.Pos
			}
		}
		taken := false
		notes := slices.Clone(s.Notes)
		for i := range notes {
			n := &notes[i]
			pos, ok := late[n.ID]
			if !ok || n.Finger == 0 {
				continue
			}
			n.Finger, n.FingerTo, taken = 0, 0, true
			if at := (place{n.Hand, pos.Bar}); !seen[at] {
				seen[at] = true
				pos.File = file
				told.Tell(leadsheet.Info, pos, "fingers-left", "Bar", words.Bars{pos.Bar}, "Hand", n.Hand)
			}
		}
		if !taken {
			return found
		}
		s.Notes = notes
		found = audit.CheckFingers(*s, by)
	}
	return nil
}

// barsOf lists the bars, by index, in which the notes at fault are printed: of a repeat, that
// before its sign, too.
func barsOf(song leadsheet.Song, s score.Score, v audit.Violation) (bars []int) {
	for _, n := range s.Notes {
		if slices.Contains(v.Notes, n.ID) {
			bars = append(bars, song.BarAt(n.At))
		}
	}
	slices.Sort(bars)
	return slices.Compact(bars)
}

// plainest is how far a left hand is made plainer and still plays.
const plainest = 2

// plainer says what to simplify after a violation: the ornament if one is at
// fault, else the right hand under the tune, else the left; everything where that
// did not help.
func plainer(p arrange.Plainness, s score.Score, ids []string, try int) arrange.Plainness {
	ornament, right, left := false, false, len(ids) == 0
	for _, n := range s.Notes {
		if !slices.Contains(ids, n.ID) {
			continue
		}
		switch n.Origin.Kind {
		case score.Ornamental, score.Fill, score.Run:
			ornament = true
		case score.Melody:
		default:
			right = right || n.Hand == score.Right
		}
		left = left || n.Hand == score.Left
	}
	switch {
	case try >= repairs/2 && (left || p.Left < plainest):
		return arrange.Plainness{Left: p.Left + 1, Right: p.Right + 1, Ornaments: p.Ornaments + 1}
	case try >= repairs/2: // the left hand does not fall silent for what the right one does
		return arrange.Plainness{Left: p.Left, Right: p.Right + 1, Ornaments: p.Ornaments + 1}
	case ornament:
		p.Ornaments++
	case right || !left:
		p.Right++
	default:
		p.Left++
	}
	return p
}
