package engrave

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"gradatim/internal/engrave/engine"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
)

func TestLayoutDefaults(t *testing.T) {
	l, err := Layout{}.plain()
	if err != nil {
		t.Fatal(err)
	}
	if l.Paper != A4 || l.StaffHeight != 7 || l.Density != Normal {
		t.Errorf("%+v", l)
	}
	if l, _ := (Layout{LargePrint: true}).plain(); l.StaffHeight != 9.5 {
		t.Errorf("large print has a staff of %g mm", l.StaffHeight)
	}
}

func TestLayoutRefusals(t *testing.T) {
	for name, l := range map[string]Layout{
		"huge page":     {Paper: Paper{Width: 1e9, Height: 1e9}},
		"no height":     {Paper: Paper{Width: 210}},
		"margins":       {Paper: Paper{Width: 210, Height: 297, Side: 100}},
		"not a number":  {Paper: Paper{Width: math.NaN(), Height: 297}},
		"tiny staff":    {StaffHeight: 0.1},
		"endless staff": {StaffHeight: math.Inf(1)},
		"density":       {Density: 9},
		"prefix":        {IDPrefix: `x" onload="`},
		"prefix starts": {IDPrefix: "1a"},
	} {
		_, err := engraver(t).Pages(context.Background(), []byte(small), l)
		var ps leadsheet.Problems
		if !errors.As(err, &ps) || ps[0].Code != "engrave-layout" {
			t.Errorf("%s: got %v", name, err)
		}
	}
}

// The library ignores options that it does not know. So every one that is set
// must be in its own list, with its type and within its range.
func TestOptionsAreKnown(t *testing.T) {
	var list struct {
		Groups map[string]struct {
			Options map[string]struct {
				Type   string   `json:"type"`
				Min    *float64 `json:"min"`
				Max    *float64 `json:"max"`
				Values []string `json:"values"`
			} `json:"options"`
		} `json:"groups"`
	}
	err := engraver(t).engine.Do(context.Background(), func(k *engine.Toolkit) error {
		s, err := k.AvailableOptions()
		if err != nil {
			return err
		}
		return json.Unmarshal([]byte(s), &list)
	})
	if err != nil {
		t.Fatal(err)
	}
	known := map[string]int{}
	for _, l := range []Layout{{}, {LargePrint: true, Degrees: true}, {Density: Airy}, {Density: Dense, Paper: Tablet}} {
		l, err := l.plain()
		if err != nil {
			t.Fatal(err)
		}
		o := reflect.ValueOf(options(l, l.Paper.Width-2*l.Paper.Side))
		for i := range o.NumField() {
			name := o.Type().Field(i).Tag.Get("json")
			for _, g := range list.Groups {
				opt, ok := g.Options[name]
				if !ok {
					continue
				}
				known[name]++
				v := o.Field(i)
				switch {
				case v.Kind() == reflect.String && len(opt.Values) > 0:
					if !strings.Contains(strings.Join(opt.Values, "|")+"|", v.String()+"|") {
						t.Errorf("%s: %q is not one of %q", name, v, opt.Values)
					}
				case v.Kind() == reflect.Bool && opt.Type != "bool", v.Kind() == reflect.String && !strings.HasPrefix(opt.Type, "std::string"),
					v.Kind() == reflect.Int && opt.Type != "int", v.Kind() == reflect.Float64 && opt.Type != "double":
					t.Errorf("%s: a %s is wanted", name, opt.Type)
				case v.CanFloat() || v.CanInt():
					f := 0.0
					if v.CanFloat() {
						f = v.Float()
					} else {
						f = float64(v.Int())
					}
					if opt.Min == nil || f < *opt.Min || f > *opt.Max {
						t.Errorf("%s: %g is out of range", name, f)
					}
				}
			}
			if known[name] == 0 {
				t.Errorf("the library has no option %q", name)
			}
		}
	}
}

func TestReplacedEngine(t *testing.T) {
	if _, err := New(Config{EngineFile: "testdata/none.wasm"}); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("missing file: %v", err)
	}
	for name, content := range map[string]string{"text": "hello", "cut short": "\x00asm\x01\x00\x00\x00\x01", "broken gzip": "\x1f\x8bxx"} {
		f := t.TempDir() + "/engine"
		if err := os.WriteFile(f, []byte(content), 0o644); err != nil {
			t.Fatal(err)
		}
		if g, err := New(Config{EngineFile: f, NoCache: true}); err == nil {
			t.Errorf("%s: no error", name)
			g.Close()
		}
	}
	// The published script itself will do, without anything prepared.
	js := filepath.Join(sharedtest.Root(), "node_modules/verovio/dist/verovio-module.mjs")
	if _, err := os.Stat(js); err == nil {
		g, err := New(Config{EngineFile: js})
		if err != nil {
			t.Fatal(err)
		}
		defer g.Close()
		d, err := g.Pages(context.Background(), []byte(small), Layout{})
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(d.SVG(0), pages(t, small, Layout{}).SVG(0)) {
			t.Error("the same library gives another page")
		}
		if _, err := d.PNG(1, 96); err == nil {
			t.Error("a page after the last: no error")
		}
	}
	if _, err := New(Config{Timeout: -1}); err == nil {
		t.Error("negative time limit: no error")
	}
}
