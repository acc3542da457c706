package rights

import (
	"strings"
	"testing"

	"gradatim/internal/words"
	"gradatim/leadsheet"
)

const full = `# all keys
title = "The Ferry"
alternative_titles = ["Low Tide", "La barque"]
composers = [{ name = "Ada Example", died = 1901 }, "traditional"]
year = 1890
country = "Iceland"
source = "a notebook"
arranger = "B. Example"
status = "licensed"
licence = "one class, one year"
permission = "L-17"
permission_date = 2024-05-31
territories = ["Iceland", "Norway"]
lyrics_cleared = true
note = "ask again in 2025"

[[lyricists]]
name = "C. Example"
died = 1950
`

func TestRead(t *testing.T) {
	song := leadsheet.Song{Title: "Ferry", Rights: leadsheet.Rights{Source: "sheet", Text: "© nobody"}}
	got, err := Read("f.rights.toml", []byte(full), song)
	if err != nil {
		t.Fatal(err)
	}
	r := got.Rights
	for _, c := range []struct{ name, got, want string }{
		{"title", got.Title, "The Ferry"},
		{"titles", strings.Join(r.OtherTitles, "|"), "Low Tide|La barque"},
		{"composers", r.Composers[0].String() + "|" + r.Composers[1].String(), "Ada Example (died 1901)|traditional"},
		{"lyricists", r.Lyricists[0].String(), "C. Example (died 1950)"},
		{"rest", strings.Join([]string{r.Country, r.Source, r.Arranger, r.Licence, r.Reference, r.ReferenceDate, r.Note, r.Filed}, "|"),
			"Iceland|a notebook|B. Example|one class, one year|L-17|2024-05-31|ask again in 2025|f.rights.toml"},
		{"territories", strings.Join(r.Territories, "|"), "Iceland|Norway"},
		{"line", words.Must("en").Rights(r), "Composer: Ada Example (died 1901), traditional. Arranger: B. Example. © nobody. Licensed: one class, one year, permission L-17 of 2024-05-31."},
	} {
		if c.got != c.want {
			t.Errorf("%s: %q, want %q", c.name, c.got, c.want)
		}
	}
	if r.Year != 1890 || r.Status != leadsheet.Licensed || !r.LyricsCleared {
		t.Errorf("%+v", r)
	}
	if ps := Publishable(got); ps.Err() != nil {
		t.Error(ps)
	}
	kept, err := Read("f.rights.toml", []byte("year = 1890\n"), song)
	if err != nil || kept.Title != "Ferry" || kept.Rights.Source != "sheet" || kept.Rights.Status != leadsheet.Unknown {
		t.Errorf("what the file leaves out is lost: %+v, %v", kept, err)
	}
}

var wrong = []struct{ in, at, want string }{
	{"titel = \"x\"\n", "f.toml:1:1", `unknown key "titel" [rights-key]; did you mean title?`},
	{"year = 1890\n  colour = 3\n", "f.toml:2:3", `unknown key "colour"`},
	{"\nyear = \"1890\"\n", "f.toml:2:1", `year is "1890": a year from 1000 to 2100`},
	{"year = 20240\n", "f.toml:1:1", `year is 20240`},
	{"status = \"Public Domain\"\n", "f.toml:1:1", `it is one of "public domain", "own", "licensed", "unknown"`},
	{"status = 1\n", "f.toml:1:1", "status is 1: a status is wanted"},
	{"composers = \"Ada\"\n", "f.toml:1:1", `composers is "Ada": a list of people is wanted`},
	{"composers = [{ died = 1901 }]\n", "f.toml:1:1", "somebody in composers has no name"},
	{"composers = [{ name = \"A\", born = 1901 }]\n", "f.toml:1:1", `unknown key "born" in composers`},
	{"[[lyricists]]\nname = 3\n", "f.toml:1:3", "lyricists is 3: text is wanted"},
	{"territories = [\"Norway\", 3]\n", "f.toml:1:1", "territories is 3"},
	{"permission_date = \"May\"\n", "f.toml:1:1", "a date is wanted"},
	{"lyrics_cleared = \"yes\"\n", "f.toml:1:1", "true or false is wanted"},
	{"note = \"\"\n", "f.toml:1:1", "note has an empty text"},
	{"note = \"a\\u0007b\"\n", "f.toml:1:1", "control character"},
	{"title = \n", "f.toml:1:", "not readable as TOML"},
	{"title = \"\xff\"\n", "f.toml", "not UTF-8"},
	{"year = 1890\nyear = 1891\n", "f.toml:2:", "not readable as TOML"},
}

func TestWrong(t *testing.T) {
	song := leadsheet.Song{Title: "kept"}
	for _, tt := range wrong {
		got, err := Read("f.toml", []byte(tt.in), song)
		if err == nil {
			t.Errorf("%q: no error", tt.in)
			continue
		}
		if s := words.Must(words.Default).Err(err).Error(); !strings.HasPrefix(s, tt.at) || !strings.Contains(s, tt.want) {
			t.Errorf("%q:\n%s\nwant %s … %s", tt.in, s, tt.at, tt.want)
		}
		if got.Title != "kept" || got.Rights.Filed != "" {
			t.Errorf("%q: the song was changed", tt.in)
		}
	}
	_, err := Read("f.toml", []byte("year = 1\nstatus = 2\nname = 3\n"), song)
	if n := strings.Count(err.Error(), "\n") + 1; n != 3 {
		t.Errorf("%d problems told, want all 3:\n%v", n, err)
	}
}

func TestPublishable(t *testing.T) {
	tests := []struct {
		name, file string
		want       string // codes of errors
		infos      string
	}{
		{"nothing known", "", "rights-title rights-status rights-composer", "rights-arrangement"},
		{"unknown, but old", `title = "T"
composers = [{ name = "A", died = 1901 }]
year = 1890`, "rights-status", "rights-arrangement rights-thumb rights-thumb"},
		{"free, no reason", `title = "T"
status = "public domain"
composers = ["traditional"]`, "rights-basis", ""},
		{"free by source", `title = "T"
status = "public domain"
composers = ["traditional"]
source = "by ear"`, "", ""},
		{"free by deaths", `title = "T"
status = "public domain"
composers = [{ name = "A", died = 1901 }]`, "", "rights-thumb"},
		{"words not free", `title = "T"
status = "public domain"
lyrics_cleared = true
composers = [{ name = "A", died = 1901 }]
lyricists = ["B"]`, "rights-basis", ""},
		{"own", `title = "T"
status = "own"
composers = ["me"]`, "", ""},
		{"licensed, by what?", `title = "T"
status = "licensed"
composers = ["A"]`, "rights-permission", ""},
		{"permission without date", `title = "T"
status = "licensed"
composers = ["A"]
permission = "x"`, "rights-permission-date", ""},
		{"licence", `title = "T"
status = "licensed"
composers = ["A"]
licence = "CC BY 4.0"
territories = ["Norway"]`, "", "rights-territory"},
	}
	for _, tt := range tests {
		song, err := Read("f.toml", []byte(tt.file), leadsheet.Song{})
		if err != nil {
			t.Fatal(tt.name, err)
		}
		var errs, infos []string
		for _, p := range words.Must("en").Problems(Publishable(song)) {
			if p.Severity == leadsheet.Error {
				errs = append(errs, p.Code)
				if p.Fix == "" {
					t.Errorf("%s: no way out of %s", tt.name, p)
				}
			} else {
				infos = append(infos, p.Code)
			}
		}
		if got := strings.Join(errs, " "); got != tt.want {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
		}
		if got := strings.Join(infos, " "); got != tt.infos {
			t.Errorf("%s: infos %q, want %q", tt.name, got, tt.infos)
		}
	}
}

// A work of 1923 became free in the USA on 1 January 2019, and one whose maker
// died in 1953 on 1 January 2024 in countries of life + 70: 17 U.S.C. 304 and 305;
// Directive 2006/116/EC, articles 1 and 8. Both dates were news (from memory).
func TestThumb(t *testing.T) {
	ps := Publishable(leadsheet.Song{Rights: leadsheet.Rights{Year: 1923, Composers: []leadsheet.Person{{Name: "A", Died: 1940}}, Lyricists: []leadsheet.Person{{Name: "B", Died: 1953}}}})
	var all string
	for _, p := range words.Must("en").Problems(ps) {
		all += p.String() + "\n"
	}
	for _, want := range []string{"published in 1923 is free there from 1 January 2019", "here from 1 January 2024", "decides nothing"} {
		if !strings.Contains(all, want) {
			t.Errorf("no %q in\n%s", want, all)
		}
	}
	for _, y := range []int{1978, 2020} {
		for _, p := range Publishable(leadsheet.Song{Rights: leadsheet.Rights{Year: y}}) {
			if p.Code == "rights-thumb" {
				t.Errorf("the rule for works up to 1977 is told of %d", y)
			}
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add(full)
	for _, tt := range wrong {
		f.Add(tt.in)
	}
	f.Fuzz(func(t *testing.T, s string) {
		song, err := Read("f.toml", []byte(s), leadsheet.Song{Title: "kept"})
		if err != nil {
			if song.Title != "kept" || song.Rights.Filed != "" {
				t.Fatal("a wrong file changed the song")
			}
			return
		}
		if line := words.Must("en").Rights(song.Rights); strings.ContainsAny(line, "\n\t") || !strings.HasSuffix(line, ".") {
			t.Fatalf("the line is %q", line)
		}
		if song.Rights.Status == leadsheet.Unknown && Publishable(song).Err() == nil {
			t.Fatal("unknown rights may be published")
		}
	})
}
