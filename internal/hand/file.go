package hand

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gradatim/internal/settings"
	"gradatim/leadsheet"
)

var form = settings.Form{Syntax: "hand-profile", Fix: "write one [name] table for each hand profile"}

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
		p, bad := readProfile(name, tables[name])
		for _, b := range bad {
			line, _ := settings.Place(data, name)
			problems.Add(leadsheet.Error, leadsheet.Pos{File: file, Line: line}, "hand-profile", b,
				`give span, or left and right, as "octave", "ninth", "tenth", "215mm" or "8.5in"`)
		}
		if len(bad) == 0 {
			profiles = append(profiles, p)
		}
	}
	return profiles, problems
}

func readProfile(name string, v any) (p Profile, bad []string) {
	table, ok := v.(map[string]any)
	if !ok {
		return p, []string{fmt.Sprintf("%q is not a table", name)}
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
			bad = append(bad, fmt.Sprintf("profile %q: unknown entry %q", name, k))
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
			bad = append(bad, fmt.Sprintf("profile %q: %s is neither text nor a number", name, k))
			continue
		}
		span, err := parseSpan(strings.ToLower(text))
		if err != nil {
			bad = append(bad, fmt.Sprintf("profile %q: %s", name, strings.TrimPrefix(err.Error(), "hand: ")))
			continue
		}
		*field = span
	}
	if both != 0 && (p.Left != 0 || p.Right != 0) {
		bad = append(bad, fmt.Sprintf("profile %q: span stands for both hands, so left and right cannot be given too", name))
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
		bad = append(bad, fmt.Sprintf("profile %q gives no span", name))
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
