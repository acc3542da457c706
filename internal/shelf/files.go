package shelf

import (
	"context"
	"crypto/md5"
	"errors"
	"io"
	"io/fs"
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
	at, err := s.files.Attributes(ctx, key(hash))
	there := err == nil
	switch {
	case there && at.Size == int64(len(data)):
		return nil
	case !there && gcerrors.Code(err) != gcerrors.NotFound:
		return s.place.broken(err)
	case s.cfg.ReadOnly:
		return s.place.problem("shelf-readonly")
	}
	err = writeWhole(ctx, s.files, key(hash), data, !there)
	if err != nil && gcerrors.Code(err) != gcerrors.FailedPrecondition { // another was first
		return s.place.broken(err)
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
