package shelf

import (
	"context"
	"errors"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/johannesboyne/gofakes3"
	"github.com/johannesboyne/gofakes3/backend/s3mem"

	"gradatim/internal/sharedtest"
)

// bucket is an object store for a test, with the address of a bucket there. It answers
// slowly, and refuses requests by their number as a busy server does.
func bucket(t *testing.T, refuses func(n int64) bool) string {
	t.Helper()
	back := s3mem.New()
	if err := back.CreateBucket("tunes"); err != nil {
		t.Fatal(err)
	}
	fake := gofakes3.New(back).Server()
	var n atomic.Int64
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if refuses(n.Add(1)) {
			http.Error(w, "slow down", http.StatusServiceUnavailable)
			return
		}
		time.Sleep(time.Millisecond)
		fake.ServeHTTP(w, r)
	}))
	t.Cleanup(srv.Close)
	t.Setenv("AWS_ACCESS_KEY_ID", "key-of-a-test")
	t.Setenv("AWS_SECRET_ACCESS_KEY", "secret-of-a-test")
	q := url.Values{"endpoint": {srv.URL}, "region": {"eu-central-1"}, "use_path_style": {"true"}}
	return "s3://tunes?" + q.Encode()
}

// TestObjectStore: a shelf on a database with its files in an object store holds and
// writes the same as one in a folder, also where the store refuses now and then; what is
// missing and damaged there is found.
func TestObjectStore(t *testing.T) {
	ctx := context.Background()
	at, err := ParsePlace(sharedtest.Postgres(t), bucket(t, func(n int64) bool { return n == 5 }), true)
	if err != nil {
		t.Fatal(err)
	}
	s, err := Create(ctx, at, Config{Author: "Ada", Now: clock()})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	filled(t, s)
	local := empty(t, "embedded")
	filled(t, local)
	var trees []string
	for _, x := range []*Shelf{s, local} {
		dir := filepath.Join(t.TempDir(), "out")
		if _, err := x.Export(ctx, dir, ExportOptions{}); err != nil {
			t.Fatal(err)
		}
		trees = append(trees, treeOf(t, dir))
	}
	if trees[0] != trees[1] {
		t.Error("the object store holds another shelf")
	}
	if c, err := s.Check(ctx); err != nil || len(c.Problems) > 0 || c.Loose > 0 {
		t.Errorf("%+v, %v", c, err)
	}
	gone := Hash([]byte("a page"))
	if err := s.files.Delete(ctx, key(gone)); err != nil {
		t.Fatal(err)
	}
	if _, err := s.File(ctx, gone); !errors.Is(err, fs.ErrNotExist) || code(err) != "shelf-file.missing" {
		t.Errorf("a file that is gone: %v", err)
	}
	if c, err := s.Check(ctx); err != nil || len(c.Problems) != 1 {
		t.Errorf("%+v, %v", c, err)
	}
}

// TestObjectStoreIsAway: a store that answers nothing stops the work, loses nothing, and
// tells no secret.
func TestObjectStoreIsAway(t *testing.T) {
	t.Setenv("AWS_MAX_ATTEMPTS", "1")
	ctx := context.Background()
	address := bucket(t, func(int64) bool { return true })
	at, err := ParsePlace(sharedtest.Postgres(t), address, true)
	if err != nil {
		t.Fatal(err)
	}
	s, err := Create(ctx, at, Config{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	_, err = s.Add(ctx, sheetOf(1))
	if code(err) != "shelf-broken" || strings.Contains(err.Error(), "secret-of-a-test") {
		t.Errorf("%v", err)
	}
	if n, err := s.Count(ctx, Query{}); n != 0 || err != nil {
		t.Errorf("%d tunes, %v", n, err)
	}
}
