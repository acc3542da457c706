package desk

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/BurntSushi/toml"

	"gradatim"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
)

// historyView is all that was done to a tune's choices and its sheet, newest first.
type historyView struct {
	frame
	Steps   []step
	Named   []step
	Sheets  []step
	Now     int // version of the choices that holds
	Compare bool
}

// step is an entry of a history, with what was done and to which level and bar.
type step struct {
	Version         int
	When, Who, What string
	Name            string // that somebody has given it
	Holds           bool   // what it wrote is what holds now
}

// steps are the notes of what can be taken back, and what can be had again, as the shelf
// does it: taking back shows what was written before, until something new is written.
func (d *Desk) steps(rs []gradatim.Revision) (undo, redo string) {
	notes, parent := map[int]string{}, map[int]int{}
	var shows int
	var undone []int
	for _, r := range rs {
		switch r.Act {
		case "set":
			parent[r.Version], notes[r.Version] = shows, r.Note
			undone = nil
		case "undo":
			undone = append(undone, shows)
		case "redo":
			undone = undone[:max(0, len(undone)-1)]
		}
		shows = r.Shows
	}
	name := func(v int) string {
		if notes[v] == "" {
			return d.say("note.none")
		}
		return notes[v]
	}
	if shows > 0 {
		undo = name(shows)
	}
	if n := len(undone); n > 0 {
		redo = name(undone[n-1])
	}
	return undo, redo
}

// namesHistory is where versions that have a name stand.
var namesHistory = gradatim.TextHistory("versions")

// named is a version of the choices that somebody has given a name.
type named struct {
	Name    string `toml:"name"`
	Version int    `toml:"version"`
}

type namedList struct {
	Version []named `toml:"version"`
}

func (d *Desk) named(ctx context.Context, tune string) (namedList, int, error) {
	var l namedList
	data, _, err := d.shelf.Current(ctx, tune, namesHistory)
	if err != nil {
		return l, 0, err
	}
	if toml.Unmarshal(data, &l) != nil { // somebody else has written there
		l = namedList{}
	}
	on, err := d.newest(ctx, tune, namesHistory)
	return l, on, err
}

// revisions are the entries of a history, oldest first. Of what was taken back, or done
// again, is told what that was.
func (d *Desk) revisions(rs []gradatim.Revision) []step {
	var out []step
	for i, r := range rs {
		s := step{Version: r.Version, When: r.At.Format("2006-01-02 15:04"), Who: r.Author, What: r.Note}
		switch {
		case r.Act == "undo":
			undo, _ := d.steps(rs[:i])
			s.What = d.say("history.undone", "What", undo)
		case r.Act == "redo":
			_, redo := d.steps(rs[:i])
			s.What = d.say("history.redone", "What", redo)
		case s.What == "":
			s.What = d.say("note.none")
		}
		out = append(out, s)
	}
	return out
}

func (d *Desk) showHistory(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	st, err := d.state(ctx, r.PathValue("tune"))
	if err != nil {
		return err
	}
	v := &historyView{frame: d.head(st, "history"), Now: st.Version}
	names, _, err := d.named(ctx, st.Tune.ID)
	if err != nil {
		return err
	}
	holds := 0
	if st.Version > 0 {
		holds = st.History[len(st.History)-1].Shows
	}
	for i, s := range d.revisions(st.History) {
		s.Holds = st.History[i].Shows == holds
		for _, n := range names.Version {
			if n.Version == s.Version {
				s.Name = n.Name
			}
		}
		v.Steps = append(v.Steps, s)
		if s.Name != "" {
			v.Named = append(v.Named, s)
		}
	}
	slices.Reverse(v.Steps)
	v.Compare = len(v.Steps) > 0
	sheets, err := d.shelf.History(ctx, st.Tune.ID, gradatim.SheetHistory)
	if err != nil {
		return err
	}
	for i, s := range d.revisions(sheets) {
		s.Holds = i == len(sheets)-1
		if i == 0 && sheets[i].Note == "" {
			s.What = d.say("note.first")
		}
		v.Sheets = append(v.Sheets, s)
	}
	slices.Reverse(v.Sheets)
	return d.render(w, r, http.StatusOK, "history", v)
}

// seenOf is the version that a form brings: what its writer had before her.
func seenOf(r *http.Request) (int, error) {
	n, err := strconv.Atoi(r.PostFormValue("version"))
	if err != nil {
		return 0, errNoPage
	}
	return n, nil
}

// back is where a form wants to go: a page of a tune, and nowhere else.
func back(r *http.Request, otherwise, told string) string {
	u, err := url.Parse(r.PostFormValue("back"))
	if err != nil || u.Scheme != "" || u.Host != "" || !strings.HasPrefix(u.Path, "/tunes/") {
		u, _ = url.Parse(otherwise)
	}
	q := u.Query()
	q.Set("told", told)
	return (&url.URL{Path: u.Path, RawQuery: q.Encode(), Fragment: u.Fragment}).String()
}

// undo takes the last change back, and redo puts it there again. Where another window has
// changed something since the page was made, nothing is done: it would not be what the
// reader has seen.
func (d *Desk) undo(w http.ResponseWriter, r *http.Request) error {
	return d.move(w, r, d.shelf.Undo, "undone")
}

func (d *Desk) redo(w http.ResponseWriter, r *http.Request) error {
	return d.move(w, r, d.shelf.Redo, "redone")
}

func (d *Desk) move(w http.ResponseWriter, r *http.Request, f func(context.Context, string, string) (int, error), told string) error {
	seen, err := seenOf(r)
	if err != nil {
		return err
	}
	id := r.PathValue("tune")
	turn := d.tunes.turn(id)
	turn.Lock()
	defer turn.Unlock()
	now, err := d.newest(r.Context(), id, gradatim.ChoicesHistory)
	if err != nil {
		return err
	}
	if now != seen {
		told = "meanwhile"
	} else if _, err := f(r.Context(), id, gradatim.ChoicesHistory); err != nil {
		var ps leadsheet.Problems
		if !errors.As(err, &ps) || ps[0].Code != "shelf-history" {
			return err
		}
		told = "no-step"
	}
	http.Redirect(w, r, back(r, "/tunes/"+id+"/history", told), http.StatusSeeOther)
	return nil
}

// goBack writes what held after a version on top of the history.
func (d *Desk) goBack(w http.ResponseWriter, r *http.Request) error {
	ctx, id := r.Context(), r.PathValue("tune")
	seen, err := seenOf(r)
	if err != nil {
		return err
	}
	to, err := strconv.Atoi(r.PostFormValue("to"))
	if err != nil {
		return errNoPage
	}
	told := "back"
	switch r.PostFormValue("of") {
	case "sheet":
		st, err := d.state(ctx, id)
		if err != nil {
			return err
		}
		data, err := d.shelf.At(ctx, id, gradatim.SheetHistory, to)
		if err != nil {
			return err
		}
		if _, err := d.shelf.ReplaceSheet(ctx, id, gradatim.File{Name: st.Tune.Name, Data: data}, d.say("note.back", "n", to)); err != nil {
			return err
		}
	default:
		data, err := d.shelf.At(ctx, id, gradatim.ChoicesHistory, to)
		if err != nil {
			return err
		}
		if _, err = d.shelf.Write(ctx, id, gradatim.ChoicesHistory, data, d.say("note.back", "n", to), seen); meanwhile(err) {
			told = "meanwhile"
		} else if err != nil {
			return err
		}
	}
	http.Redirect(w, r, "/tunes/"+id+"/history?told="+told, http.StatusSeeOther)
	return nil
}

// maxName bounds the name of a version, in letters.
const maxName = 80

// nameVersion gives a version a name; an empty one takes it away.
func (d *Desk) nameVersion(w http.ResponseWriter, r *http.Request) error {
	ctx, id := r.Context(), r.PathValue("tune")
	version, err := strconv.Atoi(r.PostFormValue("of"))
	if err != nil {
		return errNoPage
	}
	name := strings.TrimSpace(r.PostFormValue("name"))
	if utf8.RuneCountInString(name) > maxName || !utf8.ValidString(name) {
		return errNoPage
	}
	for again := 0; ; again++ {
		l, on, err := d.named(ctx, id)
		if err != nil {
			return err
		}
		l.Version = slices.DeleteFunc(l.Version, func(n named) bool { return n.Version == version })
		if name != "" {
			l.Version = append(l.Version, named{name, version})
		}
		data, err := toml.Marshal(l)
		if err != nil {
			return err
		}
		_, err = d.shelf.Write(ctx, id, namesHistory, data, d.say("note.named"), on)
		if again < 3 && meanwhile(err) {
			continue
		} else if err != nil {
			return err
		}
		break
	}
	http.Redirect(w, r, "/tunes/"+id+"/history?told=named", http.StatusSeeOther)
	return nil
}

// compareView is two versions of a tune at a level, the bars that differ marked.
type compareView struct {
	frame
	Level   int
	Levels  []optionValue
	A, B    int
	Heading string
	Titles  [2]string
	Same    bool
	Rows    []compareRow
}

// compareRow is a stretch of bars in both versions.
type compareRow struct {
	Bars   string
	Sides  [2]compareSide
	Marked bool
	Says   []string // what differs
	Back   []place  // addresses of the forms of its bars, which take the first version's choices again
}

// compareSide is such a stretch in one of them: a picture for a wide window, one for each bar
// in a narrow one, and how it sounds.
type compareSide struct {
	Picture string
	Narrow  []string
	Sound   string
}

func (d *Desk) compare(w http.ResponseWriter, r *http.Request) error {
	ctx, q := r.Context(), r.URL.Query()
	st, err := d.state(ctx, r.PathValue("tune"))
	if err != nil {
		return err
	}
	v := &compareView{frame: d.head(st, "history")}
	v.A, _ = strconv.Atoi(q.Get("a"))
	v.B = st.Version
	if n, err := strconv.Atoi(q.Get("b")); err == nil {
		v.B = n
	}
	v.Level, _ = strconv.Atoi(q.Get("level"))
	var pages [2]gradatim.Page
	var sessions [2]*gradatim.Session
	for i, version := range []int{v.A, v.B} {
		if sessions[i], err = d.at(ctx, st, version); err != nil {
			return err
		}
		var ok bool
		if pages[i], ok, err = pageOf(ctx, sessions[i], v.Level); err != nil {
			return err
		}
		if !ok || pages[i].Failed {
			return errNoPage
		}
		v.Titles[i] = d.versionName(version)
	}
	v.Heading = words.Upper(d.say("compare.title", "A", v.Titles[0], "B", v.Titles[1]))
	v.Title = v.Heading + " · " + v.Tune.Title
	v.Level = pages[0].Level.Number
	if v.Levels, err = d.levelValues(ctx, st.Session, v.Level); err != nil {
		return err
	}
	a, b := pages[0].Printed, pages[1].Printed // of fingers those that the pictures show
	marked := differ(a, b)
	v.Same = len(marked) == 0
	for _, c := range chunks(a, marked, line) {
		row := compareRow{Bars: d.barsText(c.from, c.to), Marked: c.marked}
		if c.marked {
			row.Says = d.differences(a, b, c.from, c.to)
			if v.B == st.Version && v.A < v.B {
				if row.Back, err = d.backTo(st, sessions[0], pages[1], c); err != nil {
					return err
				}
			}
			for i, version := range []int{v.A, v.B} {
				side := &row.Sides[i]
				picture := func(from, to int) string {
					return fmt.Sprintf("%s&beside=%d", pictureURL(st.Tune.ID, v.Level, from, to, version, ""), []int{v.B, v.A}[i])
				}
				side.Picture = picture(c.from, c.to)
				for n := max(c.from, min(1, c.to)); n <= c.to; n++ {
					first := n
					if n == 1 { // a pick-up goes with the bar after it
						first = c.from
					}
					side.Narrow = append(side.Narrow, picture(first, n))
				}
				side.Sound = fmt.Sprintf("/tunes/%s/sound.wav?%s", st.Tune.ID, url.Values{"level": {strconv.Itoa(v.Level)}, "at": {strconv.Itoa(version)}, "from": {strconv.Itoa(c.from)}, "to": {strconv.Itoa(c.to)}}.Encode())
			}
		}
		v.Rows = append(v.Rows, row)
	}
	return d.render(w, r, http.StatusOK, "compare", v)
}

// versionName is what a version of the choices is called where somebody has given it no name.
func (d *Desk) versionName(version int) string {
	if version == 0 {
		return d.say("compare.beginning")
	}
	return d.say("compare.version", "n", version)
}

// backTo are the bars of a stretch of a page in which something else was chosen in an old session.
func (d *Desk) backTo(st *state, old *gradatim.Session, p gradatim.Page, c chunk) (out []place, err error) {
	for _, b := range st.Session.Song().Bars {
		at, ok := standsAt(p.Score, b)
		if !ok || at.Number < c.from || at.Number > c.to || slices.ContainsFunc(out, func(p place) bool { return p.Text == d.barName(b) }) {
			continue
		}
		was, err := old.Chosen(p.Level.Number, b.Number)
		if err != nil {
			return nil, err
		}
		is, err := st.Session.Chosen(p.Level.Number, b.Number)
		if err != nil {
			return nil, err
		}
		if !slices.Equal(was, is) {
			out = append(out, place{Path: fmt.Sprintf("/tunes/%s/bar/%d", st.Tune.ID, b.Number), Text: d.barName(b)})
		}
	}
	return out, nil
}

// differ lists the bars, as printed, in which two pages of a tune differ.
func differ(a, b score.Score) map[int]bool {
	out := map[int]bool{}
	text := func(s score.Score) map[int]string {
		m := map[int]string{}
		whole, err := gradatim.Excerpt(s, s.Bars[0].Number, 0) // in its clefs, which take a look at all of it
		if err != nil {
			whole = s
		}
		for i, bar := range whole.Bars {
			if bar.Part == score.Tune {
				m[bar.Number] = score.Text(whole.Excerpt(i, i))
			}
		}
		return m
	}
	as, bs := text(a), text(b)
	for n := range as {
		if as[n] != bs[n] {
			out[n] = true
		}
	}
	for n := range bs {
		if _, ok := as[n]; !ok {
			out[n] = true
		}
	}
	return out
}

// chunk is a stretch of bars that is shown together.
type chunk struct {
	from, to int
	marked   bool
}

// Bars on a line of a picture, in a window of usual width and in a narrow one.
const line, narrowLine = 4, 1

// chunks cuts a page into stretches of up to so many bars, those that are marked and those
// that are not apart. A pick-up goes with the bar after it.
func chunks(s score.Score, marked map[int]bool, most int) []chunk {
	var out []chunk
	for _, b := range s.Bars {
		if n := len(out); n > 0 {
			last := &out[n-1]
			if b.Number == last.to {
				continue
			}
			long := last.to-max(last.from, 1) >= most-1
			if marked[b.Number] == last.marked && (!long || marked != nil && !last.marked) || last.to == 0 {
				last.to, last.marked = b.Number, last.marked || marked[b.Number]
				continue
			}
		}
		out = append(out, chunk{b.Number, b.Number, marked[b.Number]})
	}
	return out
}
