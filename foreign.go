package gradatim

import (
	"net/http"
	"strings"

	"gradatim/leadsheet"
)

// foreign tells of files that hold no notes that could be read, by their first bytes (the
// signatures of WHATWG MIME Sniffing, as the standard library knows them): a PDF, a
// picture, a sound, a film.
func foreign(name string, data []byte) error {
	kind := http.DetectContentType(data[:min(len(data), 512)])
	says := leadsheet.Saying("")
	switch {
	case kind == "application/pdf":
		says = "file-kind.pdf"
	case strings.HasPrefix(kind, "image/"):
		says = "file-kind.picture"
	case strings.HasPrefix(kind, "audio/") && kind != "audio/midi", kind == "application/ogg", strings.HasPrefix(string(data[:min(len(data), 4)]), "fLaC"):
		says = "file-kind.sound"
	case strings.HasPrefix(kind, "video/"):
		says = "file-kind.film"
	case kind == "application/x-gzip", kind == "application/x-rar-compressed":
		says = "file-kind.packed"
	default:
		return nil
	}
	var ps leadsheet.Problems
	ps.Tell(leadsheet.Error, leadsheet.Pos{File: name}, says)
	return ps
}
