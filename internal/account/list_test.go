package account_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/account"
	"gradatim/internal/delivery"
)

// TestListAfter: what a folder's list says after another run.
func TestListAfter(t *testing.T) {
	files := func(names string) (out []delivery.Listed) {
		for _, n := range strings.Fields(names) {
			out = append(out, delivery.Listed{Path: n, SHA256: "as listed"})
		}
		return out
	}
	from := func(sheet, choices string) account.MadeFrom {
		return account.MadeFrom{Program: "p", Sheet: sheet, Choices: choices, Options: "o"}
	}
	mine := func(levels string) func(string) bool {
		return func(path string) bool {
			stem, rest, _ := strings.Cut(path, ".")
			level, _, _ := strings.Cut(rest, ".")
			return stem == "tune" && strings.Contains(levels, level)
		}
	}
	for _, tt := range []struct {
		name         string
		old, made    account.List
		tried        string
		touched      string // files that somebody has changed or taken away
		others, gone string
	}{
		{"first", account.List{}, account.List{MadeFrom: from("a", ""), Files: files("tune.1.mid")}, "1", "", "", ""},
		{"again", account.List{MadeFrom: from("a", ""), Files: files("tune.1.mid")}, account.List{MadeFrom: from("a", ""), Files: files("tune.1.mid")}, "1", "", "", ""},
		{"another level", account.List{MadeFrom: from("a", ""), Files: files("tune.1.mid tune.2.mid")}, account.List{MadeFrom: from("a", ""), Files: files("tune.2.mid")}, "2", "",
			"tune.1.mid differs[]", ""},
		{"other choices", account.List{MadeFrom: from("a", ""), Files: files("tune.1.mid tune.2.mid")}, account.List{MadeFrom: from("a", "c"), Files: files("tune.2.mid")}, "2", "",
			"tune.1.mid differs[choices]", ""},
		{"other sheet, PDF left", account.List{MadeFrom: from("a", ""), Files: files("tune.1.mid tune.1.pdf tune.2.pdf")}, account.List{MadeFrom: from("b", ""), Files: files("tune.1.mid")}, "1", "",
			"tune.2.pdf differs[sheet]", "tune.1.pdf"},
		{"same, PDF left", account.List{MadeFrom: from("a", ""), Files: files("tune.1.mid tune.1.pdf")}, account.List{MadeFrom: from("a", ""), Files: files("tune.1.mid")}, "1", "",
			"tune.1.pdf differs[]", ""},
		{"a level fails", account.List{MadeFrom: from("a", ""), Files: files("tune.1.mid tune.2.mid")}, account.List{MadeFrom: from("b", ""), Files: files("tune.1.mid")}, "12", "",
			"", "tune.2.mid"},
		{"another tune", account.List{MadeFrom: from("z", ""), Files: files("other.1.mid")}, account.List{MadeFrom: from("a", ""), Files: files("tune.1.mid")}, "1", "",
			"other.1.mid differs[sheet]", ""},
		{"three runs", account.List{MadeFrom: from("b", ""), Files: files("tune.2.mid"), Others: []account.Other{{Files: files("tune.1.mid tune.3.mid"), MadeFrom: from("a", "")}}},
			account.List{MadeFrom: from("a", ""), Files: files("tune.3.mid")}, "3", "",
			"tune.2.mid differs[sheet]; tune.1.mid differs[]", ""},
		{"changed by hand", account.List{MadeFrom: from("a", ""), Files: files("tune.1.mid tune.2.mid")}, account.List{MadeFrom: from("b", ""), Files: files("tune.1.mid")}, "1", "tune.2.mid",
			"", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var intact []delivery.Listed
			for _, f := range tt.old.All() {
				if !slices.Contains(strings.Fields(tt.touched), f.Path) {
					intact = append(intact, f)
				}
			}
			now, gone := tt.old.After(tt.made, intact, mine(tt.tried))
			var others []string
			for _, o := range now.Others {
				var paths []string
				for _, f := range o.Files {
					paths = append(paths, f.Path)
				}
				others = append(others, fmt.Sprintf("%s differs%v", strings.Join(paths, " "), o.Differs))
			}
			if got := strings.Join(others, "; "); got != tt.others {
				t.Errorf("others: %s, want %s", got, tt.others)
			}
			if got := strings.Join(gone, " "); got != tt.gone {
				t.Errorf("gone: %s, want %s", got, tt.gone)
			}
			if !slices.Equal(now.Files, tt.made.Files) {
				t.Errorf("files: %v", now.Files)
			}
		})
	}
}
