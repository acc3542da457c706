package gradatim

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"gradatim/internal/account"
	"gradatim/internal/delivery"
	"gradatim/internal/pack"
	"gradatim/leadsheet"
)

// FolderList is a list of files in a folder, held against them.
type FolderList struct {
	Name    string // of the list's own file
	Files   int    // that it lists
	Missing []string
	Changed []string // since they were written
}

// CheckFolder compares the files in a folder with the lists that were put there with them:
// of a ladder, of recordings, of a lesson. What a stopped run has left is put right first.
// The error is the file system's, or a leadsheet.Problems where there is no list.
func CheckFolder(ctx context.Context, dir string) ([]FolderList, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	if err := delivery.Settle(dir); err != nil {
		return nil, err
	}
	var out []FolderList
	for _, e := range entries {
		var l FolderList
		var err error
		switch {
		case e.Name() == pack.ManifestName:
			l, err = checkLesson(ctx, dir)
		case e.Name() == account.ListName || strings.HasSuffix(e.Name(), account.RecordingsEnd):
			l, err = checkList(dir, e.Name())
		default:
			continue
		}
		if err != nil {
			return nil, err
		}
		out = append(out, l)
	}
	if out == nil {
		var ps leadsheet.Problems
		ps.Tell(leadsheet.Error, leadsheet.Pos{File: dir}, "folder-list.none")
		return nil, ps
	}
	return out, nil
}

func checkLesson(ctx context.Context, dir string) (FolderList, error) {
	folder, err := pack.NewFolder(dir)
	if err != nil {
		return FolderList{}, err
	}
	m, err := pack.ReadManifest(ctx, folder)
	if err != nil {
		return FolderList{}, unread(filepath.Join(dir, pack.ManifestName), err)
	}
	l := FolderList{Name: pack.ManifestName, Files: len(m.Files)}
	faults, err := pack.Verify(ctx, folder)
	for _, f := range faults {
		switch f.Is {
		case "missing":
			l.Missing = append(l.Missing, f.Path)
		case "changed":
			l.Changed = append(l.Changed, f.Path)
		}
	}
	return l, err
}

func checkList(dir, name string) (FolderList, error) {
	data, err := os.ReadFile(filepath.Join(dir, name))
	if err != nil {
		return FolderList{}, err
	}
	var files []delivery.Listed
	if name == account.ListName {
		var list account.List
		list, err = account.ReadList(data)
		files = list.All()
	} else {
		var list account.Recordings
		list, err = account.ReadRecordings(data)
		files = list.Files()
	}
	if err != nil {
		return FolderList{}, unread(filepath.Join(dir, name), err)
	}
	l := FolderList{Name: name, Files: len(files)}
	intact, err := delivery.Intact(dir, files)
	if err != nil {
		return FolderList{}, err
	}
	for _, f := range files {
		if slices.Contains(intact, f) {
			continue
		}
		if _, err := os.Stat(filepath.Join(dir, filepath.FromSlash(f.Path))); errors.Is(err, fs.ErrNotExist) {
			l.Missing = append(l.Missing, f.Path)
		} else {
			l.Changed = append(l.Changed, f.Path)
		}
	}
	return l, nil
}

func unread(name string, err error) error {
	var ps leadsheet.Problems
	ps.Tell(leadsheet.Error, leadsheet.Pos{File: name}, "folder-list.unread", "Error", err.Error())
	return ps
}
