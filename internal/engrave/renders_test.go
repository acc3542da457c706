package engrave

import (
	"context"
	"crypto/sha256"
	"errors"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
)

func keyed(s string) [sha256.Size]byte { return sha256.Sum256([]byte(s)) }

func TestRendersOnce(t *testing.T) {
	var r renders
	var drawn atomic.Int32
	hold := make(chan struct{})
	draw := func() ([]string, []string, error) {
		drawn.Add(1)
		<-hold
		return []string{"page"}, []string{"said"}, nil
	}
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			svgs, log, err := r.get(context.Background(), keyed("a"), draw)
			if err != nil || len(svgs) != 1 || svgs[0] != "page" || len(log) != 1 {
				t.Errorf("%v, %v, %v", svgs, log, err)
			}
		})
	}
	close(hold)
	wg.Wait()
	if drawn.Load() != 1 {
		t.Errorf("drawn %d times", drawn.Load())
	}
}

// An error is the affair of the one who met it: the next draws for himself.
func TestRendersErrors(t *testing.T) {
	var r renders
	fail := errors.New("cancelled")
	if _, _, err := r.get(context.Background(), keyed("a"), func() ([]string, []string, error) { return nil, nil, fail }); !errors.Is(err, fail) {
		t.Fatal(err)
	}
	svgs, _, err := r.get(context.Background(), keyed("a"), func() ([]string, []string, error) { return []string{"page"}, nil, nil })
	if err != nil || len(svgs) != 1 {
		t.Fatal(svgs, err)
	}

	// One who waits draws for himself when the other fails, and gives up with
	// his own context.
	started, hold := make(chan struct{}), make(chan struct{})
	done := make(chan error)
	go func() {
		_, _, err := r.get(context.Background(), keyed("b"), func() ([]string, []string, error) { close(started); <-hold; return nil, nil, fail })
		done <- err
	}()
	<-started
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, _, err := r.get(ctx, keyed("b"), nil); !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
	go func() {
		svgs, _, err := r.get(context.Background(), keyed("b"), func() ([]string, []string, error) { return []string{"mine"}, nil, nil })
		if err == nil && svgs[0] != "mine" {
			err = errors.New("not what was drawn")
		}
		done <- err
	}()
	close(hold)
	var failed int
	for range 2 {
		if err := <-done; errors.Is(err, fail) {
			failed++
		} else if err != nil {
			t.Error(err)
		}
	}
	if failed != 1 {
		t.Errorf("%d failed, want the one who met the error", failed)
	}
}

func TestRendersBound(t *testing.T) {
	var r renders
	noise := make([]byte, keepBytes/4-1<<13) // nothing makes it smaller
	_, _ = rand.NewChaCha8([32]byte{}).Read(noise)
	page := string(noise)
	drawn := map[string]int{}
	get := func(name string) {
		t.Helper()
		_, _, err := r.get(context.Background(), keyed(name), func() ([]string, []string, error) {
			drawn[name]++
			return []string{page}, nil, nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range []string{"a", "b", "c", "d", "a", "e", "a", "b"} { // e drives out b, the oldest then
		get(name)
	}
	if drawn["a"] != 1 || drawn["b"] != 2 {
		t.Errorf("drawn %v", drawn)
	}
	if r.bytes > keepBytes || len(r.byKey) != r.order.Len() || r.order.Len() != 4 {
		t.Errorf("%d bytes in %d, %d", r.bytes, len(r.byKey), r.order.Len())
	}
	huge := page + page + page + page + page
	if _, _, err := r.get(context.Background(), keyed("huge"), func() ([]string, []string, error) { return []string{huge}, nil, nil }); err != nil {
		t.Fatal(err)
	}
	if r.bytes > keepBytes {
		t.Errorf("%d bytes are kept", r.bytes)
	}
}

// A score at another size, of the same proportions, is not drawn again, and its
// picture is the same but for the scale.
func TestRendersAcrossSizes(t *testing.T) {
	g, s := engraver(t), study(8)
	g.forget()
	small := pages(t, s, Layout{Paper: Paper{Width: 90, Height: 800, Side: 0}, StaffHeight: 6, Title: Title{Hide: true}})
	n := len(g.drawn.byKey)
	large := pages(t, s, Layout{Paper: Paper{Width: 120, Height: 800, Side: 0}, StaffHeight: 8, Title: Title{Hide: true}})
	if len(g.drawn.byKey) != n {
		t.Errorf("%d drawings, then %d", n, len(g.drawn.byKey))
	}
	for id, b := range small.Boxes {
		if c := large.Boxes[id]; c.W < b.W*1.33 || c.W > b.W*1.34 {
			t.Fatalf("%s: %v mm, then %v", id, b.W, c.W)
		}
	}
}

// TestRendersPacked: long drawings are kept at a fraction of their size, and come back as they
// were.
func TestRendersPacked(t *testing.T) {
	var r renders
	long := []string{strings.Repeat("<path d=\"M0 1L2 3\"/>\n", packFrom/20), "short"}
	draw := func() ([]string, []string, error) { return long, []string{"said"}, nil }
	for range 2 {
		svgs, log, err := r.get(context.Background(), keyed("a"), draw)
		if err != nil || !slices.Equal(svgs, long) || len(log) != 1 {
			t.Fatal(len(svgs), log, err)
		}
		draw = nil // it is kept
	}
	if r.bytes == 0 || r.bytes > len(long[0])/8 {
		t.Errorf("%d bytes are kept of %d", r.bytes, len(long[0]))
	}
}
