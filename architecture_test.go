package gradatim_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gradatim/internal/sharedtest"
	"gradatim/internal/technique"
)

// mayNot holds the bans on imports, direct or through others, each with its
// reason. A package that does not exist yet keeps its ban waiting.
var mayNot = []struct{ pkg, dep, why string }{
	{"gradatim/internal/audit", "gradatim/internal/arrange", "the referee must not share a mistake with the player"},
	{"gradatim/internal/audit", "gradatim/internal/technique", "the referee knows rules, not how notes were made"},
	{"gradatim/internal/audit", "gradatim/internal/ladder", "what a hand cannot do does not depend on a level"},
	{"gradatim/internal/audit", "gradatim/internal/harmony", "a wrong analysis must not excuse itself in the audit"},
	{"gradatim/internal/claim", "gradatim/internal/arrange", "a claim is tested by the notes, not by what was meant"},
	{"gradatim/internal/claim", "gradatim/internal/technique", "a technique must not vouch for itself"},
	{"gradatim/internal/claim", "gradatim/internal/words", "text is last: a reason that is denied is not worded"},
	{"gradatim/internal/ear", "gradatim/internal/arrange", "who listens does not know how a page was made"},
	{"gradatim/internal/ear", "gradatim/internal/technique", "who listens does not know how a page was made"},
	{"gradatim/internal/ear", "gradatim/internal/harmony", "a wrong analysis must not excuse a page"},
	{"gradatim/internal/grade", "gradatim/internal/arrange", "a rating holds for any score, not for ours alone"},

	{"gradatim/theory", "gradatim/leadsheet", "theory knows no songs"},
	{"gradatim/leadsheet", "gradatim/score", "a sheet knows no hands"},
	{"gradatim/leadsheet", "gradatim/internal/roadmap", "what a song is does not depend on how it was read"},
	{"gradatim/score", "gradatim/internal/arrange", "readers of a score must not link the search"},
	{"gradatim/score", "gradatim/internal/technique", "a score does not know how notes were chosen"},
	{"gradatim/internal/abc", "gradatim/internal/harmony", "a format knows bytes and songs, not harmony"},
	{"gradatim/internal/musicxml", "gradatim/internal/harmony", "a format knows bytes and songs, not harmony"},
	{"gradatim/internal/smf", "gradatim/internal/harmony", "a format knows bytes and songs, not harmony"},
	{"gradatim/internal/abc", "gradatim/internal/ladder", "a format knows no levels"},
	{"gradatim/internal/musicxml", "gradatim/internal/ladder", "a format knows no levels"},
	{"gradatim/internal/smf", "gradatim/internal/ladder", "a format knows no levels"},
	{"gradatim/internal/musicxml/markup", "gradatim/score", "markup is elements; what they mean is for its readers"},
	{"gradatim/internal/harmony", "gradatim/internal/hand", "harmony knows no piano"},
	{"gradatim/internal/harmony", "gradatim/internal/ladder", "harmony knows no levels"},
	{"gradatim/internal/hand", "gradatim/internal/ladder", "a hand knows no levels"},
	{"gradatim/internal/sight", "gradatim/internal/technique", "what is seen on a page is named elsewhere"},
	{"gradatim/internal/technique", "gradatim/internal/arrange", "a technique acts on its stage and does not know the search"},
	{"gradatim/internal/technique", "gradatim/internal/musicxml", "a technique knows no file formats"},
	{"gradatim/internal/ladder", "gradatim/internal/arrange", "a plan is made before the search"},
	{"gradatim/internal/plan", "gradatim/internal/arrange", "a page is planned before its notes are chosen"},
	{"gradatim/internal/choice", "gradatim/internal/arrange", "what a teacher fixes is said before notes are chosen"},
	{"gradatim/internal/idiom", "gradatim/internal/arrange", "a kind of tune is known before the search"},
	{"gradatim/internal/idiom", "gradatim/internal/abc", "a kind of tune does not depend on the format of its sheet"},
	{"gradatim/internal/arrange", "gradatim/internal/musicxml", "the search reads songs, not files"},
	{"gradatim/internal/arrange", "gradatim/internal/abc", "the search reads songs, not files"},
	{"gradatim/internal/arrange", "gradatim/internal/teach", "notes are chosen without words"},
	{"gradatim/internal/teach", "gradatim/internal/engrave", "words know no layout"},
	{"gradatim/internal/edition", "gradatim/internal/musicxml", "pages are made of songs, not of files"},
	{"gradatim/internal/edition", "gradatim/internal/account", "a page is explained when it stands"},
	{"gradatim/internal/pack", "gradatim/internal/edition", "a pack joins what others have made"},
	{"gradatim/internal/perform", "gradatim/internal/arrange", "playing never asks how a note was made"},
	{"gradatim/internal/perform", "gradatim/internal/sound", "a performance knows no audio"},
	{"gradatim/internal/sound", "gradatim/score", "sound knows events, not scores"},
	{"gradatim/internal/engrave", "gradatim/internal/arrange", "printing never asks how a note was made"},
	{"gradatim/reason", "gradatim/leadsheet", "a reason knows music, not songs"},
	{"gradatim/score", "gradatim/internal/words", "text is last: a score holds reasons"},
	{"gradatim/internal/proof", "gradatim/internal/words", "text is last: a suspicion is a value"},
	{"gradatim/internal/proof", "gradatim/internal/abc", "a sheet's errors do not depend on its format"},
	{"gradatim/internal/proof", "gradatim/internal/arrange", "a sheet is proof-read before anything is made of it"},
	{"gradatim/internal/harmony", "gradatim/internal/words", "text is last: an analysis holds reasons"},
	{"gradatim/internal/technique", "gradatim/internal/words", "text is last: a technique gives reasons"},
	{"gradatim/internal/arrange", "gradatim/internal/words", "text is last: the search gives reasons"},
	{"gradatim/internal/words", "gradatim/internal/harmony", "words find no facts"},
	{"gradatim/internal/words", "gradatim/internal/technique", "words find no facts"},
	{"gradatim/internal/shelf", "gradatim/internal/arrange", "the catalogue's rows hold bytes"},
	{"gradatim/internal/shelf", "gradatim/internal/abc", "the catalogue's rows hold bytes, and facts that others found"},
	{"gradatim/internal/shelf", "gradatim/internal/words", "text is last: the catalogue tells Problems"},
	{"gradatim/internal/press", "gradatim/internal/arrange", "who queues work does not know music"},
	{"gradatim/internal/press", "gradatim/internal/words", "text is last: a worker is given its words"},
}

// commandMay lists what of the house the command sees beside the façade and the public
// values, each with its reason. What it needs else the façade has to offer, so that any
// other program can do what the command does.
var commandMay = []struct{ dep, why string }{
	{"gradatim/internal/words", "its lists and notes are sentences of the program, in the reader's language"},
	{"gradatim/internal/machine", "how it was started and where the user's documents are is the shell's affair"},
	{"gradatim/internal/desk", "it opens the desk, which stands on the façade as the command does"},
}

// deskMay lists what of the house the desk sees beside the façade and the public values: it
// asks the façade and the shelf, and knows neither the search nor the database.
var deskMay = set("gradatim gradatim/internal/words gradatim/assets gradatim/leadsheet gradatim/score gradatim/theory gradatim/reason")

// pure are the packages of the core: values in, values out.
var pure = []string{
	"gradatim/theory", "gradatim/leadsheet", "gradatim/reason", "gradatim/score",
	"gradatim/internal/roadmap", "gradatim/internal/abc", "gradatim/internal/smf",
	"gradatim/internal/harmony", "gradatim/internal/proof", "gradatim/internal/hand", "gradatim/internal/sight", "gradatim/internal/technique",
	"gradatim/internal/ladder", "gradatim/internal/idiom", "gradatim/internal/plan", "gradatim/internal/arrange", "gradatim/internal/audit", "gradatim/internal/ear",
	"gradatim/internal/grade", "gradatim/internal/incipit", "gradatim/internal/perform",
}

// impure are what the core must not reach, directly or through libraries.
var impure = []struct{ dep, why string }{
	{"net/http", "the core is pure: it talks to nobody"},
	{"net", "the core is pure: it talks to nobody"},
	{"database/sql", "the core is pure: it stores nothing"},
}

// shell are what the core must not import itself; libraries below may have
// reasons of their own.
var shell = []struct{ dep, why string }{
	{"time", "the core has no clock"},
	{"os", "bytes are handed to the core"},
	{"flag", "flags exist only in the command"},
	{"log/slog", "only the shell logs"},
	{"log", "only the shell logs"},
	{"math/rand", "same input, same bytes"},
	{"math/rand/v2", "same input, same bytes"},
}

// deps returns what each package of the module reaches, itself excluded.
func deps(t *testing.T) (reach map[string]map[string]bool, direct map[string]map[string]bool) {
	t.Helper()
	cmd := exec.Command(sharedtest.Tool(t, "go"), "list", "-e", "-f", "{{.ImportPath}}|{{join .Deps \" \"}}|{{join .Imports \" \"}}", "gradatim/...")
	cmd.Dir = sharedtest.Root()
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	reach, direct = map[string]map[string]bool{}, map[string]map[string]bool{}
	for _, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
		f := strings.Split(line, "|")
		if len(f) != 3 {
			t.Fatalf("go list wrote %q", line)
		}
		reach[f[0]], direct[f[0]] = set(f[1]), set(f[2])
	}
	if len(reach) < 4 {
		t.Fatalf("go list found only %d packages", len(reach))
	}
	return reach, direct
}

func set(s string) map[string]bool {
	m := map[string]bool{}
	for _, f := range strings.Fields(s) {
		m[f] = true
	}
	return m
}

func TestImports(t *testing.T) {
	reach, direct := deps(t)
	for _, ban := range mayNot {
		if reach[ban.pkg][ban.dep] {
			t.Errorf("%s must not import %s: %s", ban.pkg, ban.dep, ban.why)
		}
	}
	for _, pkg := range pure {
		for _, ban := range impure {
			if reach[pkg][ban.dep] {
				t.Errorf("%s must not import %s: %s", pkg, ban.dep, ban.why)
			}
		}
		for _, ban := range shell {
			if direct[pkg][ban.dep] {
				t.Errorf("%s must not import %s: %s", pkg, ban.dep, ban.why)
			}
		}
	}
	for _, may := range commandMay {
		if !direct["gradatim/cmd/gradatim"][may.dep] {
			t.Errorf("the command does not import %s any more: take it off the list", may.dep)
		}
	}
	for pkg, deps := range direct {
		for dep := range deps {
			if pkg == "gradatim/cmd/gradatim" && strings.HasPrefix(dep, "gradatim/internal/") &&
				!slices.ContainsFunc(commandMay, func(m struct{ dep, why string }) bool { return m.dep == dep }) {
				t.Errorf("%s must not import %s: what the command does any program can, through the façade", pkg, dep)
			}
			if pkg == "gradatim/internal/desk" && (strings.HasPrefix(dep, "gradatim") && !deskMay[dep] || dep == "database/sql") {
				t.Errorf("%s must not import %s: the desk asks the façade", pkg, dep)
			}
			if strings.HasPrefix(dep, "gradatim/cmd") {
				t.Errorf("%s must not import %s: a command is the end of the line", pkg, dep)
			}
			above := pkg == "gradatim/internal/desk" || pkg == "gradatim/internal/sharedtest/ladders" // the second is of tests alone
			if dep == "gradatim" && !strings.HasPrefix(pkg, "gradatim/cmd/") && !above {
				t.Errorf("%s must not import %s: the façade stands above all rooms", pkg, dep)
			}
		}
	}
}

// TestTechniquesAreNotNamed holds that nobody treats a technique by its name: what is
// special to one is a property of its row. A package that sees the techniques writes
// no id of one, and none of the others one that could be nothing else.
func TestTechniquesAreNotNamed(t *testing.T) {
	words := map[string]string{ // ids that are words of another thing as well
		"internal/choice/tone.go": "mordent turn tremolo",
		"internal/claim/fact.go":  "related-ii",
		"internal/ladder/file.go": "guide-tones",
		"reason/figure.go":        "half-step-above",
	}
	seen := 0
	err := filepath.WalkDir(sharedtest.Root(), func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, _ := filepath.Rel(sharedtest.Root(), path)
		if d.IsDir() {
			if rel == "internal/technique" || rel == "node_modules" || d.Name() == "testdata" {
				return filepath.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		if err != nil {
			return err
		}
		seen++
		knows := slices.ContainsFunc(file.Imports, func(s *ast.ImportSpec) bool { return s.Path.Value == `"gradatim/internal/technique"` })
		ast.Inspect(file, func(n ast.Node) bool {
			lit, ok := n.(*ast.BasicLit)
			if !ok || lit.Kind != token.STRING {
				return true
			}
			id, _ := strconv.Unquote(lit.Value)
			if _, is := technique.ByID(id); is && (knows || strings.Contains(id, "-")) && !set(words[filepath.ToSlash(rel)])[id] {
				t.Errorf("%s names the technique %q: make what is special to it a property of its row", rel, id)
			}
			return true
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if seen < 100 {
		t.Errorf("only %d files read", seen)
	}
}

// The bans are worth something only while their names are names: each package of
// the module that is banned from somewhere, or bound, either exists or is one of
// the rooms still to be built.
func TestImportBansNameRooms(t *testing.T) {
	reach, _ := deps(t)
	rooms := set("theory leadsheet score abc musicxml smf harmony technique ladder idiom hand arrange audit grade edition account teach perform sound studio engrave pack shelf desk sight roadmap reason words incipit press")
	check := func(pkg string) {
		if !strings.HasPrefix(pkg, "gradatim/") || reach[pkg] != nil {
			return
		}
		if !rooms[strings.TrimPrefix(strings.TrimPrefix(pkg, "gradatim/"), "internal/")] {
			t.Errorf("%s is not a room of the house", pkg)
		}
	}
	for _, ban := range mayNot {
		check(ban.pkg)
		check(ban.dep)
	}
	for _, pkg := range pure {
		check(pkg)
	}
}
