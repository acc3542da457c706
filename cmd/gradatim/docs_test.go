package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"gradatim"
	"gradatim/internal/ladder"
	"gradatim/internal/sharedtest"
	"gradatim/internal/technique"
	"gradatim/internal/words"
)

// TestTechniquesDoc keeps docs/techniques.md; -update writes it.
func TestTechniquesDoc(t *testing.T) {
	var b bytes.Buffer
	b.WriteString("# Techniques\n\n" +
		"What a player learns, in teaching order. The id is what level files, files of\n" +
		"choices and accounts call it. (Written by `go test ./cmd/gradatim -run Techniques -update`\n" +
		"from the table in `internal/technique`.)\n")
	byNumber := map[int]string{}
	for _, l := range ladder.Levels() {
		byNumber[l.Number] = l.Label()
	}
	last := 0
	for _, x := range technique.All() {
		if n := ladder.Introduces(x.ID); n != last {
			last = n
			fmt.Fprintf(&b, "\n## %s\n\n| id | name | stage | what it is | needs |\n|---|---|---|---|---|\n", byNumber[n])
		}
		told := words.Must(words.Default).Technique(x.ID)
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s | %s |\n", x.ID, told.Title(), x.Stage, cell(told.What), cell(strings.Join(x.Needs, ", ")))
	}
	file := filepath.Join(sharedtest.Root(), "docs", "techniques.md")
	text, err := os.ReadFile(file)
	if err == nil && bytes.Equal(text, b.Bytes()) {
		return
	}
	if !*update {
		t.Fatal("docs/techniques.md is out of date: run with -update")
	}
	if err := os.WriteFile(file, b.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
}

// cell writes a text so that a table's row survives it.
func cell(s string) string { return strings.ReplaceAll(s, "|", "\\|") }

// TestDocsNamed: a problem that sends the reader to a document sends her to one
// that is there, and so do the documents themselves.
func TestDocsNamed(t *testing.T) {
	root := sharedtest.Root()
	named := regexp.MustCompile(`docs/[a-z]+\.md`)
	link := regexp.MustCompile(`\]\(([^)#:]+)(#[^)]*)?\)`)
	found := 0
	err := filepath.WalkDir(root, func(p string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if n := d.Name(); n == "node_modules" || n == "testdata" || n == "out" || n == "bin" || len(n) > 1 && n[0] == '.' {
				return filepath.SkipDir
			}
			return nil
		}
		ext := filepath.Ext(p)
		if ext != ".go" && ext != ".md" {
			return nil
		}
		text, err := os.ReadFile(p)
		if err != nil {
			return nil // gone meanwhile
		}
		for _, m := range named.FindAllString(string(text), -1) {
			found++
			if _, err := os.Stat(filepath.Join(root, m)); err != nil {
				t.Errorf("%s names %s, which is not there", p, m)
			}
		}
		if ext == ".md" {
			for _, m := range link.FindAllStringSubmatch(string(text), -1) {
				found++
				if _, err := os.Stat(filepath.Join(filepath.Dir(p), m[1])); err != nil {
					t.Errorf("%s links to %s, which is not there", p, m[1])
				}
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if found < 10 {
		t.Errorf("only %d names of documents found", found)
	}
}

// TestNotice: every module that the program links is named in NOTICE, every
// licence named there has its text, and what must be credited is in --version.
func TestNotice(t *testing.T) {
	cmd := exec.Command(sharedtest.Tool(t, "go"), "list", "-deps", "-f", "{{with .Module}}{{if not .Main}}{{.Path}}{{end}}{{end}}", "gradatim/cmd/gradatim")
	cmd.Dir = sharedtest.Root()
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	notice := gradatim.Notice()
	modules := map[string]bool{}
	for _, m := range strings.Fields(string(out)) {
		modules[m] = true
	}
	if len(modules) < 5 {
		t.Fatalf("go list found only %d modules", len(modules))
	}
	for m := range modules {
		if !strings.Contains(notice, m) {
			t.Errorf("NOTICE does not name %s", m)
		}
	}
	for _, text := range []string{"SIL OPEN FONT LICENSE", "GNU LESSER GENERAL PUBLIC LICENSE",
		"GNU GENERAL PUBLIC LICENSE", "Permission is hereby granted, free of charge", "Neither the name of the copyright holder",
		"free and unencumbered software", "Apache License"} {
		if !strings.Contains(notice, text) {
			t.Errorf("--notice lacks the licence with the words %q", text)
		}
	}
	for _, credit := range []string{"Verovio", "LGPL-3.0", "Alexander Holm", "CC BY 3.0", "cut and level-matched"} {
		if !strings.Contains(version(), credit) {
			t.Errorf("--version does not credit %q", credit)
		}
	}
	changes, err := os.ReadFile(filepath.Join(sharedtest.Root(), "CHANGELOG.md"))
	if err != nil || !strings.Contains(string(changes), "\n## "+gradatim.Release) {
		t.Errorf("CHANGELOG.md has no section for release %s: %v", gradatim.Release, err)
	}
}
