package desk

import (
	"html/template"
	"io/fs"
	"net/http/httptest"
	"path"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"gradatim/internal/sharedtest"
	"gradatim/internal/words"

	"os"
	"path/filepath"
)

// views are all pages; each template has one here.
func views() map[string]view {
	return map[string]view{
		"enter": &enterView{}, "tunes": &tunesView{}, "keys": &keysView{}, "sheet": &sheetView{}, "trouble": &troubleView{},
		"rights": &rightsView{}, "listen": &listenView{}, "history": &historyView{}, "compare": &compareView{}, "lesson": &lessonView{},
		"ended": &endedView{}, "plan": &planView{}, "whole": &wholeView{}, "bar": &barView{}, "why": &whyView{}, "other": &otherView{}, "preview": &previewView{},
	}
}

// hostile is what a title, a lyric or a name of a file may say.
const hostile = `"'></textarea></script><script>alert(1)</script><img src=x onerror=alert(2)>javascript:alert(3)`

// fill puts what is hostile into every text of a view, and something into every list.
func fill(t *testing.T, v reflect.Value, depth int) {
	switch v.Kind() {
	case reflect.String:
		if v.Type() != reflect.TypeFor[string]() {
			switch v.Type() {
			case reflect.TypeFor[template.HTML](), reflect.TypeFor[template.JS](), reflect.TypeFor[template.URL](), reflect.TypeFor[template.CSS](), reflect.TypeFor[template.HTMLAttr]():
				t.Errorf("%s passes what it is given unread", v.Type())
			}
		}
		v.SetString(hostile)
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int, reflect.Int64:
		v.SetInt(3)
	case reflect.Float64:
		v.SetFloat(.5)
	case reflect.Pointer:
		if depth < 8 {
			v.Set(reflect.New(v.Type().Elem()))
			fill(t, v.Elem(), depth+1)
		}
	case reflect.Slice:
		if depth < 8 {
			v.Set(reflect.MakeSlice(v.Type(), 2, 2))
			for i := range 2 {
				fill(t, v.Index(i), depth+1)
			}
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Field(i).CanSet() {
				fill(t, v.Field(i), depth+1)
			}
		}
	}
}

// Nothing that came with a tune can run: every view is rendered with hostile texts
// throughout, and none comes out as markup.
func TestHostile(t *testing.T) {
	d := newDesk(t, newShelf(t), Config{})
	all := views()
	for name := range d.pages.by {
		if all[name] == nil {
			t.Errorf("no view %s", name)
		}
	}
	for name, v := range all {
		rv := reflect.ValueOf(v).Elem()
		for i := range rv.NumField() {
			f := rv.Field(i)
			if rv.Type().Field(i).Name == "frame" {
				*v.base() = frame{Title: hostile, Told: hostile, Wrong: hostile, Tune: &tuneHead{ID: hostile, Title: hostile, Undo: hostile, Redo: hostile, Places: []place{{hostile, hostile, true}}}}
				continue
			}
			fill(t, f, 0)
		}
		w := httptest.NewRecorder()
		if err := d.render(w, httptest.NewRequest("GET", "/", nil), 200, name, v); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		out := w.Body.String()
		for _, bad := range []string{"<script>alert", "<img src=x", "</textarea></script>", `href="javascript:`} {
			if strings.Contains(out, bad) {
				t.Errorf("%s lets %q through", name, bad)
			}
		}
		if !strings.Contains(out, "&lt;script&gt;alert(1)") {
			t.Errorf("%s shows nothing of what it was given", name)
		}
		// The policy of the desk would block them; so they may not be there.
		tags := regexp.MustCompile(`"[^"]*"`).ReplaceAllString(out, `""`)
		if m := regexp.MustCompile(`(?i)<[a-z][^>]*\s(?:on[a-z]+|style)=`).FindString(tags); m != "" {
			t.Errorf("%s has %q", name, m)
		}
		if strings.Contains(out, "‹") {
			t.Errorf("%s: no message for %s", name, out[strings.Index(out, "‹"):][:60])
		}
	}
}

// What the layout shows of a page is the frame's: a field of a view that is called the same
// would stand in its place.
func TestFrameStands(t *testing.T) {
	of := reflect.TypeFor[frame]()
	for name, v := range views() {
		vt := reflect.TypeOf(v).Elem()
		for i := range vt.NumField() {
			if f := vt.Field(i); f.Name != "frame" {
				if _, hides := of.FieldByName(f.Name); hides {
					t.Errorf("%s hides the frame's %s", name, f.Name)
				}
			}
		}
	}
}

// Each file that is embedded is asked for by another, so that none is left over.
func TestNoOrphans(t *testing.T) {
	var all strings.Builder
	read := func(files fs.FS, root string) (names []string) {
		fs.WalkDir(files, root, func(p string, e fs.DirEntry, err error) error {
			if err == nil && !e.IsDir() {
				b, _ := fs.ReadFile(files, p)
				all.Write(b)
				names = append(names, path.Base(p))
			}
			return nil
		})
		return names
	}
	names := read(staticFiles, "static")
	read(tmplFiles, "tmpl")
	if len(names) < 5 {
		t.Fatal(names)
	}
	for _, n := range names {
		if !strings.Contains(all.String(), n+`"`) {
			t.Errorf("nobody asks for %s", n)
		}
	}
}

// Every message of the desk is said somewhere, and none is said that is not there.
func TestMessages(t *testing.T) {
	var src strings.Builder
	files, _ := filepath.Glob(filepath.Join(sharedtest.Root(), "internal", "desk", "*.go"))
	tmpl, _ := filepath.Glob(filepath.Join(sharedtest.Root(), "internal", "desk", "tmpl", "*.html"))
	for _, f := range append(files, tmpl...) {
		if strings.HasSuffix(f, "_test.go") {
			continue
		}
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		src.Write(b)
	}
	text := src.String()
	w := words.Must(words.Default)
	said := map[string]bool{}
	var begun []string
	for _, m := range regexp.MustCompile(`\bsay(?:\(| )"([a-z0-9.-]+)"( ?\+)?`).FindAllStringSubmatch(text, -1) {
		if m[2] != "" || strings.HasSuffix(m[1], ".") || strings.HasSuffix(m[1], "-") {
			begun = append(begun, m[1])
			continue
		}
		said[m[1]] = true
		if !w.Has("desk."+m[1]) && !w.Has("desk."+m[1]+".other") {
			t.Errorf("no message desk.%s", m[1])
		}
	}
	in := false
	section := ""
	for line := range strings.Lines(string(w.Source())) {
		if strings.HasPrefix(line, "[") {
			section = strings.Trim(strings.TrimSpace(line), "[]")
			in = section == "desk" || strings.HasPrefix(section, "desk.")
			continue
		}
		key, _, ok := strings.Cut(line, " = ")
		if !in || !ok || strings.HasPrefix(line, "#") {
			continue
		}
		full := strings.TrimPrefix(strings.TrimPrefix(section, "desk")+"."+key, ".")
		ok = said[full] || strings.HasPrefix(full, "told.")
		for _, b := range begun {
			ok = ok || strings.HasPrefix(full, b)
		}
		if !ok {
			t.Errorf("nobody says desk.%s", full)
		}
	}
}
