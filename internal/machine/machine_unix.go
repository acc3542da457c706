//go:build !windows && !darwin

package machine

import (
	"bufio"
	"cmp"
	"io"
	"os"
	"path/filepath"
	"strings"
)

// DoubleClicked tells whether the program was started from a window: there is a display,
// and no terminal at either end. A program that starts it and reads what it prints is
// connected by a pipe or a file.
func DoubleClicked() bool {
	if os.Getenv("DISPLAY") == "" && os.Getenv("WAYLAND_DISPLAY") == "" || Terminal(os.Stdin) || Terminal(os.Stdout) || Terminal(os.Stderr) {
		return false
	}
	in, err := os.Stdin.Stat()
	return err == nil && in.Mode()&os.ModeCharDevice != 0 // nothing to read: the null device
}

// Documents is the user's folder of documents as the desktop has it (freedesktop.org,
// xdg-user-dirs: user-dirs.dirs), else Documents in the user's own.
func Documents() (string, error) {
	home, err := os.UserHomeDir()
	if err != nil {
		return "", err
	}
	config := cmp.Or(os.Getenv("XDG_CONFIG_HOME"), filepath.Join(home, ".config"))
	if f, err := os.Open(filepath.Join(config, "user-dirs.dirs")); err == nil {
		defer f.Close()
		if dir := documentsIn(f, home); dir != "" {
			return dir, nil
		}
	}
	return filepath.Join(home, "Documents"), nil
}

// documentsIn reads the folder out of such a file: XDG_DOCUMENTS_DIR="$HOME/Texte". It is
// absolute, or begins with $HOME; the user's own folder stands for none.
func documentsIn(r io.Reader, home string) string {
	dir := ""
	for in := bufio.NewScanner(r); in.Scan(); {
		value, ok := strings.CutPrefix(strings.TrimSpace(in.Text()), "XDG_DOCUMENTS_DIR=")
		if !ok {
			continue
		}
		value = strings.Trim(value, `"`)
		if rest, ok := strings.CutPrefix(value, "$HOME"); ok {
			value = home + rest
		}
		if filepath.IsAbs(value) && filepath.Clean(value) != filepath.Clean(home) {
			dir = filepath.Clean(value)
		}
	}
	return dir
}

// Language is what the system speaks, as "de_DE.UTF-8"; "": it does not say.
func Language() string {
	return cmp.Or(os.Getenv("LC_ALL"), os.Getenv("LC_MESSAGES"), os.Getenv("LANG"))
}
