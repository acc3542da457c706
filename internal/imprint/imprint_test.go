package imprint_test

import (
	"math"
	"net/url"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"gradatim/internal/imprint"
	"gradatim/leadsheet"
)

func there(string) bool { return true }

// TestTemplate: the file that is printed is right as it stands, and right with every key
// set.
func TestTemplate(t *testing.T) {
	whole := string(imprint.Template())
	if in, ps := imprint.Parse("t.toml", []byte(whole), there); len(ps) > 0 || in.Studio != "" {
		t.Errorf("%v %+v", ps, in)
	}
	var set []string
	for i, l := range strings.Split(whole, "\n") {
		if i > 4 {
			l = strings.TrimPrefix(l, "# ")
		}
		set = append(set, l)
	}
	in, ps := imprint.Parse("t.toml", []byte(strings.Join(set, "\n")), there)
	if len(ps) > 0 {
		t.Fatal(ps)
	}
	if in.Studio == "" || in.Level(1).Teacher == "" || in.Sections["A"] == "" || in.Notes["A"] == "" || in.Teacher != imprint.All || len(in.Media) != 1 || in.Look.Ink == "" || len(in.Order) != 3 || in.Introduction == "" {
		t.Errorf("%+v", in)
	}
	if files := in.Files(); len(files) != 1 || files[0] != "logo.png" {
		t.Errorf("%v", files)
	}
}

// TestMistakes: all that is wrong is told, each with its line.
func TestMistakes(t *testing.T) {
	text := `studio = "S"
logo = "../logo.png"
address = "javascript:alert(1)"
without = ["no-such-thing"]
drills = "few"
order = [1, 1]
colour = "#fff"
[look]
paper = "#ffffff"
ink = "#999999"
accent = "red"
[levels.x]
words = "w"
[[media]]
title = "nothing"
`
	_, ps := imprint.Parse("t.toml", []byte(text), there)
	want := map[leadsheet.Saying]int{"imprint-file.outside": 2, "imprint-link": 3, "imprint-technique": 4, "imprint-drills": 5, "imprint-level": 6,
		"imprint-key": 7, "imprint-colour": 11, "imprint-media": 14}
	for says, line := range want {
		found := false
		for _, p := range ps {
			found = found || p.Says == says && p.Pos.Line == line
		}
		if !found {
			t.Errorf("%s in line %d is not told: %v", says, line, ps)
		}
	}
	_, ps = imprint.Parse("t.toml", []byte("[look]\npaper = \"#ffffff\"\nink = \"#999999\"\n"), there)
	if len(ps) != 1 || ps[0].Says != "imprint-contrast" {
		t.Errorf("grey on white: %v", ps)
	}
	if _, ps = imprint.Parse("t.toml", []byte(`logo = "logo.png"`), func(string) bool { return false }); len(ps) != 1 || ps[0].Says != "imprint-file" {
		t.Errorf("a file that is missing: %v", ps)
	}
}

// TestContrast: worked values of the Web Content Accessibility Guidelines: black on white
// is 21 to 1, a colour on itself 1 to 1; #777777 on white 4.48 and #767676 4.54, the pair
// between which the guidelines' 4.5 lies (understanding success criterion 1.4.3).
func TestContrast(t *testing.T) {
	for _, tt := range []struct {
		a, b string
		want float64
	}{{"#000000", "#ffffff", 21}, {"#123456", "#123456", 1}, {"#777777", "#ffffff", 4.48}, {"#767676", "#ffffff", 4.54}} {
		if got := imprint.Contrast(tt.a, tt.b); math.Abs(got-tt.want) > 0.005 {
			t.Errorf("%s on %s: %.3f, want %.2f", tt.a, tt.b, got, tt.want)
		}
	}
}

// TestMarkdown: CommonMark stays, HTML and whatever fetches or runs does not.
func TestMarkdown(t *testing.T) {
	for _, tt := range []struct{ in, want string }{
		{"*one* **two**\n\nthree", "<p><em>one</em> <strong>two</strong></p>\n<p>three</p>"},
		{"# Head", "<h3>Head</h3>"},
		{"- a\n- b", "<ul>\n<li>a</li>\n<li>b</li>\n</ul>"},
		{"[film](https://example.org/f)", `<p><a href="https://example.org/f" rel="noreferrer">film</a></p>`},
		{"[x](javascript:alert(1))", "<p>x</p>"},
		{"![x](https://example.org/pixel.png)", "<p></p>"},
		{"a <script>alert(1)</script> b", "<p>a alert(1) b</p>"},
		{"<img src=x onerror=alert(1)>", ""},
	} {
		got, err := imprint.HTML(tt.in)
		if err != nil || got != tt.want {
			t.Errorf("%q: %q, want %q (%v)", tt.in, got, tt.want, err)
		}
	}
	if got := imprint.Plain("One *two*\nthree.\n\n- four\n- five"); strings.Join(got, "|") != "One two three.|– four|– five" {
		t.Errorf("%q", got)
	}
}

func FuzzHTML(f *testing.F) {
	for _, s := range []string{"*a*", "<b onclick=x>", "[a](data:text/html,x)", "![a](b)", "`<script>`"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		out, err := imprint.HTML(s)
		if err != nil {
			t.Fatal(err)
		}
		for _, bad := range unsafe(out) {
			t.Errorf("%q gives %q: %s", s, out, bad)
		}
		again, _ := imprint.HTML(s)
		if again != out {
			t.Error("not the same twice")
		}
	})
}

// unsafe says what of a piece of HTML, as a browser reads it, is none of the plain elements
// of a text, or fetches or runs anything.
func unsafe(out string) []string {
	elements := strings.Fields("p br em strong ul ol li blockquote code pre h3 h4 h5 h6 hr a")
	var bad []string
	for z := html.NewTokenizer(strings.NewReader(out)); z.Next() != html.ErrorToken; {
		t := z.Token()
		switch t.Type {
		case html.StartTagToken, html.SelfClosingTagToken:
			if !slices.Contains(elements, t.Data) {
				bad = append(bad, "the element "+t.Data)
			}
			for _, a := range t.Attr {
				u, err := url.Parse(a.Val)
				web := err == nil && slices.Contains([]string{"", "http", "https", "mailto"}, u.Scheme)
				if t.Data != "a" || !(a.Key == "href" && web || a.Key == "rel" || a.Key == "target") {
					bad = append(bad, a.Key+"="+a.Val)
				}
			}
		case html.CommentToken, html.DoctypeToken:
			bad = append(bad, "a comment")
		}
	}
	return bad
}
