//go:build !windows && !darwin

package machine

import (
	"os"
	"strings"
	"testing"
)

// TestDocuments reads the folder of documents as a desktop writes it. Source: the manual
// page of user-dirs.dirs (freedesktop.org, xdg-user-dirs), from memory.
func TestDocuments(t *testing.T) {
	for in, want := range map[string]string{
		"# a remark\nXDG_DESKTOP_DIR=\"$HOME/Tisch\"\nXDG_DOCUMENTS_DIR=\"$HOME/Meine Texte\"\n": "/home/x/Meine Texte",
		"XDG_DOCUMENTS_DIR=\"/data/texts/\"\n":                                                   "/data/texts",
		"XDG_DOCUMENTS_DIR=\"$HOME/\"\n":                                                         "", // there is none
		"XDG_DOCUMENTS_DIR=\"texts\"\n":                                                          "",
		"":                                                                                       "",
	} {
		if got := documentsIn(strings.NewReader(in), "/home/x"); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

// The null device is no terminal, though it is a device; nor are a pipe and a file.
func TestTerminal(t *testing.T) {
	null, err := os.Open(os.DevNull)
	if err != nil {
		t.Fatal(err)
	}
	defer null.Close()
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	defer w.Close()
	if Terminal(null) || Terminal(w) || Terminal(&strings.Builder{}) {
		t.Error("somebody looks at it")
	}
}
