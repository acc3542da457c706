package machine

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
)

// DoubleClicked tells whether the program was started as an application: then its file
// lies in a bundle, and nothing that it prints is seen.
func DoubleClicked() bool {
	exe, err := os.Executable()
	return err == nil && strings.HasSuffix(filepath.Dir(exe), ".app/Contents/MacOS") && !Terminal(os.Stdin) && !Terminal(os.Stdout)
}

// Documents is the user's folder of documents.
func Documents() (string, error) {
	home, err := os.UserHomeDir()
	return filepath.Join(home, "Documents"), err
}

// Language is what the system speaks, as "de_DE"; "": it does not say.
func Language() string {
	out, err := exec.Command("defaults", "read", "-g", "AppleLocale").Output()
	if err != nil {
		return ""
	}
	return string(out)
}
