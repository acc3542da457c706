package pack_test

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"strings"
	"testing"

	"gradatim/internal/pack"
	"gradatim/internal/sharedtest"
)

// TestEPUB holds the book against what EPUB 3.3 (W3C) asks: the kind first and stored
// (4.2.2), a container (4.2.6.3), metadata that must be there (5.5), a manifest of all that
// is in it and of nothing else (5.6.2), a spine of it (5.7), well-formed XHTML (6.1.2), a
// navigation whose links lead somewhere (7).
func TestEPUB(t *testing.T) {
	in := inputOf(t, read(t, ferryLamp), "1,3")
	in.Own.Imprint.EPUB = true
	dir := filepath.Join(t.TempDir(), "lesson")
	build(t, dir, in, pack.Options{})
	data, err := os.ReadFile(filepath.Join(dir, "lesson.epub"))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(data[30:], []byte("mimetypeapplication/epub+zip")) {
		t.Errorf("it begins with %q", data[30:70])
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{}
	for i, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		b, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		files[f.Name] = b
		if i == 0 && (f.Name != "mimetype" || f.Method != zip.Store || len(f.Extra) > 0) {
			t.Errorf("the first entry is %s, method %d, %d bytes extra", f.Name, f.Method, len(f.Extra))
		}
	}
	var box struct {
		Roots []struct {
			Path string `xml:"full-path,attr"`
			Type string `xml:"media-type,attr"`
		} `xml:"rootfiles>rootfile"`
	}
	if err := xml.Unmarshal(files["META-INF/container.xml"], &box); err != nil || len(box.Roots) != 1 || box.Roots[0].Type != "application/oebps-package+xml" {
		t.Fatalf("container: %+v, %v", box, err)
	}
	var opf struct {
		Unique string `xml:"unique-identifier,attr"`
		Meta   struct {
			ID []struct {
				ID   string `xml:"id,attr"`
				Text string `xml:",chardata"`
			} `xml:"identifier"`
			Title    []string `xml:"title"`
			Language []string `xml:"language"`
			Meta     []struct {
				Property string `xml:"property,attr"`
				Text     string `xml:",chardata"`
			} `xml:"meta"`
		} `xml:"metadata"`
		Items []struct {
			ID         string `xml:"id,attr"`
			Href       string `xml:"href,attr"`
			Type       string `xml:"media-type,attr"`
			Properties string `xml:"properties,attr"`
		} `xml:"manifest>item"`
		Spine []struct {
			ID string `xml:"idref,attr"`
		} `xml:"spine>itemref"`
	}
	root := box.Roots[0].Path
	if err := xml.Unmarshal(files[root], &opf); err != nil {
		t.Fatal(err)
	}
	if m := opf.Meta; len(m.ID) != 1 || m.ID[0].ID != opf.Unique || !strings.HasPrefix(m.ID[0].Text, "urn:uuid:") || len(m.Title) != 1 || m.Title[0] != in.Song.Title || len(m.Language) != 1 {
		t.Errorf("metadata: %+v", opf.Meta)
	}
	modified := 0
	for _, m := range opf.Meta.Meta {
		if m.Property == "dcterms:modified" {
			modified++
		}
	}
	if modified != 1 {
		t.Errorf("dcterms:modified stands %d times", modified)
	}
	items, navs := map[string]string{}, 0
	listed := map[string]bool{"mimetype": true, "META-INF/container.xml": true, root: true}
	ids := map[string]map[string]bool{} // by file
	for _, it := range opf.Items {
		name := path.Join(path.Dir(root), it.Href)
		if _, ok := files[name]; !ok || items[it.ID] != "" {
			t.Errorf("%s, %s is not there, or twice", it.ID, it.Href)
		}
		items[it.ID], listed[name] = name, true
		if it.Properties == "nav" {
			navs++
		}
		if it.Type == "application/xhtml+xml" {
			ids[name] = wellFormed(t, name, files[name], it.Properties == "svg")
		}
	}
	for name := range files {
		if !listed[name] {
			t.Errorf("%s is not in the manifest", name)
		}
	}
	if navs != 1 || len(opf.Spine) != len(in.Editions[0].Pages)+2 {
		t.Errorf("%d navigations, %d documents in the spine", navs, len(opf.Spine))
	}
	for _, s := range opf.Spine {
		if items[s.ID] == "" {
			t.Errorf("the spine has %s, which is not there", s.ID)
		}
	}
	links := map[string]int{} // by document
	for name := range ids {
		d := xml.NewDecoder(bytes.NewReader(files[name]))
		for tok, err := d.Token(); err == nil; tok, err = d.Token() { // it has been read before
			if e, ok := tok.(xml.StartElement); ok && e.Name.Local == "a" {
				links[path.Base(name)]++
				file, id, _ := strings.Cut(attribute(e, "href"), "#")
				if there := ids[path.Join(path.Dir(root), file)]; there == nil || id != "" && !there[id] {
					t.Errorf("%s#%s leads nowhere", file, id)
				}
			}
		}
	}
	if links["nav.xhtml"] < 10 || links["level-1.xhtml"] < 5 {
		t.Errorf("links: %v", links)
	}
	t.Run("checker", func(t *testing.T) { checked(t, filepath.Join(dir, "lesson.epub")) })
	again := filepath.Join(t.TempDir(), "again")
	build(t, again, in, pack.Options{})
	if b, _ := os.ReadFile(filepath.Join(again, "lesson.epub")); !bytes.Equal(b, data) {
		t.Error("the same lesson is another book")
	}
}

// checked has a book read by @likecoin/epubcheck-ts (npm), a port of the W3C's checker that needs Node and no
// JVM; by its own words it agrees with it on 95 % of 758 examples.
func checked(t *testing.T, file string) {
	t.Helper()
	sharedtest.Module(t, "@likecoin/epubcheck-ts")
	script := filepath.Join(sharedtest.Root(), "node_modules", "@likecoin", "epubcheck-ts", "bin", "epubcheck.js")
	out, err := exec.Command(sharedtest.Tool(t, "node"), script, "--fail-on-warnings", file).CombinedOutput()
	if err != nil {
		t.Errorf("%v\n%s", err, out)
	}
}

func attribute(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// wellFormed reads a document and returns its ids, each there once; what its drawings take
// from elsewhere in it is there, each is named for who does not see it, and a document
// with drawings says so.
func wellFormed(t *testing.T, name string, data []byte, drawings bool) map[string]bool {
	t.Helper()
	ids := map[string]bool{}
	var used []string
	pictures := 0
	d := xml.NewDecoder(bytes.NewReader(data))
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		e, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		if id := attribute(e, "id"); id != "" {
			if ids[id] {
				t.Errorf("%s: id %s stands twice", name, id)
			}
			ids[id] = true
		}
		switch e.Name.Local {
		case "use":
			used = append(used, strings.TrimPrefix(attribute(e, "href"), "#"))
		case "svg":
			if attribute(e, "aria-hidden") != "true" {
				pictures++
				used = append(used, attribute(e, "aria-labelledby"))
			}
			if e.Name.Space != "http://www.w3.org/2000/svg" {
				t.Errorf("%s: a drawing in the namespace %q", name, e.Name.Space)
			}
		}
	}
	for _, id := range used {
		if !ids[id] {
			t.Errorf("%s: nothing has the id %q", name, id)
		}
	}
	if (pictures > 0) != drawings {
		t.Errorf("%s: %d drawings, told of: %v", name, pictures, drawings)
	}
	return ids
}
