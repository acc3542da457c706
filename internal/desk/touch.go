package desk

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/BurntSushi/toml"
)

// area is a stretch of bars of the sheet at a level that two files of choices say
// different things about.
type area struct {
	level       string
	first, last int
}

// entry is a table of a file of choices, as far as it says where it holds. What it fixes is
// for the façade.
type entry struct {
	Level any
	Bar   int
	Bars  int
	Notes string // of a lock: its bars stand in it
}

var lockedBar = regexp.MustCompile(`(?m)^\s*bar (\d+)`)

// areas are the bars for which a table holds.
func (e entry) areas() []area {
	level := strings.ToLower(toText(e.Level))
	if e.Notes == "" {
		return []area{{level, e.Bar, e.Bar + max(e.Bars, 1) - 1}}
	}
	var out []area
	for _, m := range lockedBar.FindAllStringSubmatch(e.Notes, -1) {
		n, _ := strconv.Atoi(m[1])
		out = append(out, area{level, n, n})
	}
	return out
}

func toText(v any) string {
	switch v := v.(type) {
	case int64:
		return strconv.FormatInt(v, 10)
	case string:
		return v
	}
	return ""
}

// touched are the places where two files of choices differ: where one has a table that the
// other has not. A file that is none touches everything.
func touched(before, after []byte) []area {
	a, ok := tables(before)
	b, ok2 := tables(after)
	if !ok || !ok2 {
		return []area{{"", 0, 1 << 30}}
	}
	var out []area
	for text, es := range a {
		if len(b[text]) != len(es) {
			out = append(out, es[0].areas()...)
		}
	}
	for text, es := range b {
		if len(a[text]) == 0 {
			out = append(out, es[0].areas()...)
		}
	}
	return out
}

// tables reads the tables of a file of choices, by all that they say.
func tables(data []byte) (map[string][]entry, bool) {
	var file struct {
		Choice, Lock []map[string]any
	}
	if err := toml.Unmarshal(data, &file); err != nil {
		return nil, false
	}
	out := map[string][]entry{}
	for kind, list := range map[string][]map[string]any{"choice": file.Choice, "lock": file.Lock} {
		for _, m := range list {
			var b strings.Builder
			b.WriteString(kind)
			for _, k := range sortedKeys(m) {
				b.WriteString("\x00" + k + "=" + toString(m[k]))
			}
			e := entry{Level: m["level"]}
			if n, ok := m["bar"].(int64); ok {
				e.Bar = int(n)
			}
			if n, ok := m["bars"].(int64); ok {
				e.Bars = int(n)
			}
			if s, ok := m["notes"].(string); ok {
				e.Notes = s
			}
			if _, ok := m["file"]; ok { // its bars stand elsewhere
				e.Bars = 1 << 30
			}
			out[b.String()] = append(out[b.String()], e)
		}
	}
	return out, true
}

func sortedKeys(m map[string]any) []string {
	var ks []string
	for k := range m {
		ks = append(ks, k)
	}
	slices.Sort(ks)
	return ks
}

func toString(v any) string {
	switch v := v.(type) {
	case string:
		return strconv.Quote(v)
	case int64:
		return strconv.FormatInt(v, 10)
	case float64:
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	return "?"
}

// meet tells whether any of some places is among others.
func meet(a, b []area) bool {
	for _, x := range a {
		for _, y := range b {
			if (x.level == y.level || x.level == "" || y.level == "") && x.first <= y.last && y.first <= x.last {
				return true
			}
		}
	}
	return false
}
