package teach_test

import (
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"context"

	"github.com/BurntSushi/toml"

	"gradatim"
	"gradatim/internal/edition"
	"gradatim/internal/hand"
	"gradatim/internal/sharedtest"
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
	err := filepath.WalkDir(sharedtest.Path(t, "data/leadsheets"), func(p string, d fs.DirEntry, err error) error {
		if ext := filepath.Ext(p); err == nil && !d.IsDir() && (ext == ".abc" || ext == ".mxl" || ext == ".xml" || ext == ".musicxml") {
			paths = append(paths, p)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(paths)
	var mu sync.Mutex
	all := map[string]teach.Tally{}
	next := make(chan string)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for path := range next {
				data, err := os.ReadFile(path)
				if err != nil {
					t.Error(err)
					continue
				}
				song, err := gradatim.Read(filepath.Base(path), data, 0)
				if err != nil {
					t.Error(err)
					continue
				}
				as, err := edition.Make(context.Background(), song, edition.Options{})
				if err != nil {
					t.Error(err)
					continue
				}
				l, err := teach.Prepare(context.Background(), edition.Lesson(context.Background(), as, hand.Default()))
				if err != nil {
					t.Error(err)
					continue
				}
				mu.Lock()
				for k, c := range teach.Claims(l) {
					all[k] = teach.Tally{Said: all[k].Said + c.Said, Denied: all[k].Denied + c.Denied}
				}
				mu.Unlock()
			}
		})
	}
	for i := 0; i < len(paths); i += sharedtest.Every(80, 40) {
		next <- paths[i]
	}
	close(next)
	wg.Wait()
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
