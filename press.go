package gradatim

import (
	"bytes"
	"context"
	"errors"
	"io"
	"io/fs"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/BurntSushi/toml"

	"gradatim/internal/grade"
	"gradatim/internal/press"
	"gradatim/internal/shelf"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Product is what a press run makes of a tune in a key.
type Product string

// Products: a whole lesson; the pages with their data, MIDI files, accounts and PDF files;
// the same without PDF files.
const (
	Lessons Product = "lesson"
	Pages   Product = "pages"
	Scores  Product = "scores"
)

// ParseProduct reads a product.
func ParseProduct(s string) (Product, bool) {
	return Product(s), slices.Contains([]Product{Lessons, Pages, Scores}, Product(s))
}

// Press makes things of the tunes of a shelf in numbers. What it needs of a database is
// made when it is first used.
type Press struct {
	*press.Press
	shelf *Shelf
}

// What a press tells: go doc gradatim/internal/press says more.
type (
	PressRun      = press.Run
	PressPart     = press.Part
	PressProgress = press.Progress
	PressStep     = press.Step
	PressState    = press.State
	PressConfig   = press.Config
	PressCounters = press.Counters
)

// States of parts.
const (
	PartWaiting   = press.Waiting
	PartMaking    = press.Making
	PartDone      = press.Done
	PartFailed    = press.Failed
	PartCancelled = press.Cancelled
)

// Press opens the press of a shelf.
func (s *Shelf) Press(ctx context.Context) (*Press, error) {
	p, err := press.Open(ctx, s.Shelf)
	if err != nil {
		return nil, err
	}
	return &Press{p, s}, nil
}

// PressOrder says what a run makes. The zero value is a lesson of each tune in its own
// key.
type PressOrder struct {
	Product   Product // "": Lessons
	Territory string  // where it is published, if its rights carry it; "": it is not
	// Job has the options; its sheet, rights, choices and keys are those of each tune.
	Job Job
	// Keys, beside the tune's own that always comes first; AllKeys: the other eleven of
	// its mode.
	Keys    []Key
	AllKeys bool
	// AudioEverywhere records in every key; else in the first alone.
	AudioEverywhere bool
}

// PressPlan is a run before it is queued.
type PressPlan struct {
	Run   PressRun
	Parts []PressPart
	Tunes int
	// Took and Bytes are what it will cost one worker, as parts of the kind have cost on
	// this shelf; Guessed: some of it is of a kind that was never made here, and taken from
	// what was measured elsewhere (docs/press.md).
	Took    time.Duration
	Bytes   int64
	Guessed bool
}

// twelve keys, as they are usually written (common practice, no source).
var (
	majorKeys = strings.Fields("C Db D Eb E F Gb G Ab A Bb B")
	minorKeys = strings.Fields("C C# D Eb E F F# G G# A Bb B")
)

// keysFor are the keys that a tune is made in.
func (o PressOrder) keysFor(t ShelfTune) []Key {
	out := []Key{OwnKey}
	own, err := theory.ParseKey(t.Key)
	keys := o.Keys
	if o.AllKeys && err == nil {
		among := majorKeys
		if strings.HasSuffix(t.Key, "minor") || strings.HasSuffix(t.Key, "dorian") || strings.HasSuffix(t.Key, "phrygian") || strings.HasSuffix(t.Key, "aeolian") || strings.HasSuffix(t.Key, "locrian") {
			among = minorKeys
		}
		keys = nil
		for _, k := range among {
			keys = append(keys, Key(k))
		}
	}
	for _, k := range keys {
		if tonic, kerr := theory.ParseKey(string(k)); err == nil && kerr == nil && tonic.Tonic.Class() == own.Tonic.Class() {
			continue
		}
		if !slices.Contains(out, k) {
			out = append(out, k)
		}
	}
	return out
}

// costs of a part where nothing was made on a shelf yet, five levels as measured
// (docs/performance.md).
var costs = map[Product][2]press.Cost{ // without and with sound
	Scores:  {{Took: 200 * time.Millisecond, Bytes: 1_000_000}, {Took: 200 * time.Millisecond, Bytes: 1_000_000}},
	Pages:   {{Took: 2 * time.Second, Bytes: 1_300_000}, {Took: 2 * time.Second, Bytes: 1_300_000}},
	Lessons: {{Took: 18 * time.Second, Bytes: 12_000_000}, {Took: 30 * time.Second, Bytes: 33_000_000}},
}

// Plan says what a run is made of, and what it will cost. Nothing is queued.
func (p *Press) Plan(ctx context.Context, query string, o PressOrder) (PressPlan, error) {
	if o.Product == "" {
		o.Product = Lessons
	}
	q, err := ParseShelfQuery(query)
	if err != nil {
		return PressPlan{}, err
	}
	job := o.Job
	job.Sheet, job.Rights, job.Choices, job.Keys = File{}, File{}, File{}, nil
	if err := job.Check(); err != nil {
		return PressPlan{}, err
	}
	ts, err := p.shelf.Find(ctx, q)
	if err != nil {
		return PressPlan{}, err
	}
	sound := o.Product == Lessons && job.Audio != NoAudio
	plan := PressPlan{Tunes: len(ts), Run: PressRun{Query: query, What: string(o.Product), Territory: o.Territory, Options: string(job.Text())}}
	var of [2]int
	for _, t := range ts {
		for i, k := range o.keysFor(t) {
			audio := sound && (i == 0 || o.AudioEverywhere)
			plan.Parts = append(plan.Parts, PressPart{Tune: t.ID, Title: t.Title, Key: k.String(), Audio: audio})
			if audio {
				of[1]++
			} else {
				of[0]++
			}
		}
	}
	for i, n := range of {
		c, err := p.Measured(ctx, string(o.Product), i == 1)
		if err != nil {
			return plan, err
		}
		if c.Of < 10 && n > 0 {
			c, plan.Guessed = costs[o.Product][i], true
		}
		plan.Took += time.Duration(n) * c.Took
		plan.Bytes += int64(n) * c.Bytes
	}
	return plan, nil
}

// Start queues a plan: the run with all its parts, or nothing.
func (p *Press) Start(ctx context.Context, plan PressPlan) (run int64, err error) {
	return p.Queue(ctx, plan.Run, plan.Parts)
}

// Work makes parts of all runs until the context ends, or until says so. AtOnce 0 is as
// many parts at once as there are processors.
func (p *Press) Work(ctx context.Context, cfg PressConfig, counters *PressCounters, until func(context.Context) (bool, error)) (err error) {
	if cfg.AtOnce == 0 {
		cfg.AtOnce = runtime.GOMAXPROCS(0)
	}
	if cfg.Words == nil {
		cfg.Words = words.Must(words.Default).Problems
	}
	studio := new(Studio)
	defer func() { err = errors.Join(err, studio.Close()) }()
	m := &maker{shelf: p.shelf, studio: studio, program: program()}
	return press.Work(ctx, p.shelf.Shelf, m.make, cfg, counters, until)
}

// maker makes the parts of runs.
type maker struct {
	shelf   *Shelf
	studio  *Studio
	program string
}

// make makes one part: of the same job, the same build.
func (m *maker) make(ctx context.Context, task press.Task) (press.Made, error) {
	job, err := m.job(ctx, task)
	if err != nil {
		return press.Made{}, err
	}
	text := job.Text()
	hash := shelf.Hash(text)
	id := shelf.BuildID(hash, m.program, task.Run.What)
	if b, there, err := m.shelf.Build(ctx, id); err != nil || there {
		return press.Made{Build: b, Reused: true}, err
	}
	s, err := m.studio.Open(ctx, job)
	if err != nil {
		return press.Made{}, err
	}
	b := shelf.Build{ID: id, Tune: task.Part.Tune, What: task.Run.What, Slot: task.Run.What + " " + task.Part.Key, Job: hash, Program: m.program}
	pages, err := s.Ladder(ctx)
	if err != nil {
		return press.Made{}, err
	}
	var levels []string
	var told leadsheet.Problems
	for _, p := range pages {
		if p.Failed || len(p.Score.Notes) == 0 {
			told = append(told, p.Problems...)
			continue
		}
		b.Key = p.Key.String()
		levels = append(levels, strconv.Itoa(p.Level.Number))
		if task.Part.Key == OwnKey.String() {
			// As Rate does; but a page has its fingers, and its techniques are known.
			r := grade.Rate(p.Score, grade.Options{WithoutTechniques: true, Fingering: grade.AsFingered(job.Hand.profile())})
			x := shelf.Page{Level: p.Level.Number, Key: b.Key, Rating: int(r.Number), Scale: grade.ScaleVersion}
			for _, u := range p.Techniques {
				x.Techniques = append(x.Techniques, shelf.Technique{ID: u.Technique, Bars: u.Bars})
			}
			b.Pages = append(b.Pages, x)
		}
	}
	if len(levels) == 0 {
		if told.Err() == nil {
			told.Tell(leadsheet.Error, leadsheet.Pos{File: job.Sheet.Name}, "lesson-empty")
		}
		return press.Made{}, told
	}
	b.Levels = strings.Join(levels, " ")
	task.Progress(0.1)
	set := &slot{shelf: m.shelf, tune: task.Part.Tune, name: b.Slot}
	if Product(task.Run.What) == Lessons {
		tell := steps(task.Steps)
		_, err = s.Pack(ctx, set, func(p Progress) {
			task.Progress(float64(p.Done) / float64(max(1, p.Parts)))
			tell(p)
		})
	} else {
		err = m.pages(ctx, s, set, pages, Product(task.Run.What) == Pages, task.Progress)
	}
	if err != nil {
		return press.Made{}, err
	}
	b.Files = set.files
	if _, err := m.shelf.Keep(ctx, text); err != nil { // so that anybody can make it again
		return press.Made{}, err
	}
	return press.Made{Build: b}, nil
}

// steps gathers what is told of the parts of a lesson, for all of them together.
func steps(tell func([]press.Step)) func(Progress) {
	var mu sync.Mutex
	var all []press.Step
	return func(p Progress) {
		mu.Lock()
		defer mu.Unlock()
		next := make([]press.Step, len(p.All))
		for i, name := range p.All {
			next[i].Name = name
			if i < len(all) {
				next[i].Share = all[i].Share
			}
			if name == p.Part {
				next[i].Share = max(next[i].Share, p.Share)
			}
		}
		all = next
		tell(next)
	}
}

// job is the job of a part: what is on the shelf of the tune now, and the run's options.
func (m *maker) job(ctx context.Context, task press.Task) (Job, error) {
	job, err := ParseJob([]byte(task.Run.Options))
	if err != nil {
		return Job{}, err
	}
	of, err := m.shelf.JobOf(ctx, task.Part.Tune)
	if err != nil {
		return Job{}, err
	}
	job.Sheet, job.Choices, job.Rights = of.Sheet, of.Choices, of.Rights
	key, err := ParseKey(task.Part.Key)
	if err != nil {
		return Job{}, err
	}
	job.Keys = []Key{key}
	if !task.Part.Audio {
		job.Audio = NoAudio
	}
	if task.Run.Territory == "" {
		return job.normal(), nil
	}
	rs, err := m.shelf.Rights(ctx, task.Part.Tune)
	if err != nil {
		return Job{}, err
	}
	job.Rights, err = published(job, RightIn(task.Run.Territory, rs))
	return job.normal(), err
}

// published is the rights file of a job with what holds in the territory in the place of
// what the file says of the status, so that pages say what they are published under.
func published(job Job, r Right) (File, error) {
	f := job.Rights
	if f.Name == "" {
		f.Name = Stem(job.Sheet.Name, 0) + ".rights.toml"
	}
	table := map[string]any{}
	if _, err := toml.Decode(string(f.Data), &table); err != nil {
		_, err = ReadRights(f.Name, f.Data, leadsheet.Song{})
		return f, err
	}
	for _, k := range []string{"licence", "permission", "permission_date", "territories"} {
		delete(table, k)
	}
	table["status"] = r.Status.String()
	if r.Status == leadsheet.Licensed {
		for k, v := range map[string]string{"licence": r.Basis, "permission": r.Evidence, "permission_date": r.Since} {
			if v != "" {
				table[k] = v
			}
		}
	}
	if r.Year != 0 {
		table["year"] = r.Year
	}
	var b bytes.Buffer
	if err := toml.NewEncoder(&b).Encode(table); err != nil {
		return f, err
	}
	f.Data = b.Bytes()
	return f, nil
}

// pages puts the files of a ladder into a set, as gradatim ladder writes them.
func (m *maker) pages(ctx context.Context, s *Session, set *slot, pages []Page, engraved bool, progress func(float64)) error {
	if err := set.Begin(ctx); err != nil {
		return err
	}
	for i, p := range pages {
		if p.Failed || len(p.Score.Notes) == 0 {
			continue
		}
		n := p.Level.Number
		page, midi, why := s.Job().Files(n)
		pdf := ""
		if engraved {
			pdf = strings.TrimSuffix(page, ".musicxml") + ".pdf"
		}
		for _, f := range []struct {
			name string
			make func() ([]byte, error)
		}{
			{page, func() ([]byte, error) { return s.MusicXML(ctx, n) }},
			{midi, func() ([]byte, error) { data, _, err := s.MIDI(ctx, n, Take{}); return data, err }},
			{why, func() ([]byte, error) { return s.Account(ctx, n) }},
			{pdf, func() ([]byte, error) { return s.PDF(ctx, n) }},
		} {
			if f.name == "" {
				continue
			}
			data, err := f.make()
			if err == nil {
				err = set.Put(ctx, f.name, data)
			}
			if err != nil {
				return err
			}
		}
		progress(0.1 + 0.9*float64(i+1)/float64(len(pages)))
	}
	sum, err := s.Summary(ctx)
	if err != nil {
		return err
	}
	if err := set.Put(ctx, "ladder.json", sum); err != nil {
		return err
	}
	return set.Commit(ctx)
}

// slot is a Store on a shelf: what stands there is the newest build of a tune's slot, of
// which parts are kept that come out the same. Files lie under their hashes; who records
// the build puts it in its place.
type slot struct {
	shelf *Shelf
	tune  string
	name  string

	turn  chan struct{} // guards what follows; made by Begin
	old   map[string]shelf.BuiltFile
	read  bool
	files []shelf.BuiltFile
}

// Name is what the place is called in messages.
func (s *slot) Name() string { return s.tune + " " + s.name }

func (s *slot) standing(ctx context.Context) error {
	if s.read {
		return nil
	}
	b, _, err := s.shelf.Newest(ctx, s.tune, s.name)
	var ps leadsheet.Problems
	if err != nil && !errors.As(err, &ps) {
		return err
	}
	s.read, s.old = true, map[string]shelf.BuiltFile{}
	for _, f := range b.Files { // none where the old list is damaged: all is made anew
		s.old[f.Path] = f
	}
	return nil
}

// List lists the files of the newest build.
func (s *slot) List(ctx context.Context) ([]string, error) {
	if err := s.standing(ctx); err != nil {
		return nil, err
	}
	var out []string
	for p := range s.old {
		out = append(out, p)
	}
	slices.Sort(out)
	return out, nil
}

// Open opens one of them.
func (s *slot) Open(ctx context.Context, path string) (io.ReadCloser, error) {
	if err := s.standing(ctx); err != nil {
		return nil, err
	}
	f, ok := s.old[path]
	if !ok {
		return nil, fs.ErrNotExist
	}
	data, err := s.shelf.File(ctx, f.SHA256)
	return io.NopCloser(bytes.NewReader(data)), err
}

// Begin begins a new set.
func (s *slot) Begin(context.Context) error {
	s.turn, s.files = make(chan struct{}, 1), nil
	return nil
}

// Put keeps a file of the new set.
func (s *slot) Put(ctx context.Context, path string, data []byte) error {
	h, err := s.shelf.Shelf.Keep(ctx, data)
	if err == nil {
		s.add(shelf.BuiltFile{Path: path, Bytes: int64(len(data)), SHA256: h})
	}
	return err
}

// Keep takes a file of the newest build over.
func (s *slot) Keep(ctx context.Context, path string) error {
	f, ok := s.old[path]
	if !ok {
		return fs.ErrNotExist
	}
	s.add(f)
	return nil
}

func (s *slot) add(f shelf.BuiltFile) {
	s.turn <- struct{}{}
	defer func() { <-s.turn }()
	s.files = append(s.files, f)
}

// Commit leaves the rest to whoever records the build.
func (s *slot) Commit(ctx context.Context) error { return context.Cause(ctx) }

// Discard: what was kept is in nobody's way.
func (s *slot) Discard() error { return nil }

// Built is a store from which a build of the shelf is copied; nothing can be put there.
func (s *Shelf) Built(ctx context.Context, b ShelfBuild) Store {
	x := &slot{shelf: s, tune: b.Tune, name: b.Slot, read: true, old: map[string]shelf.BuiltFile{}}
	for _, f := range b.Files {
		x.old[f.Path] = f
	}
	return x
}
