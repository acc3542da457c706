package hand

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gradatim/internal/settings"
	"gradatim/leadsheet"
)

var form = settings.Form{Encoding: "hand-profile.encoding", Syntax: "hand-profile.syntax"}

// ReadProfiles reads a TOML file of named profiles, one table each:
//
//	[mia]
//	span = "octave"      # both hands
//
//	[tom]
//	left = "8.5in"
//	right = 221          # a bare number is millimetres
//
// Spans are written as ParseProfile reads them. The profiles come back in the
// order of their names, with what was wrong in the file; a profile with an error
// is left out.
func ReadProfiles(file string, data []byte) ([]Profile, leadsheet.Problems) {
	var tables map[string]any
	problems, ok := form.Decode(file, data, &tables)
	if !ok {
		return nil, problems
	}
	names := make([]string, 0, len(tables))
	for name := range tables {
		names = append(names, name)
	}
	slices.Sort(names)
	var profiles []Profile
	for _, name := range names {
		line, _ := settings.Place(data, name)
		p, bad := readProfile(name, tables[name], leadsheet.Pos{File: file, Line: line})
		problems = append(problems, bad...)
		if len(bad) == 0 {
			profiles = append(profiles, p)
		}
	}
	return profiles, problems
}

// readProfile reads one table, and tells all that is wrong with it.
func readProfile(name string, v any, pos leadsheet.Pos) (p Profile, bad leadsheet.Problems) {
	called := leadsheet.Quoted(name)
	table, ok := v.(map[string]any)
	if !ok {
		bad.Tell(leadsheet.Error, pos, "hand-profile.table", "Name", called)
		return p, bad
	}
	p.Name = name
	keys := make([]string, 0, len(table))
	for k := range table {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	var both Length
	for _, k := range keys {
		var field *Length
		switch k {
		case "span":
			field = &both
		case "left":
			field = &p.Left
		case "right":
			field = &p.Right
		default:
			bad.Tell(leadsheet.Error, pos, "hand-profile.entry", "Name", called, "Entry", leadsheet.Quoted(k))
			continue
		}
		var text string
		switch n := table[k].(type) {
		case string:
			text = n
		case int64:
			text = strconv.FormatInt(n, 10)
		case float64:
			text = strconv.FormatFloat(n, 'f', -1, 64)
		default:
			bad.Tell(leadsheet.Error, pos, "hand-profile.value", "Name", called, "Entry", k)
			continue
		}
		span, err := parseSpan(strings.ToLower(text))
		if err != nil {
			bad.Tell(leadsheet.Error, pos, "hand-profile.span", "Name", called, "Error", strings.TrimPrefix(err.Error(), "hand: "))
			continue
		}
		*field = span
	}
	if both != 0 && (p.Left != 0 || p.Right != 0) {
		bad.Tell(leadsheet.Error, pos, "hand-profile.both", "Name", called)
	}
	if both != 0 {
		p.Left, p.Right = both, both
	}
	if p.Left == 0 {
		p.Left = p.Right
	}
	if p.Right == 0 {
		p.Right = p.Left
	}
	if p.Left == 0 && len(bad) == 0 {
		bad.Tell(leadsheet.Error, pos, "hand-profile.none", "Name", called)
	}
	return p, bad
}

// Choose returns the profile that a word stands for: one of the named profiles,
// else what ParseProfile reads in it; the empty word is the default.
func Choose(word string, named []Profile) (Profile, error) {
	if strings.TrimSpace(word) == "" {
		return Default(), nil
	}
	for _, p := range named {
		if p.Name == word {
			return p, nil
		}
	}
	p, err := ParseProfile(word)
	if err != nil && len(named) > 0 {
		names := make([]string, len(named))
		for i, n := range named {
			names[i] = n.Name
		}
		slices.Sort(names)
		return Profile{}, fmt.Errorf("%w, or one of %s", err, strings.Join(names, ", "))
	}
	return p, err
}
