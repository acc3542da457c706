package pack

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"path"
	"strings"
)

// offlineName is the service worker. It stands at the top of the lesson: one answers only
// for what lies below it (W3C, Service Workers, section on the scope).
const offlineName = "sw.js"

// offlinePart is the part of the manifest that it belongs to.
const offlinePart = "offline"

// offline makes the service worker of a lesson: a script with the files that it keeps at
// once, and a version made of the hashes of all. It fetches no sound and nothing that is
// to be printed, no page for the teacher, and of the lesson in further keys nothing
// before it is opened.
func offline(files []File) (File, []byte, error) {
	code, err := staticFiles.ReadFile("static/" + offlineName)
	if err != nil {
		return File{}, nil, err
	}
	var d digest
	d.bytes(code)
	keep := []string{}
	for _, f := range files {
		d.text(f.Path)
		d.text(f.SHA256)
		switch path.Ext(f.Path) {
		case ".html", ".css", ".js", ".woff", ".ttf", ".png", ".jpg", ".jpeg":
			if !ForTeacher(f.Path) && !strings.Contains(f.Path, "-in-") && f.Path != notesName && f.Path != previewName {
				keep = append(keep, f.Path)
			}
		}
	}
	list, err := json.Marshal(keep)
	if err != nil {
		return File{}, nil, err
	}
	version := d.sum()
	data := fmt.Appendf(nil, "const version = %q;\nconst files = %s;\n%s", version, list, code)
	sum := sha256.Sum256(data)
	return File{offlineName, int64(len(data)), hex.EncodeToString(sum[:]), offlinePart, version}, data, nil
}
