package desk

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"gradatim"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
)

// otherView puts a page beside the same page in another key or for another hand, and says
// what gets harder where.
type otherView struct {
	frame
	Levels  []optionValue
	Tonics  []optionValue
	Hand    string
	Seen    bool // there is something to compare with
	Same    string
	Refused []problem
	Sides   [2]side
	Lines   [2]string // points of the two contours
	Least   int       // pixels that all bars need
	Width   int       // units of the contours
	Bars    []string  // what stands below them, one a bar
	Rows    []otherRow
	Gave    []problem // what had to give way on the other page
	Use     []wanted  // what would make the pages so
}

// wanted is an option of the tune: what holds, and what is compared with it.
type wanted struct{ Name, Was, Is string }

// side is one of the two pages.
type side struct {
	Name, Rating string
	Demands      []string
}

// otherRow is a bar that is harder or easier on the other page.
type otherRow struct {
	place
	Was, Is  int
	Harder   bool
	Why      string
	Pictures [2]string
	Sounds   [2]string
}

// Sizes of the drawing of the two contours.
const (
	otherTall   = 90
	otherColumn = unit
	otherMost   = 12 // bars that are shown with their pictures
)

// showOther compares: level, key (as ParseKey reads it) and hand (as ParseHand does).
func (d *Desk) showOther(w http.ResponseWriter, r *http.Request) error {
	ctx, q := r.Context(), r.URL.Query()
	st, err := d.state(ctx, r.PathValue("tune"))
	if err != nil {
		return err
	}
	level, _ := strconv.Atoi(q.Get("level"))
	page, ok, err := pageOf(ctx, st.Session, level)
	if err != nil {
		return err
	}
	if !ok {
		return errNoPage
	}
	v := &otherView{frame: d.head(st, "other"), Hand: q.Get("hand"), Same: d.say("beside.same")}
	if v.Levels, err = d.levelValues(ctx, st.Session, page.Level.Number); err != nil {
		return err
	}
	for _, k := range append([]string{"easy"}, strings.Fields("C G D A E B F# Db Ab Eb Bb F")...) {
		o := optionValue{Value: k, Text: strings.NewReplacer("b", "♭", "#", "♯").Replace(k), On: q.Get("key") == k}
		if k == "easy" {
			o.Text = d.say("option.easy")
		}
		v.Tonics = append(v.Tonics, o)
	}
	if q.Get("key") == "" && v.Hand == "" || page.Failed {
		return d.render(w, r, http.StatusOK, "other", v)
	}
	job, err := otherJob(st.Job, page.Level.Number, q.Get("key"), v.Hand)
	if err != nil {
		v.Refused = []problem{{Text: d.say("beside.unread"), Gravity: d.say("gravity.error"), Fatal: true}}
		return d.render(w, r, http.StatusUnprocessableEntity, "other", v)
	}
	s, err := d.session(ctx, st.Tune.ID, job)
	if err != nil {
		return err
	}
	other, _, err := pageOf(ctx, s, page.Level.Number)
	if err != nil {
		return err
	}
	if other.Failed {
		v.Refused = d.problems(other.Problems)
		return d.render(w, r, http.StatusOK, "other", v)
	}
	v.Seen = true
	return d.compared(ctx, w, r, st, v, page, other, job)
}

// otherJob is a job in another key or for another hand, for one level.
func otherJob(job gradatim.Job, level int, key, hand string) (gradatim.Job, error) {
	job.Levels = []int{level}
	if key != "" {
		k, err := gradatim.ParseKey(key)
		if err != nil {
			return job, err
		}
		job.Keys = []gradatim.Key{k}
	}
	if hand != "" {
		h, err := gradatim.ParseHand(hand)
		if err != nil {
			return job, err
		}
		job.Hand = h
	}
	return job, nil
}

func (d *Desk) compared(ctx context.Context, w http.ResponseWriter, r *http.Request, st *state, v *otherView, page, other gradatim.Page, job gradatim.Job) error {
	song := st.Session.Song()
	hands := [2]gradatim.Hand{st.Job.Hand, job.Hand}
	var hard [2][]int
	for i, p := range []gradatim.Page{page, other} {
		rating, err := gradatim.Rate(ctx, p.Score, gradatim.RateOptions{Hand: hands[i], Language: d.words.ID()})
		if err != nil {
			return err
		}
		v.Sides[i] = side{Name: d.say("beside.side", "Key", d.words.Key(p.Key), "Hand", handText(hands[i], i == 1, v.Hand)), Rating: d.say("whole.rating", "Number", rating.Whole())}
		for _, x := range rating.Demands {
			v.Sides[i].Demands = append(v.Sides[i].Demands, d.say("beside.demand", "Name", x.Name, "Hand", d.say("hand."+x.Hand.String()), "Bars", d.barList(x.Bars), "Caution", x.Caution))
		}
		if hard[i], err = hardness(ctx, p.Score, song, hands[i]); err != nil {
			return err
		}
	}
	v.Gave = slices.DeleteFunc(d.problems(other.Problems), func(p problem) bool { return p.Code == "key-moved" }) // the headings say it
	rows, err := d.optionRows(ctx, st)
	if err != nil {
		return err
	}
	for _, row := range rows {
		if want := r.URL.Query().Get(row.Name); want != "" && (row.Name == "key" || row.Name == "hand") {
			v.Use = append(v.Use, wanted{row.Name, row.Value, want})
		}
	}
	v.Width, v.Least = otherColumn*len(song.Bars), leastColumn*len(song.Bars)
	for _, b := range song.Bars {
		v.Bars = append(v.Bars, d.columnName(b))
	}
	most := max(1, slices.Max(hard[0]), slices.Max(hard[1]))
	for i := range hard {
		var points []string
		for k, n := range hard[i] {
			if n >= 0 {
				y := otherTall - 6 - n*(otherTall-12)/most
				points = append(points, fmt.Sprintf("%d,%d %d,%d", k*otherColumn, y, (k+1)*otherColumn, y))
			}
		}
		v.Lines[i] = strings.Join(points, " ")
	}
	type step struct{ bar, by int }
	var steps []step
	for k := range song.Bars {
		if by := hard[1][k] - hard[0][k]; hard[0][k] >= 0 && hard[1][k] >= 0 && by != 0 {
			steps = append(steps, step{k, by})
		}
	}
	slices.SortStableFunc(steps, func(a, b step) int { return max(b.by, -b.by) - max(a.by, -a.by) })
	steps = steps[:min(len(steps), otherMost)]
	slices.SortFunc(steps, func(a, b step) int { return a.bar - b.bar })
	for _, x := range steps {
		b := song.Bars[x.bar]
		row := otherRow{place: place{Path: fmt.Sprintf("/tunes/%s/bar/%d?level=%d", st.Tune.ID, b.Number, page.Level.Number), Text: d.barName(b)}, Was: hard[0][x.bar], Is: hard[1][x.bar], Harder: x.by > 0}
		var err error
		if row.Why, err = d.whyHarder(ctx, page.Score, other.Score, b, hands, x.by > 0); err != nil {
			return err
		}
		q := fmt.Sprintf("/tunes/%s/bar.svg?level=%d&bar=%d", st.Tune.ID, page.Level.Number, b.Number)
		row.Pictures = [2]string{q, q + "&" + r.URL.RawQuery}
		for i, p := range []gradatim.Page{page, other} {
			if at, ok := standsAt(p.Score, b); ok {
				row.Sounds[i] = fmt.Sprintf("/tunes/%s/sound.wav?level=%d&from=%d&to=%d", st.Tune.ID, page.Level.Number, at.Number, at.Number)
			}
		}
		row.Sounds[1] += "&" + url.Values{"key": {r.URL.Query().Get("key")}, "hand": {r.URL.Query().Get("hand")}}.Encode()
		v.Rows = append(v.Rows, row)
	}
	return d.render(w, r, http.StatusOK, "other", v)
}

// whyHarder says which measures of a bar have grown most from one page to the other, and,
// where a reader can picture them, from what to what.
func (d *Desk) whyHarder(ctx context.Context, a, b score.Score, bar leadsheet.Bar, hands [2]gradatim.Hand, harder bool) (string, error) {
	var of [2][]gradatim.Measure
	for i, s := range []score.Score{a, b} {
		at, _ := standsAt(s, bar)
		k := s.BarAt(at.At)
		r, err := gradatim.Rate(ctx, s.Excerpt(k, k), gradatim.RateOptions{Hand: hands[i], Language: d.words.ID()})
		if err != nil {
			return "", err
		}
		of[i] = r.Measures
	}
	pages := [2]score.Score{a, b}
	if !harder {
		of[0], of[1] = of[1], of[0]
		pages[0], pages[1] = b, a
	}
	type grown struct {
		by   int
		text string
	}
	var all []grown
	for _, m := range of[1] {
		i := slices.IndexFunc(of[0], func(x gradatim.Measure) bool { return x.ID == m.ID && x.Hand == m.Hand })
		if i < 0 || m.ID == "compass" { // that is told, not counted
			continue
		}
		if by := m.Number - of[0][i].Number; by > 0 {
			text := d.grown(m, of[0][i])
			if m.ID == "fingering" { // what a player sees of it
				if was, is := outerOnBlack(pages[0], bar, m.Hand), outerOnBlack(pages[1], bar, m.Hand); is > was {
					text = d.say("grown.outer", "Hand", d.say("hand."+m.Hand.String()), "n", is-was)
				}
			}
			all = append(all, grown{by, text})
		}
	}
	slices.SortStableFunc(all, func(a, b grown) int { return b.by - a.by })
	if len(all) == 0 {
		return "", nil
	}
	text := all[0].text
	if len(all) > 1 && all[1].by*2 > all[0].by {
		text += "; " + all[1].text
	}
	text = words.Upper(text) + "."
	if harder {
		return text, nil
	}
	return d.say("beside.instead", "Why", text), nil
}

// outerOnBlack counts the notes of a hand in a bar that the thumb or the little finger plays on
// a black key.
func outerOnBlack(s score.Score, bar leadsheet.Bar, h score.Hand) int {
	n := 0
	if at, ok := standsAt(s, bar); ok {
		for _, x := range inBar(s, at, h) {
			if (x.Finger == 1 || x.Finger == 5) && slices.Contains(blackKeys, x.Pitch.Class()) {
				n++
			}
		}
	}
	return n
}

// grown words a measure that has grown, beside what it is on the other page. Its number
// says something to a player where it counts strikes or notes.
func (d *Desk) grown(is, was gradatim.Measure) string {
	hand := d.say("hand.both")
	if is.Hand != 0 {
		hand = d.say("hand." + is.Hand.String())
	}
	text := d.say("grown."+is.ID, "Hand", hand)
	tenths := func(m gradatim.Measure) words.Tenths { return words.Tenths((m.Value + 50) / 100) }
	if a, b := tenths(was), tenths(is); a != b && (is.ID == "speed" || is.ID == "polyphony") {
		text = d.say("grown."+is.ID+"-by", "Hand", hand, "Is", b, "Was", a)
	}
	return text
}

// handText names a hand for a reader: the other one as she has typed it.
func handText(h gradatim.Hand, other bool, typed string) string {
	if other && typed != "" {
		return typed
	}
	return h.String()
}
