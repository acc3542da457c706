package pack_test

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"html"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gradatim"
	"gradatim/internal/edition"
	"gradatim/internal/pack"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// private is the mark of a tune whose rights are not stated.
const private = "Private practice only; rights not stated"

// tree reads all files of a folder.
func tree(t testing.TB, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := os.ReadFile(p)
		rel, _ := filepath.Rel(dir, p)
		out[filepath.ToSlash(rel)] = string(b)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// The pages of a level have all that its lesson teaches, with an example and without.
func TestPageTeachesAll(t *testing.T) {
	data, err := os.ReadFile(filepath.Join(sharedtest.Root(), "examples", "ferry.abc"))
	if err != nil {
		t.Fatal(err)
	}
	in := inputOf(t, read(t, string(data)), "3,5") // at level 3 there is something that no place shows by itself
	dir := filepath.Join(t.TempDir(), "lesson")
	build(t, dir, in, pack.Options{})
	files, also, things := tree(t, dir), 0, 0
	for _, l := range in.Editions[0].Lesson.Levels {
		page := ""
		for _, kind := range []string{"learn", "chords", "drills", "practice"} {
			text := files[fmt.Sprintf("level-%d-%s.html", l.Number, kind)]
			page += html.UnescapeString(regexp.MustCompile(`</?a( [^>]*)?>`).ReplaceAllString(text, "")) // terms lead to the glossary
		}
		var wants []string
		for _, it := range l.Bring {
			wants = append(wants, it.Name, it.Text)
		}
		for _, n := range l.New {
			wants = append(wants, n.Name, n.What, n.How, n.Example.Why)
		}
		for _, a := range l.Also {
			wants = append(wants, a.Name, a.What, a.How)
		}
		for _, c := range l.Chords {
			wants = append(wants, c.Symbol)
		}
		for _, d := range l.Drills {
			wants = append(wants, d.Name, d.Words)
		}
		for _, c := range l.Cautions {
			wants = append(wants, c.Text)
		}
		things += len(wants)
		also += len(l.Also)
		for _, w := range wants {
			if !strings.Contains(page, w) {
				t.Errorf("level %d: the page lacks %q", l.Number, w)
			}
		}
	}
	if things < 120 {
		t.Errorf("only %d things to look for", things)
	}
	if also == 0 {
		t.Error("nothing is taught without an example")
	}
}

func TestMake(t *testing.T) {
	dir, in := sounding(t)
	m, err := pack.ReadManifest(t.Context(), folder(t, dir))
	if err != nil {
		t.Fatal(err)
	}
	var paths []string
	for _, f := range m.Files {
		paths = append(paths, f.Path)
		if f.Bytes == 0 || len(f.SHA256) != 64 || len(f.Inputs) != 64 || f.Part == "" {
			t.Errorf("manifest: %+v", f)
		}
	}
	for _, want := range []string{"index.html", "glossary.html", "level-1.html", "level-3.html", "static/lesson.css", "static/lesson.js",
		"print/level-1.pdf", "scores/level-3.musicxml", "scores/level-3.json", "sound/level-1.mid",
		"sound/level-1.full.mp3", "sound/level-1.left.mp3", "sound/level-3.right.mp3"} {
		if !slices.Contains(paths, want) {
			t.Errorf("no %s among %v", want, paths)
		}
	}
	// At level 1 the right hand has the tune alone: what else sounds is the left hand, and one file is both.
	play, err := os.ReadFile(filepath.Join(dir, "level-1.html"))
	if err != nil || slices.Contains(paths, "sound/level-1.without-tune.mp3") || !regexp.MustCompile(`"without-tune",[^{}]*"sound/level-1\.left\.mp3"`).Match(play) {
		t.Errorf("all but the tune of level 1: %v, of %v", err, paths)
	}
	if slices.Contains(paths, "sound/level-1.60.mp3") {
		t.Error("some sound is not all")
	}
	if wrong, err := pack.Verify(t.Context(), folder(t, dir)); err != nil || len(wrong) > 0 {
		t.Errorf("the pack differs from its manifest: %v %v", wrong, err)
	}
	// Every page is marked: the sheet states no rights.
	for name, text := range tree(t, dir) {
		if strings.HasSuffix(name, ".html") && !strings.Contains(text, private) {
			t.Errorf("%s is not marked", name)
		}
	}
	_ = in
}

func TestStatedRightsAreNotMarked(t *testing.T) {
	song := read(t, ferryLamp)
	song.Rights.Status = leadsheet.Own
	song.Rights.Text = "© the tests"
	dir := filepath.Join(t.TempDir(), "lesson")
	build(t, dir, inputOf(t, song, "1"), pack.Options{})
	for name, text := range tree(t, dir) {
		if strings.HasSuffix(name, ".html") && (strings.Contains(text, private) || !strings.Contains(text, "© the tests")) {
			t.Errorf("%s is marked, or lacks the rights line", name)
		}
	}
}

// TestSameBytes makes a pack twice, in two places.
func TestSameBytes(t *testing.T) {
	flat, err := theory.ParseKey("Bb")
	if err != nil {
		t.Fatal(err)
	}
	in := inputOf(t, read(t, ferryLamp), "2", edition.Options{}, edition.Options{Key: flat})
	var trees [2]map[string]string
	var zips [2][]byte
	for i := range trees {
		dir := filepath.Join(t.TempDir(), "lesson")
		build(t, dir, in, pack.Options{})
		trees[i] = tree(t, dir)
		z, err := pack.NewZip(dir + ".zip")
		if err == nil {
			err = pack.Copy(t.Context(), z, folder(t, dir))
		}
		if err != nil {
			t.Fatal(err)
		}
		b, err := os.ReadFile(dir + ".zip")
		if err != nil {
			t.Fatal(err)
		}
		zips[i] = b
	}
	for name := range trees[0] {
		if trees[0][name] != trees[1][name] {
			t.Errorf("%s differs", name)
		}
	}
	if len(trees[0]) != len(trees[1]) || !bytes.Equal(zips[0], zips[1]) {
		t.Error("the packs differ")
	}
	if _, ok := trees[0]["level-2-in-b-flat-major.html"]; !ok {
		t.Error("no page in the second key")
	}
	z, err := zip.NewReader(bytes.NewReader(zips[0]), int64(len(zips[0])))
	if err != nil {
		t.Fatal(err)
	}
	if len(z.File) != len(trees[0]) {
		t.Errorf("%d files in the zip, %d in the folder", len(z.File), len(trees[0]))
	}
	for _, f := range z.File {
		if !strings.HasPrefix(f.Name, "lesson/") || f.Modified.Year() != 1980 {
			t.Errorf("zip entry %s of %s", f.Name, f.Modified)
		}
	}
}

// TestOnlyWhatChanged makes a pack again: nothing, then with one level more,
// then after somebody has spoilt a file.
func TestOnlyWhatChanged(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "lesson")
	song := read(t, ferryLamp)
	one := inputOf(t, song, "1")
	first := build(t, dir, one, pack.Options{})
	before := tree(t, dir)
	again := build(t, dir, one, pack.Options{})
	if again.Made != 0 || again.Reused != first.Made {
		t.Errorf("made %d and kept %d of %d parts though nothing had changed", again.Made, again.Reused, first.Made)
	}
	if after := tree(t, dir); fmt.Sprint(after) != fmt.Sprint(before) {
		t.Error("nothing had changed, but the bytes have")
	}
	if err := os.WriteFile(filepath.Join(dir, "level-1.html"), []byte("spoilt"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "my notes.txt"), []byte("mine"), 0o644); err != nil {
		t.Fatal(err)
	}
	mended := build(t, dir, one, pack.Options{})
	if mended.Made != 1 {
		t.Errorf("%d parts were made after one file was spoilt", mended.Made)
	}
	after := tree(t, dir)
	if after["level-1.html"] != before["level-1.html"] || after["my notes.txt"] != "mine" || after["level-1.kept.html"] != "spoilt" ||
		!slices.Equal(mended.Kept, []string{"my notes.txt", "level-1.kept.html"}) {
		t.Errorf("the file that was changed was not made again, or what was the teacher's own is gone (kept %v)", mended.Kept)
	}
	// Fewer levels: what is of no use any more goes.
	two := inputOf(t, song, "1-2")
	build(t, dir, two, pack.Options{})
	build(t, dir, one, pack.Options{})
	if _, ok := tree(t, dir)["level-2.html"]; ok {
		t.Error("the page of a level that is not asked for is still there")
	}
	if wrong, err := pack.Verify(t.Context(), folder(t, dir)); err != nil || !slices.Equal(wrong, []pack.Fault{{Path: "level-1.kept.html", Is: "not listed"}, {Path: "my notes.txt", Is: "not listed"}}) {
		t.Errorf("verify: %v, %v", wrong, err)
	}
}

// TestForeignFolder must not touch what is not ours.
func TestForeignFolder(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "thesis.txt"), []byte("years of work"), 0o644); err != nil {
		t.Fatal(err)
	}
	_, err := pack.Make(context.Background(), folder(t, dir), inputOf(t, read(t, ferryLamp), "1"), pack.Options{Audio: pack.NoAudio}, tools(t, false))
	var ps leadsheet.Problems
	if !errors.As(err, &ps) || ps[0].Code != "folder-foreign" {
		t.Errorf("got %v", err)
	}
	if len(tree(t, dir)) != 1 {
		t.Error("the folder was touched")
	}
}

// TestCancel stops after each of the first parts: nothing is left, and what was
// there stays.
func TestCancel(t *testing.T) {
	in := inputOf(t, read(t, ferryLamp), "1-2")
	parent := t.TempDir()
	dir := filepath.Join(parent, "lesson")
	for _, stopAt := range []int{0, 1, 4, 9} {
		ctx, stop := context.WithCancel(context.Background())
		if stopAt == 0 {
			stop()
		}
		o := pack.Options{Audio: pack.NoAudio, Progress: func(p pack.Progress) {
			if p.Done >= stopAt {
				stop()
			}
		}}
		_, err := pack.Make(ctx, folder(t, dir), in, o, tools(t, false))
		stop()
		if !errors.Is(err, context.Canceled) {
			t.Errorf("stopped at %d: %v", stopAt, err)
		}
		if left, _ := os.ReadDir(parent); len(left) > 0 {
			t.Errorf("stopped at %d: %v is left", stopAt, left)
		}
	}
	build(t, dir, in, pack.Options{})
	before := tree(t, dir)
	ctx, stop := context.WithCancel(context.Background())
	in.Program = "another"
	_, err := pack.Make(ctx, folder(t, dir), in, pack.Options{Audio: pack.NoAudio, Progress: func(pack.Progress) { stop() }}, tools(t, false))
	if err == nil {
		t.Error("not stopped")
	}
	if after := tree(t, dir); fmt.Sprint(after) != fmt.Sprint(before) {
		t.Error("the pack that was there has changed")
	}
	if left, _ := os.ReadDir(parent); len(left) != 1 {
		t.Errorf("left: %v", left)
	}
}

func TestProgress(t *testing.T) {
	in := inputOf(t, read(t, ferryLamp), "1")
	ended := map[string]int{}
	last := pack.Progress{}
	build(t, filepath.Join(t.TempDir(), "lesson"), in, pack.Options{Progress: func(p pack.Progress) {
		if p.Share == 1 {
			ended[p.Part]++
		}
		if p.Done < last.Done || p.Share < 0 || p.Share > 1 {
			t.Errorf("progress went from %+v to %+v", last, p)
		}
		last = p
	}})
	if last.Done != last.Parts || len(ended) != last.Parts {
		t.Errorf("in the end %+v; ended %v", last, ended)
	}
	for name, n := range ended {
		if n != 1 {
			t.Errorf("%s ended %d times", name, n)
		}
	}
}

// TestUnusualTunes packs tunes at the edges; the longest has 400 bars, in CI 100.
func TestUnusualTunes(t *testing.T) {
	bars := func(n int, bar string) string { return strings.Repeat(bar, n) }
	long := "Песня о маяке, который стоял на девятой ступени и светил каждому, кто поднимался по лестнице ночью, когда ветер гасил все остальные огни на берегу, а корабли искали дорогу домой сквозь туман и дождь до утра"
	tunes := []struct {
		name, abc string
		levels    string
	}{
		{"four bars", "X:1\nT:Short\nM:4/4\nL:1/4\nK:C\n\"C\"CEGE|\"F\"FAcA|\"G7\"GBdB|\"C\"c4|]\n", "1"},
		{"without chords", "X:1\nT:Bare\nM:3/4\nL:1/4\nK:G\nGBd|dBG|ABc|AFD|GBd|dBG|AFD|G3|]\n", "1"},
		{"one chord", "X:1\nT:Drone\nM:4/4\nL:1/4\nK:D\n\"D\"DFAF|DFAF|ABAF|D4|]\n", "1"},
		{"no title", "X:1\nM:4/4\nL:1/4\nK:C\n\"C\"CEGE|\"F\"FAcA|\"G7\"GBdB|\"C\"c4|]\n", "1"},
		{"long title in another script", "X:1\nT:" + long + "\nM:4/4\nL:1/4\nK:C\n\"C\"CEGE|\"F\"FAcA|\"G7\"GBdB|\"C\"c4|]\n", "1"},
		{"markup in the title", "X:1\nT:<script>alert(1)</script> & \"friends\"\nC:<b>me</b>\nM:4/4\nL:1/4\nK:C\n\"C\"CEGE|\"F\"FAcA|\"G7\"GBdB|\"C\"c4|]\n", "1"},
		{"C flat major", "X:1\nT:Seven Flats\nM:4/4\nL:1/4\nK:Cb\n\"Cb\"CEGE|\"Fb\"FAcA|\"Gb7\"GBdB|\"Cb\"c4|]\n", "1-2"},
		{"long", "X:1\nT:Long\nM:4/4\nL:1/4\nK:C\n" + bars(100/sharedtest.Every(4, 4), "\"C\"CEGE|\"F\"FAcA|\"G7\"GBdB|\"C\"c4|\n") + "]\n", "1"},
	}
	for _, tune := range tunes {
		t.Run(tune.name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "lesson")
			r := build(t, dir, inputOf(t, read(t, tune.abc), tune.levels), pack.Options{})
			if len(r.Manifest.Files) < 9 {
				t.Errorf("only %d files", len(r.Manifest.Files))
			}
			files := tree(t, dir)
			for name, text := range files {
				if strings.HasSuffix(name, ".html") && (strings.Contains(text, "<script>alert") || strings.Contains(text, "<b>me")) {
					t.Errorf("%s: markup of the sheet gets through", name)
				}
			}
			page := files["level-1.html"]
			if !strings.Contains(files["level-1-drills.html"], `class="music"`) {
				t.Error("no picture of a drill")
			}
			if n := strings.Count(page, `class="music"`); n < 2 {
				t.Errorf("%d pictures of music", n)
			}
			switch tune.name {
			case "no title":
				if !strings.Contains(page, "Untitled tune") {
					t.Error("an untitled tune is not called so")
				}
			case "long title in another script":
				if !strings.Contains(page, long) {
					t.Error("the title is not whole")
				}
			}
		})
	}
}

// TestFive: a metre of uneven groups is packed as any other.
func TestFive(t *testing.T) {
	song, err := gradatim.Read("five.abc", []byte("X:1\nT:Five\nM:5/4\nL:1/4\nK:C\n\"C\"CEGEC|\"F\"FAcAF|\"G7\"GBdBG|\"C\"c5|]\n"), 0)
	if err == nil {
		_, err = tryInput(song, "1")
	}
	if err != nil {
		t.Errorf("5/4 gives %v", err)
	}
}

// What was made of the same job by the same program is taken over without looking at what it
// is made of; anything else is not, and leaves the store as it was.
func TestSameJob(t *testing.T) {
	job := strings.Repeat("0123456789abcdef", 4)
	in := inputOf(t, read(t, ferryLamp), "1")
	in.Job = job
	dir := filepath.Join(t.TempDir(), "lesson")
	first := build(t, dir, in, pack.Options{})
	if err := os.WriteFile(filepath.Join(dir, "hers.txt"), []byte("hers"), 0o644); err != nil {
		t.Fatal(err)
	}
	before := tree(t, dir)
	again := func(job, program string) (pack.Report, bool) {
		t.Helper()
		r, ok, err := pack.Again(t.Context(), folder(t, dir), job, program)
		if err != nil {
			t.Fatal(err)
		}
		return r, ok
	}
	r, ok := again(job, in.Program)
	if !ok || r.Made != 0 || r.Reused != first.Made || len(r.Manifest.Files) != len(first.Manifest.Files) || !slices.Equal(r.Kept, []string{"hers.txt"}) {
		t.Errorf("the same: %t, made %d, reused %d of %d, kept %v", ok, r.Made, r.Reused, first.Made, r.Kept)
	}
	for name, ask := range map[string][2]string{"another job": {job[1:] + "0", in.Program}, "another program": {job, in.Program + "x"}, "no job": {"", in.Program}} {
		if _, ok := again(ask[0], ask[1]); ok {
			t.Errorf("%s is taken for the same", name)
		}
	}
	if after := tree(t, dir); !maps.Equal(before, after) {
		t.Error("the lesson is another one")
	}
	if err := os.WriteFile(filepath.Join(dir, "index.html"), []byte("hers"), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, ok := again(job, in.Program); ok {
		t.Error("a file that was changed is taken for ours")
	}
	// Where a level was refused that has to be told again.
	in.Editions[0].Refused = []pack.Refusal{{}}
	if build(t, dir, in, pack.Options{}).Manifest.Job != "" {
		t.Error("a lesson that lacks a level is taken over unsaid")
	}
}
