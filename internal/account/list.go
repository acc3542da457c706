package account

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/delivery"
)

// ListName is the file of a ladder's folder that lists what was put there.
const ListName = "ladder.json"

// listKind tells our list from any other file of that name.
const listKind = "gradatim ladder"

// MadeFrom are hashes (SHA-256, hexadecimal) of what pages are made from.
type MadeFrom struct {
	Program string `json:"program"`
	Sheet   string `json:"sheet"`             // the sheet, with its rights
	Choices string `json:"choices,omitempty"` // the file of choices, with its locked bars
	Options string `json:"options"`
}

// differs names in what two differ.
func (m MadeFrom) differs(o MadeFrom) []string {
	out := []string{}
	for _, d := range []struct{ name, a, b string }{{"program", m.Program, o.Program}, {"sheet", m.Sheet, o.Sheet},
		{"choices", m.Choices, o.Choices}, {"options", m.Options, o.Options}} {
		if d.a != d.b {
			out = append(out, d.name)
		}
	}
	return out
}

// List is what stands in a ladder's folder: the files of the last run, and those that
// earlier runs put there.
type List struct {
	MadeFrom MadeFrom          `json:"made_from"`
	Files    []delivery.Listed `json:"files"`
	Others   []Other           `json:"others"`
	Kept     []string          `json:"kept,omitempty"` // somebody's files, kept beside under these names
}

// Other are files that an earlier run made.
type Other struct {
	Files    []delivery.Listed `json:"files"`
	MadeFrom MadeFrom          `json:"made_from"`
	Differs  []string          `json:"differs"` // from the list's own: "program", "sheet", "choices", "options"
}

// ReadList reads the list out of a ladder.json. The error says why it is none of ours.
func ReadList(data []byte) (List, error) {
	var l struct {
		Version int    `json:"version"`
		Kind    string `json:"kind"`
		List
	}
	if err := json.Unmarshal(data, &l); err != nil {
		return List{}, err
	}
	if l.Kind != listKind || l.Version != FormatVersion {
		return List{}, fmt.Errorf("%s of kind %q, version %d, is not read", ListName, l.Kind, l.Version)
	}
	return l.List, nil
}

// All are all files of the list.
func (l List) All() []delivery.Listed {
	out := slices.Clone(l.Files)
	for _, o := range l.Others {
		out = append(out, o.Files...)
	}
	return out
}

// After is the list of a folder after a run that made files, or tried to make those of
// which mine tells. intact are the files of the old list that stand there unchanged; gone
// are those of them that pass for the run's own work and are not.
func (l List) After(made List, intact []delivery.Listed, mine func(path string) bool) (now List, gone []string) {
	now = made
	now.Others = []Other{}
	written := func(path string) bool {
		return slices.ContainsFunc(made.Files, func(f delivery.Listed) bool { return f.Path == path })
	}
	runs := append([]Other{{Files: l.Files, MadeFrom: l.MadeFrom}}, l.Others...)
	for _, run := range runs {
		same := len(run.MadeFrom.differs(made.MadeFrom)) == 0
		stay := Other{MadeFrom: run.MadeFrom, Differs: run.MadeFrom.differs(made.MadeFrom), Files: []delivery.Listed{}}
		for _, f := range run.Files {
			switch {
			case written(f.Path):
			case !same && mine(f.Path):
				gone = append(gone, f.Path)
			case slices.Contains(intact, f):
				stay.Files = append(stay.Files, f)
			}
		}
		if len(stay.Files) == 0 {
			continue
		}
		if i := slices.IndexFunc(now.Others, func(o Other) bool { return o.MadeFrom == stay.MadeFrom }); i >= 0 {
			now.Others[i].Files = append(now.Others[i].Files, stay.Files...)
			continue
		}
		now.Others = append(now.Others, stay)
	}
	for i := range now.Others {
		sortFiles(now.Others[i].Files)
	}
	return now, gone
}

func sortFiles(fs []delivery.Listed) {
	slices.SortFunc(fs, func(a, b delivery.Listed) int { return strings.Compare(a.Path, b.Path) })
}
