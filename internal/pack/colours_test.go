package pack

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"
)

// colours are the custom properties of the style sheet that hold a colour, in the
// light and in the dark.
func colours(t *testing.T) (light, dark map[string][3]float64) {
	t.Helper()
	sheet, err := staticFiles.ReadFile("static/lesson.css")
	if err != nil {
		t.Fatal(err)
	}
	before, rest, ok := strings.Cut(string(sheet), "@media (prefers-color-scheme: dark)")
	after, _, ok2 := strings.Cut(rest, "}")
	if !ok || !ok2 {
		t.Fatal("no dark theme")
	}
	read := func(text string, into map[string][3]float64) map[string][3]float64 {
		for _, m := range regexp.MustCompile(`--([a-z-]+): #([0-9a-f]{6})`).FindAllStringSubmatch(text, -1) {
			var r, g, b int
			fmt.Sscanf(m[2], "%02x%02x%02x", &r, &g, &b)
			into[m[1]] = [3]float64{float64(r) / 255, float64(g) / 255, float64(b) / 255}
		}
		return into
	}
	light = read(before, map[string][3]float64{})
	dark = read(after, read(before, map[string][3]float64{}))
	return light, dark
}

// contrast is the ratio of WCAG 2.2, "contrast ratio" and "relative luminance".
func contrast(a, b [3]float64) float64 {
	luminance := func(c [3]float64) float64 {
		for i, x := range c {
			if x <= 0.04045 {
				c[i] = x / 12.92
			} else {
				c[i] = math.Pow((x+0.055)/1.055, 2.4)
			}
		}
		return 0.2126*c[0] + 0.7152*c[1] + 0.0722*c[2]
	}
	x, y := luminance(a)+0.05, luminance(b)+0.05
	return max(x/y, y/x)
}

// Marks can be told from what they lie on (WCAG 2.2, 1.4.11: 3 to 1), and words
// be read (1.4.3: 4.5 to 1), in both themes.
func TestContrast(t *testing.T) {
	if got := contrast([3]float64{}, [3]float64{1, 1, 1}); math.Abs(got-21) > 1e-9 {
		t.Fatalf("black on white has %g", got)
	}
	light, dark := colours(t)
	for theme, c := range map[string]map[string][3]float64{"light": light, "dark": dark} {
		c["white"] = [3]float64{1, 1, 1}
		for _, pair := range []struct {
			a, b  string
			least float64
		}{
			{"right", "sheet", 3}, {"left", "sheet", 3}, {"right", "chosen", 3}, {"left", "chosen", 3},
			{"white", "right-key", 4.5}, {"white", "left-key", 4.5}, // a white key's mark, and the label on it
			{"ink", "paper", 4.5}, {"ink", "sheet", 4.5}, {"ink", "tint", 4.5}, {"soft", "paper", 4.5}, {"soft", "sheet", 4.5},
			{"link", "paper", 4.5}, {"trouble", "paper", 4.5},
		} {
			a, ok := c[pair.a]
			b, ok2 := c[pair.b]
			if !ok || !ok2 {
				t.Fatalf("%s: no colour %s or %s", theme, pair.a, pair.b)
			}
			if got := contrast(a, b); got < pair.least {
				t.Errorf("%s: %s on %s has %.1f to 1, wants %.1f", theme, pair.a, pair.b, got, pair.least)
			}
		}
	}
}
