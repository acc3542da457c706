package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
)

// doubleClicked tells whether the program was started as an application: then its file
// lies in a bundle, and nothing that it prints is seen.
func doubleClicked() bool {
	exe, err := os.Executable()
	return err == nil && strings.HasSuffix(filepath.Dir(exe), ".app/Contents/MacOS") && !terminal(os.Stdin) && !terminal(os.Stdout)
}

func documents() (string, error) {
	home, err := os.UserHomeDir()
	return filepath.Join(home, "Documents"), err
}

func systemLanguage() string {
	out, err := exec.Command("defaults", "read", "-g", "AppleLocale").Output()
	if err != nil {
		return ""
	}
	return string(out)
}
