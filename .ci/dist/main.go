// Command dist makes what people download: the program as one file for each system and
// processor, with the bills of materials and the checksums of all of it, under out/dist.
//
//	go run ./.ci/dist [SYSTEM/PROCESSOR …]
//
// Windows starts a file by its name's end; macOS wants a folder of a certain shape, which
// travels as a zip file; on Linux a tar file keeps that the program may be run. Same
// commit, same bytes: times in archives are fixed, and the program is built without paths.
package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"gradatim"
)

// out is where everything is put.
const out = "out/dist"

// targets are what is made where nothing else is asked for.
var targets = []string{"darwin/arm64", "darwin/amd64", "windows/amd64", "windows/arm64", "linux/amd64", "linux/arm64"}

// made is the time of every file in an archive: the first day that a zip file can name.
var made = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)

// file is one of an archive.
type file struct {
	path string
	data []byte
	run  bool // it may be run
}

func main() {
	if args := os.Args[1:]; len(args) > 0 {
		targets = args
	}
	if err := all(); err != nil {
		fmt.Fprintln(os.Stderr, "dist:", err)
		os.Exit(1)
	}
}

func all() error {
	if err := errors.Join(os.RemoveAll(out), os.MkdirAll(out, 0o777)); err != nil {
		return err
	}
	work, err := os.MkdirTemp("", "gradatim-dist-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	var names []string
	put := func(name string, data []byte, mode os.FileMode) error {
		names = append(names, name)
		fmt.Printf("%s/%s  %.1f MB\n", out, name, float64(len(data))/1e6)
		return os.WriteFile(filepath.Join(out, name), data, mode)
	}
	for _, t := range targets {
		system, processor, ok := strings.Cut(t, "/")
		if !ok {
			return fmt.Errorf("%q is no SYSTEM/PROCESSOR", t)
		}
		bin := filepath.Join(work, system+"-"+processor)
		if err := build(bin, system, processor); err != nil {
			return err
		}
		program, err := os.ReadFile(bin)
		if err != nil {
			return err
		}
		stem := fmt.Sprintf("gradatim-%s-%s-%s", gradatim.Release, map[string]string{"darwin": "macos"}[system]+strings.TrimPrefix(system, "darwin"), processor)
		name, data, err := packed(stem, system, program)
		if err != nil {
			return err
		}
		bill, err := materials(bin)
		if err != nil {
			return err
		}
		if err := errors.Join(put(name, data, 0o777), put(stem+".cdx.json", bill, 0o666)); err != nil {
			return err
		}
	}
	data, err := command(nil, "npm", "sbom", "--omit", "dev", "--package-lock-only", "--sbom-format", "cyclonedx", "--sbom-type", "application")
	if err != nil {
		return err
	}
	if err := put("materials.cdx.json", data, 0o666); err != nil {
		return err
	}
	return sums(names)
}

// build compiles the program for a system.
func build(to, system, processor string) error {
	_, err := command([]string{"CGO_ENABLED=0", "GOOS=" + system, "GOARCH=" + processor}, "go", "build", "-trimpath", "-ldflags=-s -w", "-o", to, "./cmd/gradatim")
	return err
}

// materials is the bill of materials of a program: the modules that it says it is made of.
func materials(bin string) ([]byte, error) {
	return command(nil, "go", "run", "github.com/CycloneDX/cyclonedx-gomod/cmd/cyclonedx-gomod@v1.10.0", "bin", "-json", "-noserial", bin)
}

// packed is the one file in which a program travels, and its name.
func packed(stem, system string, program []byte) (name string, data []byte, err error) {
	switch system {
	case "windows":
		return stem + ".exe", program, nil
	case "darwin":
		data, err = zipped([]file{
			{"Gradatim.app/Contents/Info.plist", []byte(plist), false},
			{"Gradatim.app/Contents/MacOS/gradatim", program, true},
		})
		return stem + ".zip", data, err
	}
	data, err = tarred([]file{{stem + "/gradatim", program, true}, {stem + "/LICENSE", nil, false}, {stem + "/NOTICE", nil, false}})
	return stem + ".tar.gz", data, err
}

// plist says to macOS what the folder is (Apple, Bundle Programming Guide: the keys that an
// application needs).
var plist = `<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE plist PUBLIC "-//Apple//DTD PLIST 1.0//EN" "http://www.apple.com/DTDs/PropertyList-1.0.dtd">
<plist version="1.0">
<dict>
<key>CFBundleExecutable</key><string>gradatim</string>
<key>CFBundleIdentifier</key><string>gradatim</string>
<key>CFBundleName</key><string>Gradatim</string>
<key>CFBundlePackageType</key><string>APPL</string>
<key>CFBundleShortVersionString</key><string>` + gradatim.Release + `</string>
<key>CFBundleVersion</key><string>` + gradatim.Release + `</string>
<key>LSUIElement</key><true/>
</dict>
</plist>
`

// filled reads what a file of an archive has from the project, where it brings nothing.
func filled(f file) (file, error) {
	if f.data != nil {
		return f, nil
	}
	var err error
	f.data, err = os.ReadFile(filepath.Base(f.path))
	return f, err
}

func (f file) mode() os.FileMode {
	if f.run {
		return 0o755
	}
	return 0o644
}

func zipped(files []file) ([]byte, error) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, f := range files {
		f, err := filled(f)
		if err != nil {
			return nil, err
		}
		h := &zip.FileHeader{Name: f.path, Method: zip.Deflate, Modified: made}
		h.SetMode(f.mode())
		w, err := z.CreateHeader(h)
		if err != nil {
			return nil, err
		}
		if _, err := w.Write(f.data); err != nil {
			return nil, err
		}
	}
	err := z.Close() // it writes the list of files
	return b.Bytes(), err
}

func tarred(files []file) ([]byte, error) {
	var b bytes.Buffer
	packer := gzip.NewWriter(&b)
	t := tar.NewWriter(packer)
	for _, f := range files {
		f, err := filled(f)
		if err != nil {
			return nil, err
		}
		h := &tar.Header{Typeflag: tar.TypeReg, Name: f.path, Size: int64(len(f.data)), Mode: int64(f.mode()), ModTime: made, Format: tar.FormatUSTAR}
		if err := t.WriteHeader(h); err != nil {
			return nil, err
		}
		if _, err := t.Write(f.data); err != nil {
			return nil, err
		}
	}
	err := errors.Join(t.Close(), packer.Close())
	return b.Bytes(), err
}

// sums writes the checksums of some files, as sha256sum --check reads them.
func sums(names []string) error {
	slices.Sort(names)
	var b strings.Builder
	for _, name := range names {
		data, err := os.ReadFile(filepath.Join(out, name))
		if err != nil {
			return err
		}
		fmt.Fprintf(&b, "%x  %s\n", sha256.Sum256(data), name)
	}
	return os.WriteFile(filepath.Join(out, "SHA256SUMS"), []byte(b.String()), 0o666)
}

// command runs a program and returns what it prints.
func command(env []string, name string, args ...string) ([]byte, error) {
	c := exec.Command(name, args...)
	c.Env = append(os.Environ(), env...)
	var told bytes.Buffer
	c.Stderr = &told
	data, err := c.Output()
	if err != nil {
		return nil, fmt.Errorf("%s: %w\n%s", c, err, told.Bytes())
	}
	return data, nil
}
