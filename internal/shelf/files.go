package shelf

import (
	"context"
	"crypto/md5"
	"crypto/rand"
	"errors"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"

	"gocloud.dev/blob"
	"gocloud.dev/gcerrors"

	"gradatim/leadsheet"
)

// key is where a file lies: spread over 256 folders, by its hash.
func key(hash string) string { return hash[:2] + "/" + hash }

// keep stores a file under its hash. One of its size that is there is left: its name says what it
// holds. One of another size was cut off, and is written anew.
func (s *Shelf) keep(ctx context.Context, hash string, data []byte) error {
	size, err := s.sizeOf(ctx, hash)
	switch {
	case err != nil:
		return s.place.broken(err)
	case size == int64(len(data)):
		return nil
	case s.cfg.ReadOnly:
		return s.place.problem("shelf-readonly")
	}
	if dir, local := s.place.fileFolder(); local {
		err = writeLocal(filepath.Join(dir, key(hash)), data)
	} else {
		err = writeWhole(ctx, s.files, key(hash), data, size < 0)
	}
	if err != nil && gcerrors.Code(err) != gcerrors.FailedPrecondition { // another was first
		return s.place.broken(err)
	}
	return nil
}

// sizeOf is how large the file under a hash is; -1: it is not there.
func (s *Shelf) sizeOf(ctx context.Context, hash string) (int64, error) {
	if dir, local := s.place.fileFolder(); local {
		st, err := os.Stat(filepath.Join(dir, key(hash)))
		if errors.Is(err, fs.ErrNotExist) {
			return -1, nil
		} else if err != nil {
			return 0, err
		}
		return st.Size(), nil
	}
	at, err := s.files.Attributes(ctx, key(hash))
	if gcerrors.Code(err) == gcerrors.NotFound {
		return -1, nil
	} else if err != nil {
		return 0, err
	}
	return at.Size, nil
}

// writeLocal writes a file of a folder, or none. It does what the library's driver does for folders
// with half of its calls to the system, of which most of the time of a small file is.
func writeLocal(name string, data []byte) error {
	aside := name + "." + rand.Text()[:8]
	f, err := os.OpenFile(aside, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o666)
	if errors.Is(err, fs.ErrNotExist) {
		if err := os.MkdirAll(filepath.Dir(name), 0o777); err != nil {
			return err
		}
		f, err = os.OpenFile(aside, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o666)
	}
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	if err = errors.Join(err, f.Close()); err == nil {
		err = os.Rename(aside, name)
	}
	if err != nil {
		return errors.Join(err, os.Remove(aside))
	}
	return nil
}

// writeWhole writes a file or none. The library's own WriteAll leaves what was written before a
// disk was full, under the file's name.
func writeWhole(ctx context.Context, to *blob.Bucket, key string, data []byte, ifNew bool) error {
	ctx, giveUp := context.WithCancel(ctx)
	defer giveUp()
	sum := md5.Sum(data) // a store that is far away compares it
	w, err := to.NewWriter(ctx, key, &blob.WriterOptions{ContentType: "application/octet-stream", ContentMD5: sum[:], IfNotExist: ifNew})
	if err != nil {
		return err
	}
	if _, err := w.Write(data); err != nil {
		giveUp()
		_ = w.Close()
		return err
	}
	return w.Close()
}

// Keep stores a file and returns its hash, by which File finds it.
func (s *Shelf) Keep(ctx context.Context, data []byte) (string, error) {
	h := Hash(data)
	return h, s.keep(ctx, h, data)
}

// File is a file by its hash. One that is not what its name says is damaged, and told.
func (s *Shelf) File(ctx context.Context, hash string) ([]byte, error) {
	data, err := s.files.ReadAll(ctx, key(hash))
	if err != nil {
		if gcerrors.Code(err) == gcerrors.NotFound {
			return nil, errors.Join(s.place.problem("shelf-file.missing", "Hash", hash), fs.ErrNotExist)
		}
		return nil, s.place.broken(err)
	}
	if Hash(data) != hash {
		return nil, tell(leadsheet.Pos{File: s.place.String()}, "shelf-file.damaged", "Hash", hash)
	}
	return data, nil
}

// eachFile calls f for every file that lies there whole.
func (s *Shelf) eachFile(ctx context.Context, f func(hash string) error) error {
	dir, local := s.place.fileFolder()
	if !local {
		for it := s.files.List(nil); ; {
			o, err := it.Next(ctx)
			if errors.Is(err, io.EOF) {
				return nil
			}
			if err != nil {
				return s.place.broken(err)
			}
			if err := f(path.Base(o.Key)); err != nil {
				return err
			}
		}
	}
	// Not by the list of the library: it stumbles over files that are being written.
	return filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return nil
		case err != nil:
			return s.place.broken(err)
		case d.IsDir() || len(d.Name()) != 64:
			return context.Cause(ctx)
		}
		return f(d.Name())
	})
}
