package desk

import (
	"errors"
	"net/http"
	"strconv"
	"strings"

	"gradatim"
	"gradatim/leadsheet"
)

// rightsView is what is known of who owns a tune, by territory, and the form that writes
// it down.
type rightsView struct {
	frame
	Now      []rightRow
	Before   []rightRow
	Fields   []field
	Statuses []optionValue
	Problems []problem
}

type rightRow struct {
	Territory, Status, Text, When string
}

// field is a line of a form.
type field struct {
	Name, Label, Help, Value, Kind string
}

// rightFields are the fields of a right, beside its status.
var rightFields = []struct{ name, kind string }{
	{"territory", "text"}, {"basis", "text"}, {"year", "number"}, {"died", "number"}, {"evidence", "text"}, {"holder", "text"}, {"since", "date"}, {"expires", "date"}, {"note", "text"},
}

func (d *Desk) rightRow(r gradatim.Right) rightRow {
	row := rightRow{Territory: r.Territory, Status: d.words.Say("rights.status." + r.Status.String()), When: d.say("rights.when", "Day", r.At.Format("2006-01-02"), "Author", r.Author)}
	if r.Territory == gradatim.World {
		row.Territory = d.say("rights.world")
	}
	var parts []string
	add := func(name, value string) {
		if value != "" && value != "0" {
			parts = append(parts, d.say("rights."+name)+": "+value)
		}
	}
	add("basis", r.Basis)
	add("year", strconv.Itoa(r.Year))
	add("died", strconv.Itoa(r.Died))
	add("evidence", r.Evidence)
	add("holder", r.Holder)
	add("since", r.Since)
	add("expires", r.Expires)
	add("note", r.Note)
	row.Text = strings.Join(parts, "; ")
	return row
}

func (d *Desk) showRights(w http.ResponseWriter, r *http.Request) error {
	return d.rightsPage(w, r, http.StatusOK, nil)
}

func (d *Desk) rightsPage(w http.ResponseWriter, r *http.Request, status int, told leadsheet.Problems) error {
	ctx := r.Context()
	st, err := d.state(ctx, r.PathValue("tune"))
	if err != nil {
		return err
	}
	v := &rightsView{frame: d.head(st, "rights"), Problems: d.problems(told)}
	if len(told) > 0 {
		v.Wrong = d.say("rights.refused")
	}
	now, err := d.shelf.Rights(ctx, st.Tune.ID)
	if err != nil {
		return err
	}
	holds := map[string]int{}
	for _, x := range now {
		v.Now = append(v.Now, d.rightRow(x))
		holds[x.Territory] = x.Version
	}
	all, err := d.shelf.RightsHistory(ctx, st.Tune.ID)
	if err != nil {
		return err
	}
	for _, x := range all {
		if holds[x.Territory] != x.Version {
			v.Before = append(v.Before, d.rightRow(x))
		}
	}
	for _, f := range rightFields {
		x := field{Name: f.name, Label: d.say("rights." + f.name), Kind: f.kind, Value: r.PostFormValue(f.name)}
		if f.name == "territory" {
			if x.Value == "" {
				x.Value = gradatim.World
			}
		}
		if key := "rights." + f.name + "-help"; d.words.Has("desk." + key) {
			x.Help = d.say(key)
		}
		v.Fields = append(v.Fields, x)
	}
	for _, s := range []leadsheet.Status{leadsheet.Unknown, leadsheet.PublicDomain, leadsheet.Own, leadsheet.Licensed} {
		v.Statuses = append(v.Statuses, optionValue{s.String(), d.words.Say("rights.status." + s.String()), r.PostFormValue("status") == s.String()})
	}
	return d.render(w, r, status, "rights", v)
}

func (d *Desk) setRight(w http.ResponseWriter, r *http.Request) error {
	t, err := d.shelf.Tune(r.Context(), r.PathValue("tune"))
	if err != nil {
		return err
	}
	text := func(name string) string { return strings.TrimSpace(r.PostFormValue(name)) }
	number := func(name string) int { n, _ := strconv.Atoi(text(name)); return n }
	x := gradatim.Right{Basis: text("basis"), Year: number("year"), Died: number("died"), Evidence: text("evidence"), Holder: text("holder"), Since: text("since"), Expires: text("expires"), Note: text("note")}
	var ok bool
	if x.Status, ok = gradatim.ParseStatus(text("status")); !ok {
		return errNoPage
	}
	var ps leadsheet.Problems
	if x.Territory, err = gradatim.ParseTerritory(text("territory")); err == nil {
		_, err = d.shelf.SetRight(r.Context(), t.ID, x)
	}
	if errors.As(err, &ps) {
		return d.rightsPage(w, r, http.StatusUnprocessableEntity, ps)
	} else if err != nil {
		return err
	}
	http.Redirect(w, r, "/tunes/"+t.ID+"/rights?told=right", http.StatusSeeOther)
	return nil
}
