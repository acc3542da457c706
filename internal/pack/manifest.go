package pack

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"slices"
	"strings"
)

// ManifestVersion is the version of the form of manifest.json.
const ManifestVersion = 1

// ManifestName is the one file that the manifest does not list.
const ManifestName = "manifest.json"

// Manifest lists the files of a pack.
type Manifest struct {
	Version int    `json:"version"`
	Kind    string `json:"kind"` // "gradatim lesson"
	Title   string `json:"title"`
	Program string `json:"program"`
	Rights  string `json:"rights"` // "unknown", "public domain", "own", "licensed"
	// Job is the SHA-256 of all that a run was given, of which there was nothing to tell:
	// while it and Program stay, so does every file.
	Job   string `json:"job,omitempty"`
	Files []File `json:"files"` // by Path
}

const manifestKind = "gradatim lesson"

// File is one file of a pack.
type File struct {
	Path   string `json:"path"` // with slashes, from the pack's folder
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
	// Part is what the file belongs to, Inputs the SHA-256 of everything that the
	// part is made of: while it stays, the file need not be made again.
	Part   string `json:"part"`
	Inputs string `json:"inputs"`
}

// encode writes the manifest.
func (m Manifest) encode() ([]byte, error) {
	b, err := json.MarshalIndent(m, "", " ")
	return append(b, '\n'), err
}

// ReadManifest reads the manifest of the pack that stands in a store. The error is
// fs.ErrNotExist where there is none.
func ReadManifest(ctx context.Context, s Store) (Manifest, error) {
	var m Manifest
	b, err := read(ctx, s, ManifestName)
	if err != nil {
		return m, err
	}
	if err := json.Unmarshal(b, &m); err != nil {
		return m, fmt.Errorf("%s is no JSON: %w", ManifestName, err)
	}
	if m.Kind != manifestKind {
		return m, fmt.Errorf("%s is not that of a lesson", ManifestName)
	}
	if m.Version != ManifestVersion {
		return m, fmt.Errorf("%s has version %d; version %d is read", ManifestName, m.Version, ManifestVersion)
	}
	for _, f := range m.Files {
		if !fs.ValidPath(f.Path) {
			return m, fmt.Errorf("%s names a file %q", ManifestName, f.Path)
		}
	}
	return m, nil
}

// Fault is a file of a pack that is not as the manifest has it.
type Fault struct {
	Path string
	Is   string // "missing", "changed" or "not listed"
}

// Verify compares a pack with its manifest: files that are missing, changed or
// not listed, by path.
func Verify(ctx context.Context, s Store) (wrong []Fault, err error) {
	m, err := ReadManifest(ctx, s)
	if err != nil {
		return nil, err
	}
	listed := map[string]bool{ManifestName: true}
	for _, f := range m.Files {
		listed[f.Path] = true
		sum, n, err := hashFile(ctx, s, f.Path)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			wrong = append(wrong, Fault{f.Path, "missing"})
		case err != nil:
			return nil, err
		case sum != f.SHA256 || n != f.Bytes:
			wrong = append(wrong, Fault{f.Path, "changed"})
		}
	}
	more, err := s.List(ctx)
	for _, p := range more {
		if !listed[p] {
			wrong = append(wrong, Fault{p, "not listed"})
		}
	}
	slices.SortFunc(wrong, func(a, b Fault) int { return strings.Compare(a.Path, b.Path) })
	return wrong, err
}

func hashFile(ctx context.Context, s Store, path string) (sum string, n int64, err error) {
	r, err := s.Open(ctx, path)
	if err != nil {
		return "", 0, err
	}
	defer r.Close()
	h := sha256.New()
	n, err = io.Copy(h, r)
	return hex.EncodeToString(h.Sum(nil)), n, err
}

// digest hashes what a part is made of. Every piece is written with its length,
// so that no two lists of pieces read alike.
type digest struct{ b strings.Builder }

func (d *digest) bytes(b []byte) { fmt.Fprintf(&d.b, "%d:%s;", len(b), b) }
func (d *digest) text(s string)  { d.bytes([]byte(s)) }

// value adds a value by its JSON.
func (d *digest) value(v any) error {
	b, err := json.Marshal(v)
	d.bytes(b)
	return err
}

func (d *digest) sum() string {
	s := sha256.Sum256([]byte(d.b.String()))
	return hex.EncodeToString(s[:])
}
