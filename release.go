package gradatim

import (
	"crypto/sha256"
	"fmt"
	"io"
	"os"
	"runtime/debug"
)

// Release is the version in CHANGELOG.md.
const Release = "0.1"

// program names this program for a manifest. One that was built from changed
// files, or that is another's, is told apart by its own hash: nothing that it makes
// may be taken for the work of another.
func program() string {
	name := "gradatim " + Release
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return name
	}
	set := map[string]string{}
	for _, s := range info.Settings {
		set[s.Key] = s.Value
	}
	if rev := set["vcs.revision"]; rev != "" && set["vcs.modified"] == "false" && info.Main.Path == "gradatim" {
		return name + " (" + rev[:min(len(rev), 12)] + ")"
	}
	exe, err := os.Executable()
	if err != nil {
		return name
	}
	f, err := os.Open(exe)
	if err != nil {
		return name
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return name
	}
	return fmt.Sprintf("%s (build %x)", name, h.Sum(nil)[:6])
}
