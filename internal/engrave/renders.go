package engrave

import (
	"bytes"
	"compress/flate"
	"container/list"
	"context"
	"crypto/sha256"
	"io"
	"strings"
	"sync"
)

// renders remembers what the library drew. The pages of a lesson, its site and
// its workbook ask for the same scores at the same proportions again and again;
// what differs, the size and the page around them, is laid out by us.
//
// What is asked for while another goroutine draws it is waited for. A long one is kept packed,
// which makes it ten times smaller in a hundredth of the time that it took to draw. The least
// recently used goes first when there is too much; a score too large for the
// whole is not kept.
type renders struct {
	mu    sync.Mutex
	byKey map[[sha256.Size]byte]*list.Element
	order list.List // of *rendering, the latest in front
	bytes int
}

// keepBytes bounds what is remembered: the scores of a lesson of five levels
// take two thirds of it.
const keepBytes = 32 << 20

// rendering is what the library made of a score, once ready is closed.
type rendering struct {
	key       [sha256.Size]byte
	ready     chan struct{}
	svgs, log []string
	packed    [][]byte // in the place of svgs, where these are long
	err       error
	bytes     int
}

// packFrom is from how many bytes on drawings are kept packed.
const packFrom = 2 << 20

// pack puts drawings away, and counts what they take.
func (d *rendering) pack(svgs []string) {
	n := 0
	for _, s := range svgs {
		n += len(s)
	}
	if n < packFrom {
		d.svgs, d.bytes = svgs, n
		return
	}
	for _, s := range svgs {
		var b bytes.Buffer
		z, _ := flate.NewWriter(&b, flate.BestSpeed) // it knows the level
		io.WriteString(z, s)                         // a buffer takes all
		z.Close()
		d.packed = append(d.packed, bytes.Clone(b.Bytes()))
		d.bytes += b.Len()
	}
}

// unpack returns the drawings.
func (d *rendering) unpack() ([]string, error) {
	if d.packed == nil {
		return d.svgs, nil
	}
	var out []string
	for _, p := range d.packed {
		var b strings.Builder
		if _, err := io.Copy(&b, flate.NewReader(bytes.NewReader(p))); err != nil {
			return nil, err
		}
		out = append(out, b.String())
	}
	return out, nil
}

// get returns what draw makes for a key, drawn now or before. An error is not
// kept: it may be that of another caller's context.
func (r *renders) get(ctx context.Context, key [sha256.Size]byte, draw func() (svgs, log []string, err error)) (svgs, log []string, err error) {
	r.mu.Lock()
	if e, ok := r.byKey[key]; ok {
		r.order.MoveToFront(e)
		r.mu.Unlock()
		d := e.Value.(*rendering)
		select {
		case <-d.ready:
		case <-ctx.Done():
			return nil, nil, context.Cause(ctx)
		}
		if d.err != nil {
			return draw()
		}
		svgs, err := d.unpack()
		return svgs, d.log, err
	}
	if r.byKey == nil {
		r.byKey = map[[sha256.Size]byte]*list.Element{}
	}
	d := &rendering{key: key, ready: make(chan struct{})}
	r.byKey[key] = r.order.PushFront(d)
	r.mu.Unlock()

	svgs, d.log, d.err = draw()
	d.pack(svgs)
	close(d.ready)
	r.mu.Lock()
	defer r.mu.Unlock()
	if d.err != nil {
		r.drop(r.byKey[key])
		return nil, nil, d.err
	}
	r.bytes += d.bytes
	for e := r.order.Back(); e != nil && r.bytes > keepBytes; {
		before := e.Prev()
		if e.Value.(*rendering).bytes > 0 { // what is being drawn stays
			r.drop(e)
		}
		e = before
	}
	return svgs, d.log, nil
}

func (r *renders) drop(e *list.Element) {
	d := r.order.Remove(e).(*rendering)
	delete(r.byKey, d.key)
	r.bytes -= d.bytes
}
