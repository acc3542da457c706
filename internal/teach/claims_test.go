package teach_test

import (
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"

	"gradatim/internal/edition"
	"gradatim/internal/hand"
	"gradatim/internal/sharedtest"
	"gradatim/internal/sharedtest/ladders"
	"gradatim/internal/teach"
)

// asides are the messages that claim nothing of the notes of a page, with what they are.
var asides = []struct{ keys, what string }{
	{`^untitled$|\.name$|\.sign$|^hands\.|^count\.|^beats\.|^plan\.phrases?$|^change\.sheet$|^example\.|^talk\.examples?$|^chord\.(upper|of-upper)$`, "names, captions and counts"},
	{`^skill\.|^drill\.|^plan\.(rules|rhythm|apart|together|steadier|joined|tempo)\b|^caution\.(pain|stretch|repetition|volume)\.`, "instructions and cautions, for any page"},
	{`^sign\..*\.meaning$`, "what a sign means wherever it stands"},
	{`^why\.(then|rolled|tone)$|^talk\.hands$`, "joins what has been proved"},
	{`^talk\.hardest$`, "which of the places that the rating has found"},
}

var oneOfSeveral = regexp.MustCompile(`\.(one|other)$`)

// messages lists the messages of lessons, without their forms.
func messages(t *testing.T) []string {
	t.Helper()
	var all map[string]any
	if err := toml.Unmarshal(english.Source(), &all); err != nil {
		t.Fatal(err)
	}
	out := map[string]bool{}
	var walk func(prefix string, node any)
	walk = func(prefix string, node any) {
		if m, ok := node.(map[string]any); ok {
			for k, v := range m {
				walk(strings.TrimPrefix(prefix+"."+k, "."), v)
			}
			return
		}
		out[oneOfSeveral.ReplaceAllString(prefix, "")] = true
	}
	walk("", all["lesson"])
	return slices.Sorted(maps.Keys(out))
}

// TestEverySentenceIsProvedOrClaimsNothing: each message of a lesson has a proof, or is
// listed here with what it is. So the share of claims with a proof is 100 %; a message
// with a proof that is said without it panics, as does a claim without one.
func TestEverySentenceIsProvedOrClaimsNothing(t *testing.T) {
	proved := 0
	for _, key := range messages(t) {
		aside := ""
		for _, a := range asides {
			if regexp.MustCompile(a.keys).MatchString(key) {
				aside = a.what
			}
		}
		switch has := teach.Proved(key); {
		case has && aside != "":
			t.Errorf("%s has a proof and is said to be one of %s", key, aside)
		case !has && aside == "":
			t.Errorf("%s has no proof", key)
		case has:
			proved++
		}
	}
	if proved < 90 {
		t.Errorf("only %d messages have a proof", proved)
	}
}

// TestProofsOverSheets makes the lessons of shared sheets (their README names sources and
// licences) and counts by kind what the pages deny: nothing of it is printed. CI takes
// every 40th; all 160 with SOAK=1, whose counts docs/lesson.md has.
func TestProofsOverSheets(t *testing.T) {
	var paths []string
	for i, path := range sharedtest.Sheets(t) {
		if i%sharedtest.Every(80, 40) == 0 {
			paths = append(paths, path)
		}
	}
	all := map[string]teach.Tally{}
	for name, as := range ladders.Each(t, paths) {
		l, err := teach.Prepare(t.Context(), edition.Lesson(t.Context(), as, hand.Default()))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for k, c := range teach.Claims(l) {
			all[k] = teach.Tally{Said: all[k].Said + c.Said, Denied: all[k].Denied + c.Denied}
		}
	}
	said, denied := 0, 0
	for _, k := range slices.Sorted(maps.Keys(all)) {
		said, denied = said+all[k].Said, denied+all[k].Denied
		if all[k].Denied > 0 {
			t.Logf("%6d of %6d %s", all[k].Denied, all[k].Said, k)
		}
		if c := all[k]; c.Said > 20 && c.Denied == c.Said {
			t.Errorf("%s is denied each of %d times: what says it is wrong", k, c.Said)
		}
	}
	t.Logf("%d claims of %d kinds, %d denied and not printed", said, len(all), denied)
	if len(all) < 40 {
		t.Errorf("only %d kinds of claim were made", len(all))
	}
}
