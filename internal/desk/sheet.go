package desk

import (
	"context"
	"fmt"
	"net/http"

	"gradatim"
)

// sheetView is a tune's lead sheet: its text beside what it looks like engraved.
type sheetView struct {
	frame
	Text     string
	Picture  string
	Facts    []fact
	Problems []problem
}

// fact is a thing that is known of a tune, with its name.
type fact struct{ Name, Value string }

// head is what stands above every page of a tune.
func (d *Desk) head(st *state, here string) frame {
	h := &tuneHead{ID: st.Tune.ID, Title: d.titleOf(st.Tune), Version: st.Version}
	for _, p := range []string{""} {
		name := p
		if p == "" {
			name = "sheet"
		}
		h.Places = append(h.Places, place{h.Href(p), d.say("place." + name), p == here})
	}
	title := h.Title
	for _, p := range h.Places {
		if p.Here {
			title = p.Text + " · " + h.Title
		}
	}
	return frame{Title: title, Tune: h}
}

func (d *Desk) showSheet(w http.ResponseWriter, r *http.Request) error {
	st, err := d.state(r.Context(), r.PathValue("tune"))
	if err != nil {
		return err
	}
	v := &sheetView{frame: d.head(st, ""), Text: string(st.Job.Sheet.Data), Problems: d.problems(st.Session.Song().Problems)}
	v.Picture = fmt.Sprintf("/tunes/%s/sheet.svg", st.Tune.ID)
	song := st.Session.Song()
	v.Facts = []fact{{d.say("sheet.key"), d.words.Key(song.Key)}, {d.say("sheet.metre"), song.Meter.String()}, {d.say("sheet.form"), song.Form}, {d.say("sheet.length"), d.say("tunes.bars", "n", len(song.Bars))}}
	return d.render(w, r, http.StatusOK, "sheet", v)
}

// sheetPicture is a tune's lead sheet, engraved.
func (d *Desk) sheetPicture(w http.ResponseWriter, r *http.Request) error {
	st, err := d.state(r.Context(), r.PathValue("tune"))
	if err != nil {
		return err
	}
	svgs, err := d.drawSheet(r.Context(), st.Job.Sheet)
	if err != nil {
		return err
	}
	sendSVG(w, r, svgs[0])
	return nil
}

// drawSheet engraves a lead sheet, with the chords that were found for it where it has
// none. Only one page is arranged, and that is thrown away: the façade writes lead sheets
// in the key of pages.
func (d *Desk) drawSheet(ctx context.Context, f gradatim.File) ([][]byte, error) {
	s, err := d.studio.Open(ctx, gradatim.Job{Sheet: f, Levels: []int{1}, Language: d.words.ID()})
	if err != nil {
		return nil, err
	}
	xml, err := s.LeadSheet(ctx)
	if err != nil {
		return nil, err
	}
	e, err := d.studio.EngraveFile(ctx, gradatim.File{Name: f.Name, Data: xml}, gradatim.Layout{Fingers: gradatim.AllFingers, Language: d.words.ID()})
	if err != nil {
		return nil, err
	}
	return drawnOf(e), nil
}
