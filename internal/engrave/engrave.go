package engrave

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"gradatim/assets"
	"gradatim/internal/engrave/engine"
	"gradatim/internal/engrave/module"
	"gradatim/internal/engrave/vector"
	"gradatim/leadsheet"
)

// Config sets up an Engraver. The zero value is ready.
type Config struct {
	// EngineFile replaces the engraving library that the program carries: the
	// script of a build of its published package (verovio-module.mjs), or a
	// module that go run ./assets/prepare/engraver made from one.
	EngineFile string

	// CacheDir keeps compiled code between runs. Empty means a folder in the
	// user's cache folder; a folder that is missing or read-only is no error,
	// only slower.
	CacheDir string
	NoCache  bool // keep no compiled code

	Timeout time.Duration // for one score; 0 means one minute, and one more for each MiB of it
	Memory  int64         // bytes for one score; 0 means 1 GiB
}

// Engraver makes pages. It may be used by many goroutines at once; each score
// that is being engraved takes an instance of the library, which is kept for
// the next.
type Engraver struct {
	engine  *engine.Engine
	timeout time.Duration
	more    time.Duration // for each longScore of bytes

	fontOnce sync.Once
	font     *vector.Music
	fontErr  error

	drawn renders
	long  chan struct{} // one at a time draws a long score
}

// longScore is from how many bytes on a score is long: some three hundred bars of piano music.
// What is alive of such a score while it is drawn is a hundred bytes for each of its own.
const longScore = 1 << 20

// New starts an engraver. The first time on a machine this compiles the
// library, which takes one or two seconds; after that the compiled code comes
// from the cache. In a program that was built without the library the error is
// an *assets.MissingError, which names the commands to run.
func New(c Config) (*Engraver, error) {
	if c.Timeout < 0 {
		return nil, fmt.Errorf("engrave: a time limit of %s", c.Timeout)
	}
	mod, err := c.module()
	if err != nil {
		return nil, err
	}
	dir := c.CacheDir
	switch {
	case c.NoCache:
		dir = ""
	case dir == "":
		dir = engine.DefaultCacheDir()
	}
	e, err := engine.Open(context.Background(), engine.Config{Module: mod, CacheDir: dir, Memory: c.Memory})
	if err != nil {
		return nil, err
	}
	timeout, more := c.Timeout, time.Duration(0)
	if timeout == 0 {
		timeout, more = time.Minute, time.Minute
	}
	return &Engraver{engine: e, timeout: timeout, more: more, long: make(chan struct{}, 1)}, nil
}

// module returns the library's code.
func (c Config) module() ([]byte, error) {
	if c.EngineFile == "" {
		return assets.Engraver()
	}
	b, err := os.ReadFile(c.EngineFile)
	if err != nil {
		return nil, fmt.Errorf("the replacement of the engraver: %w", err)
	}
	if bytes.HasPrefix(b, []byte{0x1f, 0x8b}) {
		z, err := gzip.NewReader(bytes.NewReader(b))
		if err == nil {
			b, err = io.ReadAll(io.LimitReader(z, 256<<20))
		}
		if err != nil {
			return nil, fmt.Errorf("the replacement of the engraver: %w", err)
		}
	}
	if module.IsModule(b) {
		return b, nil
	}
	m, err := module.FromPackage(b)
	if err != nil {
		return nil, fmt.Errorf("the replacement of the engraver, %s: %w", c.EngineFile, err)
	}
	return m, nil
}

// Close frees the engraver.
func (g *Engraver) Close() error {
	g.fontOnce.Do(func() { g.fontErr = errors.New("engrave: the engraver is closed") }) // or wait until it is read
	return g.engine.Close()
}

// Pages engraves a MusicXML score, plain or packed (.mxl). What is wrong with
// the score or the layout comes back as leadsheet.Problems.
func (g *Engraver) Pages(ctx context.Context, musicxml []byte, l Layout) (*Document, error) {
	l, err := l.plain()
	if err != nil {
		return nil, err
	}
	if len(musicxml) > longScore {
		select {
		case g.long <- struct{}{}:
			defer func() { <-g.long }()
		case <-ctx.Done():
			return nil, context.Cause(ctx)
		}
	}
	limit := g.timeout + time.Duration(len(musicxml)/longScore)*g.more
	ctx, cancel := context.WithTimeoutCause(ctx, limit, tooLong(limit))
	defer cancel()
	p, music, err := g.read(ctx, musicxml, l)
	if err != nil {
		return nil, err
	}
	if l.elastic && !l.HideFoot {
		if doc, err := g.short(ctx, p, l, music); err != nil || doc != nil {
			return doc, err
		}
	}
	doc, err := g.pages(ctx, p, l, music)
	if err != nil || !l.elastic {
		return doc, err
	}
	if doc.Pages() > 1 {
		if less, err := g.closer(ctx, p, l, music, doc); err != nil || less != nil {
			return less, err
		}
	}
	if l.HideFoot || doc.Pages() > mostLarger { // a picture has no page to be filled
		return doc, nil
	}
	return g.larger(ctx, p, l, music, doc)
}

// shrink is by how much of their height staves are made smaller or larger at a time.
const shrink = 0.04

// smallest is how far staves may be made smaller to save a page: from 7 mm to
// 5.9, the least that piano music is commonly printed in; and largest how far larger to fill
// pages: to 8 mm, the most outside of first books (common practice, no source).
const (
	smallest = 0.84
	largest  = 1.14
)

// fullest is how full a line may be, for staves of another size or bars that are moved
// together: what was given up for a page should not be read with more effort.
const fullest = 1.0

// joins is of how many systems one is given up at most for a page: two pages that are full
// are not one.
const joins = 3

// tries is how many pages are drawn at most to save one; a long score is not drawn again and
// again, and not to be larger if it has more pages than mostLarger.
const (
	tries      = 12
	mostLarger = 3
)

// closer sets a score on fewer pages: with the largest staves with which it can be, and of
// those with the most systems. Of several pages a last one of at least half stays, if not
// smaller staves alone do without it; a single page is worth it that sections begin amid lines.
// What would be drawn is guessed from the systems as they are. nil: there is no way.
func (g *Engraver) closer(ctx context.Context, p *prepared, l Layout, music *vector.Music, doc *Document) (*Document, error) {
	full, n := l.StaffHeight, len(doc.Systems)
	l.joined = doc.Pages() == 2
	tried := 0
	for step := 0; ; step++ {
		size := max(1-float64(step)*shrink, smallest)
		l.StaffHeight = full * size
		c := l.systems(p)
		for lines := n; lines >= n-n/joins && (lines == n || l.joined || doc.sparse()); lines-- {
			l.lines = lines
			starts := c.starts(lines)
			if len(starts) > lines {
				break
			}
			lines = len(starts)
			if size == 1 && lines == n || c.fullest(starts) > fullest && lines < n || !doc.fewer(starts, size) {
				continue
			}
			if less, err := g.pages(ctx, p, l, music); err != nil || less.Pages() < doc.Pages() {
				return less, err
			}
			if tried += doc.Pages(); tried >= tries {
				return nil, nil
			}
		}
		if size == smallest {
			return nil, nil
		}
	}
}

// shortest is how many systems are surely so few that a page has room for larger staves.
const shortest = 4

// short sets a score of few systems with large staves at once, which spares it being drawn as it
// would be without; nil: it is not that short.
func (g *Engraver) short(ctx context.Context, p *prepared, l Layout, music *vector.Music) (*Document, error) {
	full, starts := l.StaffHeight, l.systems(p).starts(0)
	if len(starts) > shortest {
		return nil, nil
	}
	var last *Document
	was := 1.0
	for size := largest; size > 1; size -= shrink {
		l.StaffHeight = full * size
		c := l.systems(p)
		if !slices.Equal(c.starts(0), starts) || c.fullest(starts) > fullest || last != nil && !last.roomy(size/was) {
			continue
		}
		doc, err := g.pages(ctx, p, l, music)
		if err != nil {
			return nil, err
		}
		if slices.Equal(doc.begins, starts) && doc.Pages() == 1 && doc.roomy(1) {
			return doc, nil
		}
		if doc.Pages() > 1 { // there is nothing to reckon with
			return nil, nil
		}
		last, was = doc, size
	}
	return nil, nil
}

// larger makes the staves larger where the pages have room for it: with the same systems, as
// well apart as they look best.
func (g *Engraver) larger(ctx context.Context, p *prepared, l Layout, music *vector.Music, doc *Document) (*Document, error) {
	full := l.StaffHeight
	for size := largest; size > 1; size -= shrink {
		l.StaffHeight = full * size
		c := l.systems(p)
		starts := c.starts(0)
		if !slices.Equal(starts, doc.begins) || c.fullest(starts) > fullest || !doc.roomy(size) {
			continue
		}
		more, err := g.pages(ctx, p, l, music)
		if err != nil || more.Pages() == doc.Pages() && slices.Equal(more.begins, doc.begins) {
			return more, err
		}
	}
	return doc, nil
}

// read reads a score and the music font that it is set in.
func (g *Engraver) read(ctx context.Context, musicxml []byte, l Layout) (*prepared, *vector.Music, error) {
	root, told, err := readTree(ctx, musicxml)
	if err != nil {
		return nil, nil, err
	}
	if err := check(root); err != nil {
		return nil, nil, err
	}
	music, err := g.music(ctx)
	if err != nil {
		return nil, nil, err
	}
	p := prepare(ctx, root, l)
	if err := context.Cause(ctx); err != nil {
		return nil, nil, err
	}
	p.problems = append(told, p.problems...)
	return p, music, nil
}

// pages engraves a prepared score once.
func (g *Engraver) pages(ctx context.Context, p *prepared, l Layout, music *vector.Music) (*Document, error) {
	systems, log, err := g.systems(ctx, p, l, music)
	if err != nil {
		return nil, err
	}
	return compose(ctx, p, systems, l, typesetter{music}, importWarnings(log))
}

func tooLong(d time.Duration) error {
	return leadsheet.Problems{leadsheet.Tell(leadsheet.Error, leadsheet.Pos{}, "engrave-time", "Time", d.String())}
}

// music returns the library's music font.
func (g *Engraver) music(ctx context.Context) (*vector.Music, error) {
	read := make(chan struct{})
	go func() {
		defer close(read)
		g.fontOnce.Do(func() {
			// A cancelled first score must not spoil the font for the next.
			g.font, g.fontErr = readMusic(context.WithoutCancel(ctx), g.engine)
		})
	}()
	select {
	case <-read:
		return g.font, g.fontErr
	case <-ctx.Done():
		return nil, context.Cause(ctx)
	}
}

func readMusic(ctx context.Context, e *engine.Engine) (*vector.Music, error) {
	index, err := e.ReadFile(ctx, "data/"+musicFont+".xml")
	if err != nil {
		return nil, fmt.Errorf("engrave: the music font: %w", err)
	}
	var f struct {
		Em     float64 `xml:"units-per-em,attr"`
		Glyphs []struct {
			Code    string  `xml:"c,attr"`
			Advance float64 `xml:"h-a-x,attr"`
		} `xml:"g"`
	}
	if err := xml.Unmarshal(index, &f); err != nil || f.Em <= 0 {
		return nil, fmt.Errorf("engrave: the index of the music font cannot be read: %v", err)
	}
	advance := map[rune]float64{}
	for _, gl := range f.Glyphs {
		var r rune
		if _, err := fmt.Sscanf(gl.Code, "%X", &r); err == nil {
			advance[r] = gl.Advance
		}
	}
	return vector.NewMusic(musicFont, f.Em, advance, func(code string) (*vector.Path, error) {
		b, err := e.ReadFile(ctx, "data/"+musicFont+"/"+code+".xml")
		if err != nil {
			return nil, err
		}
		var s struct {
			Paths []struct {
				D string `xml:"d,attr"`
			} `xml:"path"`
		}
		if err := xml.Unmarshal(b, &s); err != nil {
			return nil, err
		}
		out := &vector.Path{}
		for _, p := range s.Paths {
			q, err := vector.ParsePath(p.D)
			if err != nil {
				return nil, err
			}
			out.Append(q.Transform(vector.Scale(1, -1)))
		}
		return out, nil
	}), nil
}

// systems has the score engraved, and again with fewer bars a system while
// the library finds systems crowded.
func (g *Engraver) systems(ctx context.Context, p *prepared, l Layout, music *vector.Music) (systems []*vector.Group, log []string, err error) {
	lineWidth := l.Paper.Width - 2*l.Paper.Side
	opts := options(l, lineWidth)
	c := l.systems(p)
	var before []int
	for try := 0; ; try++ {
		starts := c.starts(l.lines)
		if try > 0 && len(starts) == len(before) {
			c.crowd *= 1.1 // not enough to change anything
			if try < 12 {
				continue
			}
		}
		before = starts
		opts.JustifyLast = raggedLast
		if n := len(starts); n > 1 && c.fill(starts[n-1], len(p.bars)) >= fullLast*c.fill(starts[n-2], starts[n-1]) {
			opts.JustifyLast = 0
		}
		if len(starts) == 1 {
			systems, log, fill, err := g.undivided(ctx, p, opts, music)
			if err != nil || systems != nil {
				return systems, log, err
			}
			if fill > 1 && len(p.bars) > 1 && try < 12 { // the library would break it where it is full
				c.crowd *= 1.1
				continue
			}
		}
		svgs, log, err := g.render(ctx, opts, p.encode(starts))
		squeeze := squeezed(log)
		if err != nil {
			return nil, nil, g.place(ctx, err, opts, p)
		}
		if squeeze < 1 && try < 12 && len(starts) < len(p.bars) {
			c.crowd *= max(1.1, 1.02/squeeze)
			try = max(try, 8) // at most three more
			continue
		}
		systems, err = readSystems(ctx, svgs, music)
		return systems, log, err
	}
}

// undivided has a score of one system drawn as wide as its notes need; no systems, but what
// part of the line it fills, where that is so wide that the library would draw it out to the
// margin. Where it is not, the picture is the
// same as that of a score that is divided into lines, at less than half of the time: looking
// for lines costs the library more than all else of a few bars. And it is the same for lines
// of any width.
func (g *Engraver) undivided(ctx context.Context, p *prepared, o engineOptions, music *vector.Music) (systems []*vector.Group, log []string, fill float64, err error) {
	line := float64(o.PageWidth)
	o.Breaks, o.PageWidth, o.JustifyLast = "none", undividedWidth, raggedLast
	svgs, log, err := g.render(ctx, o, p.encode(nil))
	if err != nil {
		return nil, nil, 0, g.place(ctx, err, o, p)
	}
	w, ok := widthOf(svgs)
	if !ok || w > (raggedLast-0.03)*line { // labels before the system count too
		return nil, nil, w / line, nil
	}
	systems, err = readSystems(ctx, svgs, music)
	return systems, log, w / line, err
}

// undividedWidth stands for every width of a line: nothing is fitted to it.
const undividedWidth = 1000

// reViewBox finds how wide a page of the library is, in its units.
var reViewBox = regexp.MustCompile(`^[^>]*viewBox="0 0 ([0-9.]+) `)

func widthOf(svgs []string) (float64, bool) {
	if len(svgs) != 1 {
		return 0, false
	}
	_, svg, _ := strings.Cut(svgs[0], "<svg ")
	m := reViewBox.FindStringSubmatch(svg)
	if m == nil {
		return 0, false
	}
	w, err := strconv.ParseFloat(m[1], 64)
	return w, err == nil
}

// systems is what it costs to divide a score into systems.
func (l Layout) systems(p *prepared) systemCost {
	width := (l.Paper.Width - 2*l.Paper.Side) / l.scale() / spaceMM
	return systemCost{bars: p.bars, lead: p.lead, width: width, crowd: 1, density: l.Density, joined: l.joined && l.lines > 0}
}

// render returns the pages as the library writes them, and what it said. They
// are shared with who asks again, and must not be changed.
func (g *Engraver) render(ctx context.Context, o engineOptions, score string) (svgs, log []string, err error) {
	opts := o.json()
	return g.drawn.get(ctx, sha256.Sum256([]byte(opts+"\x00"+score)), func() (svgs, log []string, err error) {
		return g.draw(ctx, opts, score)
	})
}

// draw has the library draw a score.
func (g *Engraver) draw(ctx context.Context, opts, score string) (svgs, log []string, err error) {
	err = g.engine.Do(ctx, func(t *engine.Toolkit) error {
		if err := t.Load(opts, score); err != nil {
			return err
		}
		n, err := t.PageCount()
		if err != nil {
			return err
		}
		for i := 1; i <= n; i++ {
			s, err := t.SVG(i)
			if err != nil {
				return err
			}
			svgs = append(svgs, s)
		}
		log = slices.Clone(t.Log())
		return nil
	})
	return svgs, log, err
}

// reSqueeze finds the library's complaint about a system whose notes it had to
// move together: natural widths times the ratio.
var reSqueeze = regexp.MustCompile(`highly compressed \(ratio smaller than 0\.8: ([0-9.]+)\)`)

// squeezed tells how much the most crowded system was squeezed: 1 if none was
// badly.
func squeezed(log []string) float64 {
	most := 1.0
	for _, line := range log {
		if m := reSqueeze.FindStringSubmatch(line); m != nil {
			if r, err := strconv.ParseFloat(m[1], 64); err == nil && r > 0 {
				most = math.Min(most, r)
			}
		}
	}
	return most
}

// reImport finds what the library says of things in the score that it leaves
// out or mends.
var reImport = regexp.MustCompile(`^\[Warning\] MusicXML import: (.+)$`)

// importWarnings tells the caller of them, each once.
func importWarnings(log []string) leadsheet.Problems {
	var ps leadsheet.Problems
	seen := map[string]bool{}
	for _, line := range log {
		if m := reImport.FindStringSubmatch(line); m != nil && !seen[m[1]] {
			seen[m[1]] = true
			ps.Tell(leadsheet.Warning, leadsheet.Pos{}, "engrave-import", "Error", m[1])
		}
	}
	return ps
}

// place finds the bar at which the library gives up: the first whose addition
// to the bars before makes it do so.
func (g *Engraver) place(ctx context.Context, err error, o engineOptions, p *prepared) error {
	var trap *engine.TrapError
	var load *engine.LoadError
	if ctx.Err() != nil || !errors.As(err, &trap) && !errors.As(err, &load) {
		return err
	}
	fails := func(n int) bool {
		_, _, err := g.render(ctx, o, p.cut(n))
		return err != nil
	}
	good, bad := 0, len(p.bars)
	for bad-good > 1 && ctx.Err() == nil {
		if mid := (good + bad) / 2; fails(mid) {
			bad = mid
		} else {
			good = mid
		}
	}
	if ctx.Err() != nil {
		return context.Cause(ctx)
	}
	pos := leadsheet.Pos{Bar: bad}
	for _, part := range p.root.kids {
		if part.name == "part" {
			pos.Line, pos.Col = part.kids[bad-1].line, part.kids[bad-1].col
			break
		}
	}
	if load != nil && load.Log != "" {
		return leadsheet.Problems{leadsheet.Tell(leadsheet.Error, pos, "engrave-refused.because", "Error", short(strings.TrimPrefix(load.Log, "[Error] ")))}
	}
	return leadsheet.Problems{leadsheet.Tell(leadsheet.Error, pos, "engrave-refused")}
}

// cut encodes the first n bars.
func (p *prepared) cut(n int) string {
	whole := p.root
	defer func() { p.root = whole }()
	short := &element{name: whole.name, attr: whole.attr}
	for _, k := range whole.kids {
		if k.name == "part" {
			k = &element{name: k.name, attr: k.attr, kids: k.kids[:min(n, len(k.kids))]}
		}
		short.kids = append(short.kids, k)
	}
	p.root = short
	return p.encode(nil)
}
