package desk

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"errors"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strings"

	"gradatim/assets"
)

//go:embed static
var staticFiles embed.FS

// tree is what pages load: scripts, the style sheet, letters. All of it stands below one
// hash of everything, so that a browser may keep it for ever and modules may name one
// another by relative paths.
type tree struct {
	root  string // "/static/HASH/"
	files map[string][]byte
}

func newTree() (*tree, error) {
	t := &tree{files: map[string][]byte{}}
	sum := sha256.New()
	err := fs.WalkDir(staticFiles, "static", func(p string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		b, err := fs.ReadFile(staticFiles, p)
		t.files[strings.TrimPrefix(p, "static/")] = b
		sum.Write([]byte(p + "\x00"))
		sum.Write(b)
		return err
	})
	if err != nil {
		return nil, err
	}
	// A program that was built without its assets has the letters of the machine.
	fonts, err := assets.Fonts()
	var missing *assets.MissingError
	if err != nil && !errors.As(err, &missing) {
		return nil, err
	}
	for _, f := range fonts {
		t.files[f.Name] = f.Data
		sum.Write([]byte(f.Name + "\x00"))
		sum.Write(f.Data)
	}
	t.root = "/static/" + hex.EncodeToString(sum.Sum(nil)[:8]) + "/"
	return t, nil
}

// types of the files, whatever the machine says.
var types = map[string]string{".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".svg": "image/svg+xml", ".woff": "font/woff", ".ttf": "font/ttf"}

func (t *tree) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	name := strings.TrimPrefix(r.URL.Path, t.root)
	b, ok := t.files[name]
	if !ok {
		http.NotFound(w, r)
		return
	}
	kind, ok := types[path.Ext(name)]
	if !ok {
		kind = mime.TypeByExtension(path.Ext(name))
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	w.Write(b)
}
