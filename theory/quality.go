package theory

import (
	_ "embed"
	"strings"
	"sync"
)

// qualityTable lists the chord qualities by name: the suffix that the house
// prints, the degrees, and further suffixes that are read as the same. Order
// matters: common ones first; it breaks ties between suggestions.
//
//go:embed qualities.tsv
var qualityTable string

type quality struct {
	suffix  string
	tones   Degrees
	aliases []string
}

type qualities struct {
	list   []quality
	suffix map[Degrees]string // house suffix of a set of degrees
	word   map[string]Degrees // degrees of a house suffix or alias
}

// qualityBook reads the table once, on first use.
var qualityBook = sync.OnceValue(func() qualities {
	q, err := parseQualities(qualityTable)
	if err != "" {
		panic("theory: qualities.tsv: " + err) // embedded and tested
	}
	return q
})

// parseQualities reads lines "suffix TAB degrees TAB alias; alias". Lines that
// start with # are remarks. It returns what is wrong, or "".
func parseQualities(text string) (qualities, string) {
	q := qualities{suffix: map[Degrees]string{}, word: map[string]Degrees{}}
	for _, line := range strings.Split(text, "\n") {
		if line == "" || strings.HasPrefix(line, "# ") {
			continue
		}
		f := strings.Split(line, "\t")
		if len(f) != 3 {
			return q, "not three columns: " + line
		}
		tones, err := ParseDegrees(f[1])
		if err != nil {
			return q, err.Error()
		}
		row := quality{suffix: f[0], tones: tones}
		for _, a := range strings.Split(f[2], ";") {
			if a = strings.TrimSpace(a); a != "" {
				row.aliases = append(row.aliases, a)
			}
		}
		if had, ok := q.suffix[tones]; ok {
			return q, "two suffixes for " + f[1] + ": " + had + " and " + f[0]
		}
		q.suffix[tones] = row.suffix
		for _, w := range append([]string{row.suffix}, row.aliases...) {
			w = strings.ReplaceAll(w, " ", "")
			if _, ok := q.word[w]; ok {
				return q, "read twice: " + w
			}
			q.word[w] = tones
		}
		q.list = append(q.list, row)
	}
	return q, ""
}
