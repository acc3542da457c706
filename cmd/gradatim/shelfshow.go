package main

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"gradatim"
)

func shelfShow(ctx context.Context, sh *shell, args []string) error {
	f := declareShelf(sh, "shelf show", "TUNE", "Shows what is known of a tune: what was understood of its sheet, its rights, what was\nwritten about it and what was made of it. With --get, prints one of these as it stands.",
		"3f2a", `"The Long Way Up" --json`, "3f2a --get sheet > tune.abc")
	get := f.String("get", "", "`WHAT` to print: sheet, choices, rights, text:NAME, or source (the file as it was handed in)")
	asJSON := f.JSON("print it as JSON")
	rest, err := f.words(args)
	if err != nil {
		return err
	}
	return f.withTune(ctx, rest, func(s *gradatim.Shelf, t gradatim.ShelfTune) error {
		if *get != "" {
			return sh.printOne(ctx, s, t, *get)
		}
		k, err := known(ctx, s, t)
		if err != nil {
			return err
		}
		if *asJSON {
			return sh.printJSON(k)
		}
		sh.printKnown(k, t)
		rs, err := s.Rights(ctx, t.ID)
		if err == nil {
			sh.printRights(rs)
		}
		return err
	})
}

// printOne prints something of a tune as it stands.
func (sh *shell) printOne(ctx context.Context, s *gradatim.Shelf, t gradatim.ShelfTune, what string) error {
	if what == "source" {
		f, err := s.SourceOf(ctx, t.ID)
		if err == nil {
			_, err = sh.out.Write(f.Data)
		}
		return err
	}
	if name, is := strings.CutPrefix(what, "text:"); is {
		what = gradatim.TextHistory(name)
	}
	if err := s.CheckHistory(what); err != nil {
		return err
	}
	data, _, err := s.Current(ctx, t.ID, what)
	if err == nil {
		_, err = sh.out.Write(data)
	}
	return err
}

// knownJSON is all that is known of a tune.
type knownJSON struct {
	Version int `json:"version"`
	tuneJSON
	Rights       []rightJSON       `json:"rights"`
	Written      []writtenJSON     `json:"written"`
	Pages        []pageJSON        `json:"pages"`
	Builds       []buildJSON       `json:"builds"`
	Publications []publicationJSON `json:"publications"`
	Problems     json.RawMessage   `json:"problems"`
}

type rightJSON struct {
	Territory string `json:"territory"`
	Status    string `json:"status"`
	Basis     string `json:"basis,omitempty"`
	Year      int    `json:"year,omitempty"`
	Died      int    `json:"died,omitempty"`
	Evidence  string `json:"evidence,omitempty"`
	Holder    string `json:"holder,omitempty"`
	Since     string `json:"since,omitempty"`
	Until     string `json:"until,omitempty"`
	Note      string `json:"note,omitempty"`
	Author    string `json:"author"`
	At        string `json:"at"`
}

type writtenJSON struct {
	Of     string `json:"of"`
	Number int    `json:"number"`
	Act    string `json:"act"`
	Shows  int    `json:"shows"`
	Author string `json:"author"`
	At     string `json:"at"`
	Note   string `json:"note,omitempty"`
}

type pageJSON struct {
	Level      int      `json:"level"`
	Key        string   `json:"key"`
	Rating     int      `json:"rating"`
	Techniques []string `json:"techniques"`
}

type buildJSON struct {
	Build   string `json:"build"`
	What    string `json:"what"`
	Key     string `json:"key"`
	Levels  string `json:"levels"`
	Program string `json:"program"`
	Made    string `json:"made"`
	Author  string `json:"author"`
}

type publicationJSON struct {
	Build     string    `json:"build"`
	Territory string    `json:"territory"`
	At        string    `json:"at"`
	Author    string    `json:"author"`
	Right     rightJSON `json:"right"`
}

func rightOf(r gradatim.Right) rightJSON {
	return rightJSON{r.Territory, r.Status.String(), r.Basis, r.Year, r.Died, r.Evidence, r.Holder, r.Since, r.Expires, r.Note, r.Author, r.At.Format(stamp)}
}

// known gathers all that is known of a tune.
func known(ctx context.Context, s *gradatim.Shelf, t gradatim.ShelfTune) (knownJSON, error) {
	k := knownJSON{Version: gradatim.FormatVersion, tuneJSON: jsonOf(t), Rights: []rightJSON{}, Written: []writtenJSON{}, Pages: []pageJSON{}, Builds: []buildJSON{}, Publications: []publicationJSON{}, Problems: t.Problems}
	rs, err := s.Rights(ctx, t.ID)
	if err != nil {
		return k, err
	}
	for _, r := range rs {
		k.Rights = append(k.Rights, rightOf(r))
	}
	whats, err := s.Histories(ctx, t.ID)
	if err != nil {
		return k, err
	}
	for _, what := range whats {
		vs, err := s.History(ctx, t.ID, what)
		if err != nil {
			return k, err
		}
		for _, v := range vs {
			k.Written = append(k.Written, writtenJSON{what, v.Version, string(v.Act), v.Shows, v.Author, v.At.Format(stamp), v.Note})
		}
	}
	ps, err := s.Pages(ctx, t.ID)
	if err != nil {
		return k, err
	}
	for _, p := range ps {
		x := pageJSON{p.Level, p.Key, (p.Rating + 5) / 10, []string{}}
		for _, u := range p.Techniques {
			x.Techniques = append(x.Techniques, u.ID)
		}
		k.Pages = append(k.Pages, x)
	}
	bs, err := s.Builds(ctx, t.ID)
	if err != nil {
		return k, err
	}
	for _, b := range bs {
		k.Builds = append(k.Builds, buildJSON{b.ID, b.What, b.Key, b.Levels, b.Program, b.Made.Format(stamp), b.Author})
	}
	pubs, err := s.Publications(ctx, t.ID)
	for _, p := range pubs {
		k.Publications = append(k.Publications, publicationJSON{p.Build, p.Territory, p.At.Format(stamp), p.Author, rightOf(p.Right)})
	}
	return k, err
}

func (sh *shell) printKnown(k knownJSON, t gradatim.ShelfTune) {
	line := func(name, value string) {
		if value != "" {
			fmt.Fprintf(sh.out, "%-10s %s\n", name, value)
		}
	}
	line("tune", k.Tune)
	line("title", k.Title)
	line("composer", k.Composer)
	line("key", k.Key)
	line("metre", k.Metre)
	line("kind", k.Kind)
	line("form", k.Form)
	line("length", fmt.Sprintf("%d bars, %d notes, %d chords, %d s", k.Bars, k.Notes, k.Chords, k.Seconds))
	line("incipit", k.Incipit)
	line("alike", k.Alike)
	line("sheet", fmt.Sprintf("%s, added %s by %s", k.Sheet, k.Added, k.Author))
	var whats []string
	for _, w := range k.Written {
		if !slices.Contains(whats, w.Of) {
			whats = append(whats, w.Of)
		}
	}
	line("written", strings.Join(whats, ", "))
	for _, p := range k.Pages {
		line("page", fmt.Sprintf("level %d, %s, %d of 100: %s", p.Level, p.Key, p.Rating, strings.Join(p.Techniques, ", ")))
	}
	for _, b := range k.Builds {
		line("build", fmt.Sprintf("%s %s, levels %s, %s, %s", b.Build[:12], b.What, b.Levels, b.Key, b.Made))
	}
	var ps []struct{ Severity, Code, Text string }
	if json.Unmarshal(t.Problems, &ps) == nil {
		for _, p := range ps {
			line(p.Severity, p.Text+" ["+p.Code+"]")
		}
	}
}
