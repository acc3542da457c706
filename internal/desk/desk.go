// Package desk is the local web app in which a teacher works on the tunes of a shelf:
// she looks at a tune at all levels, listens, changes what she wants her way, and makes
// the lesson. It shows and asks; what it knows of music it asks the façade, so that any
// other program could do the same.
//
// It owns pages, addresses, safety and the state of open tunes. Nothing that a person
// does lives here alone: a change stands in the shelf's history before it is answered, so
// that the process may end at any moment. It refuses to keep accounts of people, to talk
// to any other machine, and to run anything that came with a tune.
//
// Each resource is a file: its view (a struct), its handler, and a template of the same
// name. Pages are forms that work without script; scripts add to what stands there.
package desk

import (
	"context"
	"crypto/rand"
	"errors"
	"log/slog"
	"net/http"
	"slices"
	"strings"
	"sync"

	"gradatim"
	"gradatim/internal/words"
)

// Config says what a desk works on and who is let in. Shelf is needed; the zero value of
// the others is ready.
type Config struct {
	Shelf    *gradatim.Shelf
	Studio   *gradatim.Studio // nil: one of its own
	Language string           // of all pages: one of gradatim.Languages; "": English
	Hosts    []string         // names under which it is asked for, beside those of the loopback
	Secure   bool             // it is reached by TLS
	Password string           // as HashPassword wrote it; "": a one-time key lets in
	Secret   []byte           // signs who was let in, so that it holds over a restart; nil: by chance
	ReadOnly string           // why the shelf is only looked at, a sentence without its stop; "": it can be changed
	Stop     func()           // ends the program, at the press of a button; nil: there is none
	Logger   *slog.Logger     // nil: nothing is logged
}

// Desk serves the app. It may be used by several goroutines.
type Desk struct {
	shelf  *gradatim.Shelf
	studio *gradatim.Studio
	own    bool // the studio was made for this desk
	words  *words.Words
	log    *slog.Logger
	only   string // why nothing can be changed; "": it can
	stop   func() // nil: no page ends the program

	gate     *gate
	pages    *pages
	files    *tree
	tunes    *bench
	drawn    *drawings
	heard    *sounds
	accounts accounts
	works    works
	previews *previews

	end  context.CancelFunc // of work that goes on after an answer
	life context.Context
	wait sync.WaitGroup
}

// New makes a desk. Close it when done with it; the shelf stays open. The error is that
// there is no such language, or of the machine's source of chance.
func New(cfg Config) (*Desk, error) {
	w, err := words.In(cfg.Language)
	if err != nil {
		return nil, err
	}
	d := &Desk{shelf: cfg.Shelf, studio: cfg.Studio, words: w, log: cfg.Logger, only: cfg.ReadOnly, stop: cfg.Stop}
	if d.log == nil {
		d.log = slog.New(slog.DiscardHandler)
	}
	if d.studio == nil {
		d.studio, d.own = new(gradatim.Studio), true
	}
	secret := cfg.Secret
	if secret == nil {
		secret = make([]byte, 32)
		if _, err := rand.Read(secret); err != nil {
			return nil, err
		}
	}
	d.gate = &gate{hosts: cfg.Hosts, secure: cfg.Secure, password: cfg.Password, secret: secret, now: cfg.Shelf.Now}
	if d.files, err = newTree(); err != nil {
		return nil, err
	}
	if d.pages, err = newPages(d); err != nil {
		return nil, err
	}
	d.tunes, d.drawn, d.heard, d.previews = newBench(), newDrawings(), newSounds(), newPreviews()
	d.life, d.end = context.WithCancel(context.Background())
	return d, nil
}

// Close ends what is still being made and lets go of what the desk has opened.
func (d *Desk) Close() error {
	d.end()
	d.wait.Wait()
	if d.own {
		return d.studio.Close()
	}
	return nil
}

// Key is a new one-time key: who comes to /enter?key= with it is let in, once.
func (d *Desk) Key() string { return d.gate.issue() }

// Handler answers requests. What is asked under another name than it is known by, or by a
// page of another site, is refused before anything else.
func (d *Desk) Handler() http.Handler {
	mux := http.NewServeMux()
	for _, r := range d.routes() {
		serve := r.serve
		if d.only != "" && strings.HasPrefix(r.pattern, "POST ") && !slices.Contains(harmless, r.pattern) {
			serve = d.refuse
		}
		h := d.page(serve)
		if !r.open {
			h = d.gate.within(d, h)
		}
		mux.Handle(r.pattern, h)
	}
	mux.Handle("GET /look/{key}/{path...}", d.page(d.serveLook)) // without a cookie: preview.go
	mux.Handle("GET "+d.files.root, d.files)
	return d.gate.around(d, http.NewCrossOriginProtection().Handler(mux))
}

// harmless are the forms that write nothing.
var harmless = []string{"POST /enter", "POST /leave", "POST /stop", "POST /tunes/{tune}/look", "POST /tunes/{tune}/preview"}

// refuse answers a form that would write on a shelf which is only looked at.
func (d *Desk) refuse(http.ResponseWriter, *http.Request) error {
	return d.impossible("shelf-readonly")
}

// route is one address and who answers it; open are those that need nobody let in.
type route struct {
	pattern string
	open    bool
	serve   func(http.ResponseWriter, *http.Request) error
}

// routes lists every address of the desk, but for the static files.
func (d *Desk) routes() []route {
	return append(d.barRoutes(), []route{
		{"GET /enter", true, d.showEnter}, {"POST /enter", true, d.enter}, {"POST /leave", false, d.leave}, {"POST /stop", false, d.endProgram},
		{"GET /{$}", false, d.showTunes}, {"POST /tunes", false, d.addTunes}, {"GET /keys", false, d.showKeys},
		{"GET /drawn/{key}/{n}", false, d.showDrawn},
		{"GET /tunes/{tune}", false, d.openTune}, {"GET /tunes/{tune}/sheet", false, d.showSheet}, {"POST /tunes/{tune}/sheet", false, d.changeSheet}, {"POST /tunes/{tune}/look", false, d.lookAt},
		{"POST /tunes/{tune}/chords", false, d.takeChords}, {"GET /tunes/{tune}/trial.wav", false, d.trialSound}, {"GET /tunes/{tune}/trial.svg", false, d.trialPicture}, {"POST /tunes/{tune}/options", false, d.setOptions}, {"POST /tunes/{tune}/mend", false, d.setMend},
		{"GET /tunes/{tune}/rights", false, d.showRights}, {"POST /tunes/{tune}/rights", false, d.setRight},
		{"GET /tunes/{tune}/listen", false, d.showListen}, {"GET /tunes/{tune}/page.svg", false, d.pagePicture}, {"GET /tunes/{tune}/print/{page}", false, d.print},
		{"GET /tunes/{tune}/sound.wav", false, d.sound}, {"GET /tunes/{tune}/timing.json", false, d.soundTiming},
		{"GET /tunes/{tune}/history", false, d.showHistory}, {"GET /tunes/{tune}/compare", false, d.compare},
		{"POST /tunes/{tune}/undo", false, d.undo}, {"POST /tunes/{tune}/redo", false, d.redo},
		{"POST /tunes/{tune}/back", false, d.goBack}, {"POST /tunes/{tune}/name", false, d.nameVersion},
		{"GET /tunes/{tune}/lesson", false, d.showLesson}, {"POST /tunes/{tune}/lesson", false, d.makeLesson}, {"POST /tunes/{tune}/own", false, d.setOwn}, {"POST /tunes/{tune}/own-file", false, d.setOwnFile},
		{"POST /tunes/{tune}/preview", false, d.makePreview}, {"GET /tunes/{tune}/preview/{key}", false, d.showPreview}, {"GET /tunes/{tune}/built/{build}", false, d.lookAtBuild},
		{"GET /tunes/{tune}/lesson/{build}", false, d.download}, {"GET /tunes/{tune}/runs/{run}", false, d.events}, {"POST /tunes/{tune}/runs/{run}", false, d.cancelLesson},
		{"/", false, func(http.ResponseWriter, *http.Request) error { return errNoPage }},
	}...)
}

// barRoutes lists the addresses of the whole tune and of its bars.
func (d *Desk) barRoutes() []route {
	return []route{
		{"GET /tunes/{tune}/whole", false, d.showWhole}, {"GET /tunes/{tune}/plan", false, d.showPlan}, {"POST /tunes/{tune}/plan", false, d.setPlan}, {"GET /tunes/{tune}/bar/{bar}", false, d.showBar}, {"POST /tunes/{tune}/bar/{bar}", false, d.chooseBar},
		{"GET /tunes/{tune}/bar.svg", false, d.barPicture}, {"GET /tunes/{tune}/why", false, d.showWhy}, {"GET /tunes/{tune}/other", false, d.showOther},
	}
}

// errNoPage is that nothing stands at an address.
var errNoPage = errors.New("no such page")
