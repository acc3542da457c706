package engine

import (
	"bytes"
	"path"
	"slices"
	"strings"
	"sync"
)

// files are the files that the module carries in its data: fonts, outlines
// and tables. They are read once, from the first instance, and never change.
type files struct {
	mu   sync.Mutex
	data map[string][]byte   // by absolute path
	dirs map[string][]string // names in a folder, in order
}

// known tells whether they have been read.
func (f *files) known() bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.data != nil
}

// load takes the files out of memory through the table at p: name, length,
// content for each, ended by a zero.
func (f *files) load(t *Toolkit, p uint32) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.data != nil {
		return
	}
	f.data, f.dirs = map[string][]byte{}, map[string][]string{}
	for ; ; p += 12 {
		name, _ := t.mem.ReadUint32Le(p)
		if name == 0 {
			break
		}
		n, _ := t.mem.ReadUint32Le(p + 4)
		at, _ := t.mem.ReadUint32Le(p + 8)
		b, _ := t.mem.Read(at, n)
		f.data[path.Clean("/"+string(t.bytesAt(name)))] = bytes.Clone(b) // memory may move
	}
	seen := map[string]bool{}
	for name := range f.data {
		for name != "/" && !seen[name] {
			seen[name] = true
			dir := path.Dir(name)
			f.dirs[dir] = append(f.dirs[dir], path.Base(name))
			name = dir
		}
	}
	for _, names := range f.dirs {
		slices.Sort(names)
	}
}

// openFiles are the file descriptors of one instance.
type openFiles struct {
	files *files
	byFD  map[int32]*openFile
	next  int32
}

type openFile struct {
	path  string
	data  []byte
	pos   int64
	names []string // of a folder
}

func newOpenFiles(f *files) openFiles {
	return openFiles{files: f, byFD: map[int32]*openFile{}, next: 3}
}

// open returns a descriptor, or a negative error number.
func (o *openFiles) open(name string, flags uint32) int32 {
	if name == "" {
		return -errNoEntry
	}
	f := &openFile{path: path.Clean("/" + name)}
	if b, ok := o.files.data[f.path]; ok {
		if flags&3 != 0 { // to write
			return -errAccess
		}
		f.data = b
	} else if names, ok := o.files.dirs[f.path]; ok {
		f.names = append([]string{".", ".."}, names...)
	} else {
		return -errNoEntry
	}
	fd := o.next
	o.next++
	o.byFD[fd] = f
	return fd
}

// isDir tells whether a name in an open folder is a folder.
func (o *openFiles) isDir(in *openFile, name string) bool {
	if name == "." || name == ".." {
		return true
	}
	_, ok := o.files.dirs[strings.TrimSuffix(in.path, "/")+"/"+name]
	return ok
}

// Error numbers of WASI, which this compiler's C library uses.
const (
	errAccess      = 2
	errBadFile     = 8
	errInvalid     = 28
	errNoEntry     = 44
	errNotDir      = 54
	errNotTerminal = 59
)
