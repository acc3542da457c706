package desk

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strconv"

	"gradatim"
	"gradatim/score"
)

// listenView is a page of a level with what is needed to hear it.
type listenView struct {
	frame
	Player Player
	Tempo  string // that the level is written for another than the sheet's; "": it is not
	Music  []strip
	Narrow []strip // the same with fewer bars on a line, for a narrow window
}

// strip is a stretch of bars, engraved.
type strip struct {
	Picture string // address
	Bars    string
	IDs     string // what the ids of its picture begin with
	From    int
	Links   []stripBar // its bars, where a press leads to them
}

// stripBar is a bar of a strip.
type stripBar struct {
	place
	Yours bool // something is chosen in it
}

// Player is the form by which some bars are heard. Without script its answer is a page with
// the sound; with it the sound comes at once.
type Player struct {
	Tune        string
	Levels      []optionValue
	Level       int
	From, To    int
	Last        int // number of the last bar
	Froms, Tos  []optionValue
	Hands       []optionValue
	Tempos      []optionValue
	Loop, Count int
	Click       bool
	Now, Before int // versions: what holds, and what held before the last change
	HasBefore   bool
	At          int    // which of them is heard
	Sound       string // address
	Alone       bool   // it stands on a page of its own: not over a single bar
}

// levelValues are the levels of a session that have a page, to pick from.
func (d *Desk) levelValues(ctx context.Context, s *gradatim.Session, level int) ([]optionValue, error) {
	ps, err := s.Ladder(ctx)
	if err != nil {
		return nil, err
	}
	var out []optionValue
	for _, p := range ps {
		if !p.Failed {
			out = append(out, optionValue{strconv.Itoa(p.Level.Number), d.words.Level(p.Level.Number, p.Level.Name), p.Level.Number == level})
		}
	}
	return out, nil
}

// pictureURL is where bars of a level's page stand as a picture. The version is part of it,
// so that a browser never shows an older one.
func pictureURL(tune string, level, from, to, version int, ids string) string {
	u := fmt.Sprintf("/tunes/%s/page.svg?level=%d&from=%d&to=%d&at=%d", tune, level, from, to, version)
	if ids != "" {
		u += "&ids=" + ids
	}
	return u
}

// before is the version that held before the last change, of those that changed something.
func before(rs []gradatim.Revision) (int, bool) {
	if len(rs) == 0 {
		return 0, false
	}
	holds := rs[len(rs)-1].Hash
	for i := len(rs) - 2; i >= 0; i-- {
		if rs[i].Hash != holds {
			return rs[i].Version, true
		}
	}
	return 0, true // before the first of them nothing was chosen
}

// player fills in the form from an address.
func (d *Desk) player(ctx context.Context, st *state, q url.Values) (Player, gradatim.Page, error) {
	level, take, err := takeOf(q)
	if err != nil {
		return Player{}, gradatim.Page{}, errNoPage
	}
	p := Player{Tune: st.Tune.ID, Now: st.Version, At: st.Version, From: take.From, To: take.To, Loop: max(1, take.Loop), Count: take.CountIn, Click: take.Click}
	p.Before, p.HasBefore = before(st.History)
	s := st.Session
	if v, err := strconv.Atoi(q.Get("at")); err == nil && v != st.Version {
		p.At = v
		if s, err = d.at(ctx, st, v); err != nil {
			return p, gradatim.Page{}, err
		}
	}
	page, ok, err := pageOf(ctx, s, level)
	if err != nil {
		return p, page, err
	}
	if !ok || page.Failed {
		return p, page, errNoPage
	}
	p.Level = page.Level.Number
	if p.Levels, err = d.levelValues(ctx, s, p.Level); err != nil {
		return p, page, err
	}
	if n := len(page.Score.Bars); n > 0 {
		p.Last = page.Score.Bars[n-1].Number
	}
	if p.To == 0 || p.To > p.Last {
		p.To = p.Last
	}
	if q.Get("from") == "" && len(page.Score.Bars) > 0 {
		p.From = page.Score.Bars[0].Number
	}
	for i := range p.Levels {
		p.Levels[i].Text = d.say("listen.level-short", "Number", p.Levels[i].Value)
	}
	p.From = min(p.From, p.To)
	p.Froms, p.Tos = d.barValues(page.Score, p.From), d.barValues(page.Score, p.To)
	for _, h := range []gradatim.Hands{gradatim.BothHands, gradatim.RightAlone, gradatim.LeftAlone, gradatim.TuneAlone, gradatim.WithoutTune} {
		p.Hands = append(p.Hands, optionValue{h.String(), d.say("listen." + h.String()), h == take.Hands})
	}
	for _, t := range []int{40, 50, 60, 70, 80, 90, 100, 110} {
		p.Tempos = append(p.Tempos, optionValue{fmt.Sprintf("%d%%", t), fmt.Sprintf("%d %%", t), t == take.Percent || t == 100 && take.Percent == 0})
	}
	v := url.Values{"level": {strconv.Itoa(p.Level)}, "from": {strconv.Itoa(p.From)}, "to": {strconv.Itoa(p.To)}, "at": {strconv.Itoa(p.At)}}
	for _, name := range []string{"hands", "tempo", "loop", "count", "click"} {
		if x := q.Get(name); x != "" {
			v.Set(name, x)
		}
	}
	p.Sound = "/tunes/" + st.Tune.ID + "/sound.wav?" + v.Encode()
	return p, page, nil
}

// barValues are the bars of a page as printed, to pick from.
func (d *Desk) barValues(s score.Score, on int) []optionValue {
	var out []optionValue
	known := map[int]bool{}
	for _, b := range s.Bars {
		if n := b.Number; !known[n] {
			known[n] = true
			out = append(out, optionValue{strconv.Itoa(n), d.barsText(n, n), n == on})
		}
	}
	return out
}

// strips are the bars that a player plays, so many on a line.
func (d *Desk) strips(st *state, s score.Score, p Player, bars int, letter string) []strip {
	var out []strip
	for i, c := range chunks(s, nil, bars) {
		if c.to < p.From || c.from > p.To {
			continue
		}
		from, to := max(c.from, p.From), min(c.to, p.To)
		ids := fmt.Sprintf("%s%d-", letter, i)
		out = append(out, strip{pictureURL(st.Tune.ID, p.Level, from, to, p.At, ids), d.barsText(from, to), ids, from, nil})
	}
	return out
}

func (d *Desk) showListen(w http.ResponseWriter, r *http.Request) error {
	st, err := d.state(r.Context(), r.PathValue("tune"))
	if err != nil {
		return err
	}
	v := &listenView{frame: d.head(st, "listen")}
	var page gradatim.Page
	if v.Player, page, err = d.player(r.Context(), st, r.URL.Query()); err != nil {
		return err
	}
	v.Player.Alone = true
	if a, b := st.Session.Song().Tempo, page.Score.Tempo; a.Set() && b.Set() && a.Beat == b.Beat && a.PerMinute != b.PerMinute {
		v.Tempo = d.say("listen.other-tempo", "Sheet", a.PerMinute, "Page", b.PerMinute)
	}
	v.Music, v.Narrow = d.strips(st, page.Score, v.Player, line, "m"), d.strips(st, page.Score, v.Player, narrowLine, "n")
	return d.render(w, r, http.StatusOK, "listen", v)
}
