package desk

import (
	"context"
	"maps"
	"net/http"
	"slices"
	"strings"

	"github.com/BurntSushi/toml"

	"gradatim"
	"gradatim/leadsheet"
)

// How a tune is made stands on the shelf beside its choices, as a text of its own: a table
// of options, each as its Parse function reads it. What is not there is found from the
// tune.

// optionsHistory is where they stand.
var optionsHistory = gradatim.TextHistory("options")

// option is one of them.
type option struct {
	name   string
	values func() []string                        // to pick from; nil: it is typed
	set    func(*gradatim.Job, string) error      // "": what is done where nothing is said
	shown  func(d *Desk, value string) (s string) // nil: by its message
}

func these(values ...string) func() []string { return func() []string { return values } }

// options lists those that the desk offers, in the order of the form.
var options = []option{
	{name: "key", values: these("easy", "C", "G", "D", "A", "E", "B", "F#", "Db", "Ab", "Eb", "Bb", "F"), set: func(j *gradatim.Job, s string) error {
		k, err := gradatim.ParseKey(s)
		j.Keys = []gradatim.Key{k}
		return err
	}, shown: func(d *Desk, v string) string {
		if v == "easy" {
			return d.say("option.easy")
		}
		return strings.NewReplacer("b", "♭", "#", "♯").Replace(v)
	}},
	{name: "style", values: func() (out []string) {
		for _, s := range gradatim.Styles() {
			out = append(out, string(s))
		}
		return out
	}, set: func(j *gradatim.Job, s string) (err error) { j.Style, err = gradatim.ParseStyle(s); return err },
		shown: func(d *Desk, v string) string { return d.words.Manner(v, v) }},
	{name: "manner", values: these("walk", "stay"), set: func(j *gradatim.Job, s string) (err error) { j.Manner, err = gradatim.ParseManner(s); return err }},
	{name: "repeats", values: these("fold", "written"), set: func(j *gradatim.Job, s string) (err error) { j.Repeats, err = gradatim.ParseRepeats(s); return err }},
	{name: "introduction", values: these("none", "short", "long"), set: func(j *gradatim.Job, s string) (err error) {
		j.Introduction, err = gradatim.ParseAround(s)
		return err
	}},
	{name: "ending", values: these("none", "short", "long"), set: func(j *gradatim.Job, s string) (err error) { j.Ending, err = gradatim.ParseAround(s); return err }},
	{name: "outline", values: these("1", "1-2"), set: func(j *gradatim.Job, s string) (err error) { j.Outline, err = gradatim.ParseLevels(s); return err }},
	{name: "lyrics", values: these("all", "none"), set: func(j *gradatim.Job, s string) (err error) { j.Lyrics, err = gradatim.ParseLyrics(s); return err }},
	{name: "hand", set: func(j *gradatim.Job, s string) (err error) { j.Hand, err = gradatim.ParseHand(s); return err }},
	{name: "fingers", values: these("all", "none"), set: func(j *gradatim.Job, s string) (err error) { j.Fingers, err = gradatim.ParseFingers(s); return err }},
	{name: "paper", values: these("letter", "tablet"), set: func(j *gradatim.Job, s string) (err error) { j.Paper, err = gradatim.ParsePaper(s); return err }},
}

// optionRow is an option in the form.
type optionRow struct {
	Name, Label, Help, Value string
	Values                   []optionValue // none: it is typed
}

type optionValue struct {
	Value, Text string
	On          bool
}

// chosenOptions reads what stands on the shelf.
func (d *Desk) chosenOptions(ctx context.Context, tune string) (map[string]string, error) {
	out := map[string]string{}
	data, _, err := d.shelf.Current(ctx, tune, optionsHistory)
	if err != nil {
		return nil, err
	}
	if toml.Unmarshal(data, &out) != nil { // somebody else has written there
		return map[string]string{}, nil
	}
	return out, nil
}

// apply puts options into a job. Those that cannot be read are as if nothing was said.
func apply(job *gradatim.Job, chosen map[string]string) {
	for _, o := range options {
		if v := chosen[o.name]; v != "" {
			next := *job
			if o.set(&next, v) == nil {
				*job = next
			}
		}
	}
}

// mendOption holds the ids of the likely readings that were taken, with blanks. It is no
// field of the form: readings are taken where they are told.
const mendOption = "mend"

// mends reads them.
func mends(chosen map[string]string) []string { return strings.Fields(chosen[mendOption]) }

// setMend takes a likely reading of the sheet, or reads the sheet as it stands again. The
// sheet itself is not rewritten.
func (d *Desk) setMend(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	st, err := d.state(ctx, r.PathValue("tune"))
	if err != nil {
		return err
	}
	turn := d.tunes.turn(st.Tune.ID)
	turn.Lock()
	defer turn.Unlock()
	chosen, err := d.chosenOptions(ctx, st.Tune.ID)
	if err != nil {
		return err
	}
	told := "unmended"
	if id := r.PostFormValue("mend"); id != "" {
		if !slices.ContainsFunc(st.Session.Song().Problems, func(p leadsheet.Problem) bool { return p.Mend == id }) {
			return errNoPage
		}
		chosen[mendOption], told = strings.TrimSpace(chosen[mendOption]+" "+id), "mended"
	} else {
		delete(chosen, mendOption)
	}
	if err := d.writeOptions(ctx, st.Tune.ID, chosen, d.say("note.mend")); err != nil {
		return err
	}
	http.Redirect(w, r, "/tunes/"+st.Tune.ID+"/sheet?told="+told, http.StatusSeeOther)
	return nil
}

func (d *Desk) writeOptions(ctx context.Context, tune string, chosen map[string]string, note string) error {
	var b strings.Builder
	for _, name := range slices.Sorted(maps.Keys(chosen)) {
		if chosen[name] != "" {
			line, err := toml.Marshal(map[string]string{name: chosen[name]})
			if err != nil {
				return err
			}
			b.Write(line)
		}
	}
	_, err := d.shelf.Write(ctx, tune, optionsHistory, []byte(b.String()), note, -1)
	return err
}

func (d *Desk) optionRows(ctx context.Context, st *state) ([]optionRow, error) {
	chosen, err := d.chosenOptions(ctx, st.Tune.ID)
	if err != nil {
		return nil, err
	}
	var out []optionRow
	for _, o := range options {
		row := optionRow{Name: o.name, Label: d.say("option." + o.name), Value: chosen[o.name]}
		if o.values == nil {
			row.Help = d.say("option." + o.name + "-help")
		} else {
			row.Values = append(row.Values, optionValue{"", d.say("option." + o.name + "-found"), row.Value == ""})
			for _, v := range o.values() {
				x := optionValue{Value: v, On: v == row.Value}
				if o.shown != nil {
					x.Text = o.shown(d, v)
				} else {
					x.Text = d.say("option." + o.name + "-" + v)
				}
				row.Values = append(row.Values, x)
			}
		}
		out = append(out, row)
	}
	return out, nil
}

// setOptions writes those that the form has changed; what another window has changed of the
// others stays.
func (d *Desk) setOptions(w http.ResponseWriter, r *http.Request) error {
	ctx, id := r.Context(), r.PathValue("tune")
	st, err := d.state(ctx, id)
	if err != nil {
		return err
	}
	turn := d.tunes.turn(st.Tune.ID)
	turn.Lock()
	defer turn.Unlock()
	chosen, err := d.chosenOptions(ctx, st.Tune.ID)
	if err != nil {
		return err
	}
	back := planBack(r, st.Tune.ID)
	for _, o := range options {
		v := strings.TrimSpace(r.PostFormValue(o.name))
		if v == r.PostFormValue("was-"+o.name) {
			continue
		}
		var job gradatim.Job
		if v != "" && o.set(&job, v) != nil {
			http.Redirect(w, r, back+"told=option-unread", http.StatusSeeOther)
			return nil
		}
		chosen[o.name] = v
	}
	if err := d.writeOptions(ctx, st.Tune.ID, chosen, d.say("note.options")); err != nil {
		return err
	}
	http.Redirect(w, r, back+"told=options", http.StatusSeeOther)
	return nil
}
