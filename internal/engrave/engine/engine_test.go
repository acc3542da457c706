package engine

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"gradatim/assets"
	"gradatim/internal/sharedtest"
)

func code(t testing.TB) []byte {
	t.Helper()
	m, err := assets.Engraver()
	if err != nil {
		sharedtest.Absent(t, err.Error())
	}
	return m
}

var shared = sync.OnceValues(func() (*Engine, error) {
	m, err := assets.Engraver()
	if err != nil {
		return nil, err
	}
	return Open(context.Background(), Config{Module: m, CacheDir: DefaultCacheDir()})
})

func open(t testing.TB) *Engine {
	t.Helper()
	code(t)
	e, err := shared()
	if err != nil {
		t.Fatal(err)
	}
	return e
}

const options = `{"inputFrom":"xml","breaks":"auto","header":"none","footer":"none","svgViewBox":true,"pageWidth":2100,"pageHeight":2970}`

// scale writes a score of quarters up and down a scale.
func scale(bars int) string {
	var b strings.Builder
	b.WriteString(`<score-partwise version="4.0"><part-list><score-part id="P1"><part-name/></score-part></part-list><part id="P1">`)
	for m := range bars {
		fmt.Fprintf(&b, `<measure number="%d">`, m+1)
		if m == 0 {
			b.WriteString(`<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef></attributes>`)
		}
		for q := range 4 {
			fmt.Fprintf(&b, `<note id="n%d"><pitch><step>%c</step><octave>4</octave></pitch><duration>1</duration><voice>1</voice><type>quarter</type></note>`, 4*m+q, "CDEFGAB"[(4*m+q)%7])
		}
		b.WriteString(`</measure>`)
	}
	b.WriteString(`</part></score-partwise>`)
	return b.String()
}

func render(ctx context.Context, e *Engine, opts, score string) (pages []string, err error) {
	err = e.Do(ctx, func(t *Toolkit) error {
		if err := t.Load(opts, score); err != nil {
			return err
		}
		n, err := t.PageCount()
		if err != nil {
			return err
		}
		for i := 1; i <= n; i++ {
			s, err := t.SVG(i)
			if err != nil {
				return err
			}
			pages = append(pages, s)
		}
		return nil
	})
	return pages, err
}

// trap makes the library throw: a chord note before any note.
var trap = strings.Replace(scale(2), `<note id="n0">`, `<note id="n0"><chord/>`, 1)

func TestVersion(t *testing.T) {
	var v string
	if err := open(t).Do(context.Background(), func(k *Toolkit) (err error) { v, err = k.Version(); return err }); err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(v, "6.3.0") {
		t.Errorf("version %q, pinned is 6.3.0", v)
	}
}

// A used instance, a new one, one after a trap, and another engine give the
// same bytes.
func TestSameBytes(t *testing.T) {
	ctx := context.Background()
	e := open(t)
	want, err := render(ctx, e, options, scale(40))
	if err != nil {
		t.Fatal(err)
	}
	check := func(what string, e *Engine) {
		t.Helper()
		got, err := render(ctx, e, options, scale(40))
		if err != nil || !slices.Equal(got, want) {
			t.Errorf("%s: other bytes (%v)", what, err)
		}
	}
	check("again", e)
	if _, err := render(ctx, e, strings.Replace(options, "2970", "500", 1), scale(3)); err != nil {
		t.Fatal(err)
	}
	check("after other options", e)
	var te *TrapError
	if _, err := render(ctx, e, options, trap); !errors.As(err, &te) {
		t.Fatalf("got %v, want a trap", err)
	}
	check("after a trap", e)
	other, err := Open(ctx, Config{Module: code(t), CacheDir: DefaultCacheDir()})
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	check("another engine", other)
}

func TestManyAtOnce(t *testing.T) {
	ctx := context.Background()
	e := open(t)
	want, err := render(ctx, e, options, scale(20))
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			for i := range 3 {
				s := scale(20)
				if i == 1 {
					s = trap // others must not notice
				}
				got, err := render(ctx, e, options, s)
				if i != 1 && (err != nil || !slices.Equal(got, want)) {
					t.Errorf("other bytes (%v)", err)
				}
			}
		})
	}
	wg.Wait()
}

// TestAgainstNode compares with the same package run by Node: byte for byte,
// for the real accompaniments and for a score of ours.
func TestAgainstNode(t *testing.T) {
	node := sharedtest.Tool(t, "node")
	sharedtest.Module(t, "verovio")
	pkg := filepath.Join(sharedtest.Root(), "node_modules", "verovio")
	files, err := filepath.Glob(filepath.Join(sharedtest.Path(t, "data/accompaniment_cc0"), "*.mxl"))
	if err != nil || len(files) != 21 {
		t.Fatalf("%d accompaniments, want 21 (%v)", len(files), err)
	}
	dir := t.TempDir()
	var scores []string
	for _, f := range files {
		scores = append(scores, unzip(t, f))
	}
	scores = append(scores, scale(64))
	for i, s := range scores {
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("%02d.xml", i)), []byte(s), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	script := filepath.Join(dir, "render.mjs")
	if err := os.WriteFile(script, []byte(`
import createModule from '`+pkg+`/dist/verovio-module.mjs';
import { VerovioToolkit } from '`+pkg+`/dist/verovio.mjs';
import fs from 'node:fs';
const [dir, options] = process.argv.slice(2);
const kit = new VerovioToolkit(await createModule());
for (const f of fs.readdirSync(dir).filter(f => f.endsWith('.xml')).sort()) {
  kit.resetOptions();
  kit.setOptions(JSON.parse(options));
  kit.resetXmlIdSeed(1);
  kit.loadData(fs.readFileSync(dir + '/' + f, 'utf8'));
  for (let p = 1; p <= kit.getPageCount(); p++)
    fs.writeFileSync(dir + '/' + f + '-' + String(p).padStart(2, '0') + '.svg', kit.renderToSVG(p));
}
`), 0o644); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(node, script, dir, options).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	total := 0
	for i, s := range scores {
		pages, err := render(context.Background(), open(t), options, s)
		if err != nil {
			t.Errorf("score %d: %v", i, err)
			continue
		}
		for p, got := range pages {
			want, err := os.ReadFile(filepath.Join(dir, fmt.Sprintf("%02d.xml-%02d.svg", i, p+1)))
			if err != nil {
				t.Errorf("score %d: %v", i, err)
			} else if got != string(want) {
				t.Errorf("score %d, page %d differs from Node's", i, p+1)
			}
			total++
		}
	}
	t.Logf("%d pages of %d scores are the same bytes", total, len(scores))
}

func TestCancel(t *testing.T) {
	e := open(t)
	long := scale(3000)
	for _, after := range []time.Duration{0, 5 * time.Millisecond, 100 * time.Millisecond} {
		cause := fmt.Errorf("enough after %s", after)
		ctx, cancel := context.WithTimeoutCause(context.Background(), after, cause)
		start := time.Now()
		_, err := render(ctx, e, options, long)
		el := time.Since(start)
		cancel()
		if !errors.Is(err, cause) {
			t.Errorf("after %s: got %v, want the cause", after, err)
		}
		// The whole takes many seconds. Allow for a busy machine, and for the
		// start of an instance, which is not stopped.
		if el > after+2*time.Second {
			t.Errorf("after %s: took %s", after, el)
		}
	}
	if _, err := render(context.Background(), e, options, scale(2)); err != nil {
		t.Errorf("the next call: %v", err)
	}
}

func TestMemoryLimit(t *testing.T) {
	if testing.Short() {
		t.Skip("fills the memory")
	}
	e, err := Open(context.Background(), Config{Module: code(t), CacheDir: DefaultCacheDir(), Memory: 129 << 20})
	if err != nil {
		t.Fatal(err)
	}
	defer e.Close()
	// The module starts with 128 MiB.
	if _, err := render(context.Background(), e, options, scale(1)+strings.Repeat(" ", 100<<20)); err == nil {
		t.Error("100 MiB of input in 129 MiB: no error")
	}
	if _, err := render(context.Background(), e, options, scale(2)); err != nil {
		t.Errorf("the next call: %v", err)
	}
	for _, m := range []int64{-1, 1, 5 << 30} {
		if _, err := Open(context.Background(), Config{Module: code(t), Memory: m}); err == nil {
			t.Errorf("memory %d: no error", m)
		}
	}
}

func TestBadModule(t *testing.T) {
	m := code(t)
	for name, b := range map[string][]byte{
		"none": nil, "text": []byte("hello"), "cut short": m[:len(m)/2],
		"empty module": []byte("\x00asm\x01\x00\x00\x00"),
	} {
		e, err := Open(context.Background(), Config{Module: b})
		if name == "empty module" && err == nil { // compiles, but has no functions
			_, err = render(context.Background(), e, options, scale(1))
		}
		if err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// A cache that cannot be used costs time, never an error.
func TestCacheInTheWay(t *testing.T) {
	m := code(t)
	dir := t.TempDir()
	file := filepath.Join(dir, "file")
	if err := os.WriteFile(file, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if openCache(file) != nil || openCache(filepath.Join(file, "below")) != nil {
		t.Error("a file serves as a cache folder")
	}
	readOnly := filepath.Join(dir, "read-only")
	if err := os.Mkdir(readOnly, 0o555); err != nil {
		t.Fatal(err)
	}
	if os.Geteuid() != 0 && openCache(readOnly) != nil { // root writes anywhere
		t.Error("a read-only folder serves as a cache folder")
	}
	// Fill a cache, damage every file in it, and open again.
	full := filepath.Join(dir, "cache")
	e, err := Open(context.Background(), Config{Module: m, CacheDir: full})
	if err != nil {
		t.Fatal(err)
	}
	e.Close()
	n := 0
	err = filepath.WalkDir(full, func(p string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		n++
		b, err := os.ReadFile(p)
		if err != nil {
			return err
		}
		return os.WriteFile(p, b[:len(b)/2], 0o644)
	})
	if err != nil || n == 0 {
		t.Fatalf("%d files in the cache (%v)", n, err)
	}
	e, err = Open(context.Background(), Config{Module: m, CacheDir: full})
	if err != nil {
		t.Fatalf("damaged cache: %v", err)
	}
	defer e.Close()
	if _, err := render(context.Background(), e, options, scale(1)); err != nil {
		t.Errorf("damaged cache: %v", err)
	}
}

func TestReadFile(t *testing.T) {
	e := open(t)
	b, err := e.ReadFile(context.Background(), "data/Leipzig.xml")
	if err != nil || !bytes.Contains(b, []byte("units-per-em")) {
		t.Errorf("%.60s, %v", b, err)
	}
	if _, err := e.ReadFile(context.Background(), "data/../../etc/passwd"); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("got %v, want not exist", err)
	}
}

// The wall: no type of the runtime is in the exported interface.
func TestWall(t *testing.T) {
	var walk func(typ reflect.Type, path string)
	seen := map[reflect.Type]bool{}
	walk = func(typ reflect.Type, path string) {
		if seen[typ] {
			return
		}
		seen[typ] = true
		if strings.Contains(typ.PkgPath(), "wazero") {
			t.Errorf("%s is %s", path, typ)
		}
		for i := range typ.NumMethod() {
			m := typ.Method(i)
			for j := range m.Type.NumIn() {
				walk(m.Type.In(j), path+"."+m.Name)
			}
			for j := range m.Type.NumOut() {
				walk(m.Type.Out(j), path+"."+m.Name)
			}
		}
		switch typ.Kind() {
		case reflect.Pointer, reflect.Slice, reflect.Array, reflect.Chan, reflect.Map:
			walk(typ.Elem(), path)
		case reflect.Struct:
			for i := range typ.NumField() {
				if f := typ.Field(i); f.IsExported() {
					walk(f.Type, path+"."+f.Name)
				}
			}
		case reflect.Func:
			for i := range typ.NumIn() {
				walk(typ.In(i), path)
			}
		}
	}
	for _, v := range []any{&Engine{}, &Toolkit{}, Config{}, &TrapError{}, &LoadError{}} {
		walk(reflect.TypeOf(v), reflect.TypeOf(v).String())
	}
}

func TestOptionsOfTheLibraryAreJSON(t *testing.T) {
	err := open(t).Do(context.Background(), func(k *Toolkit) error {
		s, err := k.AvailableOptions()
		if err == nil && !json.Valid([]byte(s)) {
			t.Error("not JSON")
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

func BenchmarkOpen(b *testing.B) {
	m := code(b)
	for _, cache := range []struct{ name, dir string }{{"none", ""}, {"warm", b.TempDir()}} {
		b.Run("cache="+cache.name, func(b *testing.B) {
			if cache.dir != "" {
				e, err := Open(context.Background(), Config{Module: m, CacheDir: cache.dir})
				if err != nil {
					b.Fatal(err)
				}
				e.Close()
			}
			for b.Loop() {
				e, err := Open(context.Background(), Config{Module: m, CacheDir: cache.dir})
				if err != nil {
					b.Fatal(err)
				}
				if err := e.Do(context.Background(), func(*Toolkit) error { return nil }); err != nil {
					b.Fatal(err)
				}
				e.Close()
			}
		})
	}
}

func BenchmarkRender(b *testing.B) {
	e := open(b)
	for _, bars := range []int{32, 128, 512} {
		b.Run(fmt.Sprintf("bars=%d", bars), func(b *testing.B) {
			s := scale(bars)
			b.ReportAllocs()
			for b.Loop() {
				if _, err := render(context.Background(), e, options, s); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
