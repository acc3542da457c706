package main

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"runtime/debug"
	"strconv"
	"strings"
	"time"

	"gradatim"
	"gradatim/internal/machine"
	"gradatim/leadsheet"
)

const pressAbout = `Makes lessons, or pages, of many tunes: of all tunes of the shelf for which a QUERY
holds (gradatim shelf list --help tells how it is written). First it says how many parts
there are, how long they will take and how large they will be, as measured on this shelf;
then the run is queued and made. A run that is broken off goes on where it was; what is
there already is not made again; a sheet that cannot be made fails alone.

  press [QUERY]         plan, queue and make
  press list            list the runs
  press watch RUN       show how a run gets on
  press cancel RUN      give up what is not made yet
  press retry RUN       queue again what failed
  press fetch TUNE      write what was made of a tune into a folder

In one key with sound and in twelve without is what a large run is mostly for.`

func pressCommand(ctx context.Context, sh *shell, args []string) error {
	if len(args) > 0 {
		switch args[0] {
		case "list":
			return pressList(ctx, sh, args[1:])
		case "watch":
			return pressWatch(ctx, sh, args[1:])
		case "cancel", "retry":
			return pressAgain(ctx, sh, args[0], args[1:])
		case "fetch":
			return pressFetch(ctx, sh, args[1:])
		}
	}
	f := declareShelf(sh, "press", "[QUERY]", pressAbout, "kind:waltz --levels 1-3 --audio none", "rights:DE --territory DE --keys all12", "--plan", "watch 1")
	levels := f.String("levels", "", "`LIST`: levels by number or name (default: all)")
	keys := f.String("keys", "own", "`KEYS` beside the tune's own: tonics, as F,Bb, or all12 (default: the tune's own alone)")
	what := f.String("make", "lesson", "`WHAT`: lesson, pages (scores, MIDI, accounts and PDF) or scores (the same without PDF) (default: lesson)")
	audio := f.String("audio", "some", "`AMOUNT` of sound in lessons, in the tune's own key: none, some or all (default: some)")
	everywhere := f.Bool("audio-in-every-key", false, "record in the other keys, too")
	territory := f.String("territory", "", "`TERRITORY` to publish in: only what its rights carry is made (default: for private practice)")
	reach, handFile := handFlags(f.flagSet)
	fingers := f.String("fingers", "some", "`WHICH` fingerings to print: all, some or none (default: some)")
	paper := f.String("paper", "a4", "`PAPER`: a4, letter or tablet (default: a4)")
	large := f.Bool("large-print", false, "print with larger staves, heavier lines and bigger fingering")
	planOnly := f.Bool("plan", false, "say what it will cost, and queue nothing")
	later := f.Bool("queue", false, "queue it and end; gradatim worker makes it")
	asJSON := f.JSON("print plan or result as JSON")
	rest, err := f.words(args)
	if err != nil {
		return err
	}
	o := gradatim.PressOrder{AudioEverywhere: *everywhere, Job: gradatim.Job{LargePrint: *large, Language: sh.words.ID()}}
	var ok bool
	if o.Product, ok = gradatim.ParseProduct(*what); !ok {
		return usageError{fmt.Sprintf("--make %q is not one: say lesson, pages or scores", *what)}
	}
	if *keys == "all12" {
		o.AllKeys = true
	} else {
		for k := range strings.SplitSeq(*keys, ",") {
			key, err := gradatim.ParseKey(strings.TrimSpace(k))
			if err != nil {
				return usageError{"--keys " + err.Error()}
			}
			o.Keys = append(o.Keys, key)
		}
	}
	if *levels != "" {
		if o.Job.Levels, err = gradatim.ParseLevels(*levels); err != nil {
			return err
		}
	}
	if o.Job.Audio, err = gradatim.ParseAudio(*audio); err != nil {
		return usageError{"--audio " + err.Error()}
	}
	if o.Job.Fingers, err = gradatim.ParseFingers(*fingers); err != nil {
		return usageError{"--fingers " + err.Error()}
	}
	if o.Job.Paper, err = gradatim.ParsePaper(*paper); err != nil {
		return usageError{"--paper " + err.Error()}
	}
	if o.Job.Hand, err = sh.chooseHand(*reach, *handFile); err != nil {
		return err
	}
	if *territory != "" {
		if o.Territory, err = gradatim.ParseTerritory(*territory); err != nil {
			return err
		}
	}
	return f.withPress(ctx, func(s *gradatim.Shelf, p *gradatim.Press) error {
		plan, err := p.Plan(ctx, joined(rest), o)
		if err != nil {
			return err
		}
		if *planOnly || !*asJSON {
			if err := sh.printPlan(plan, *asJSON); err != nil || *planOnly {
				return err
			}
		}
		if len(plan.Parts) == 0 {
			return tell("press-nothing")
		}
		run, err := p.Start(ctx, plan)
		if err != nil {
			return err
		}
		if !*asJSON {
			fmt.Fprintln(sh.out, sh.words.Say("told.press-queued", "Run", int(run)))
		}
		if *later {
			if *asJSON {
				return sh.watch(ctx, p, run, false, true)
			}
			return nil
		}
		var shown showing
		over, next := p.Over(run), time.Time{}
		roomForGarbage()
		err = p.Work(ctx, gradatim.PressConfig{Words: sh.words.Problems}, nil, func(ctx context.Context) (bool, error) {
			began := time.Now()
			if *asJSON || began.Before(next) {
				return over(ctx)
			}
			g, err := p.Progress(ctx, run)
			if err == nil {
				shown.show(sh, g)
			}
			// All parts are counted: of a large run seldom enough to cost a fiftieth of the time.
			next = began.Add(50 * time.Since(began))
			return g.Over(), err
		})
		shown.end(sh)
		if err != nil {
			return err
		}
		if ctx.Err() != nil && !*asJSON {
			fmt.Fprintln(sh.err, sh.words.Say("told.press-later"))
		}
		return sh.watch(context.WithoutCancel(ctx), p, run, false, *asJSON)
	})
}

func tell(says leadsheet.Saying) error {
	var ps leadsheet.Problems
	ps.Tell(leadsheet.Error, leadsheet.Pos{}, says)
	return ps
}

// withPress opens shelf and press for as long as do takes.
func (f *shelfFlags) withPress(ctx context.Context, do func(*gradatim.Shelf, *gradatim.Press) error) error {
	return f.with(ctx, func(s *gradatim.Shelf) error {
		p, err := s.Press(ctx)
		if err != nil {
			return err
		}
		return do(s, p)
	})
}

func (sh *shell) printPlan(p gradatim.PressPlan, asJSON bool) error {
	if asJSON {
		return sh.printJSON(struct {
			Version int   `json:"version"`
			Tunes   int   `json:"tunes"`
			Parts   int   `json:"parts"`
			Seconds int   `json:"seconds"`
			Bytes   int64 `json:"bytes"`
			Guessed bool  `json:"guessed"`
		}{gradatim.FormatVersion, p.Tunes, len(p.Parts), int(p.Took.Seconds()), p.Bytes, p.Guessed})
	}
	w := sh.words
	fmt.Fprintln(sh.out, w.Say("told.press-plan", "Tunes", p.Tunes, "Parts", len(p.Parts), "Time", p.Took.Round(time.Second).String(), "Size", size(w, p.Bytes)))
	if p.Guessed {
		fmt.Fprintln(sh.out, w.Say("told.press-guessed"))
	}
	return nil
}

// showing is the line that shows on a terminal how a run gets on.
type showing struct {
	began time.Time
	first int // parts that were over when it began
	last  string
}

func (s *showing) show(sh *shell, g gradatim.PressProgress) {
	if !machine.Terminal(sh.err) {
		return
	}
	over := g.Parts() - g.Counts[gradatim.PartWaiting] - g.Counts[gradatim.PartMaking]
	if s.began.IsZero() {
		s.began, s.first = time.Now(), over
	}
	line := fmt.Sprintf("%s %d of %d parts", bar(over, g.Parts()), over, g.Parts())
	if took := time.Since(s.began); over > s.first && took > time.Second {
		rate := float64(over-s.first) / took.Seconds()
		left := time.Duration(float64(g.Parts()-over) / rate * float64(time.Second))
		line += fmt.Sprintf(", %.1f a second, %s left", rate, left.Round(time.Second))
	}
	if n := g.Counts[gradatim.PartFailed]; n > 0 {
		line += fmt.Sprintf(", %d failed", n)
	}
	if len(g.Making) > 0 {
		line += "; " + cut(g.Making[0].Title, 24)
	}
	if line != s.last {
		s.last = line
		fmt.Fprintf(sh.err, "\r\x1b[K%s", line)
	}
}

func (s *showing) end(sh *shell) {
	if s.last != "" {
		fmt.Fprint(sh.err, "\r\x1b[K")
	}
}

// bar draws a share.
func bar(n, of int) string {
	const width = 24
	full := width * n / max(1, of)
	return "[" + strings.Repeat("#", full) + strings.Repeat("-", width-full) + "]"
}

// runJSON is how a run gets on.
type runJSON struct {
	Version   int          `json:"version"`
	Run       int64        `json:"run"`
	At        string       `json:"at"`
	Author    string       `json:"author"`
	Query     string       `json:"query"`
	What      string       `json:"what"`
	Territory string       `json:"territory,omitempty"`
	Parts     int          `json:"parts"`
	Waiting   int          `json:"waiting"`
	Making    int          `json:"making"`
	Done      int          `json:"done"`
	Reused    int          `json:"reused"`
	Failed    int          `json:"failed"`
	Cancelled int          `json:"cancelled"`
	Seconds   int          `json:"seconds"`
	Failures  []failedJSON `json:"failures"`
}

type failedJSON struct {
	Tune     string          `json:"tune"`
	Title    string          `json:"title"`
	Key      string          `json:"key"`
	Tries    int             `json:"tries"`
	Problems json.RawMessage `json:"problems"`
}

func runOf(g gradatim.PressProgress) runJSON {
	out := runJSON{gradatim.FormatVersion, g.Run.ID, g.Run.At.Format(stamp), g.Run.Author, g.Run.Query, g.Run.What, g.Run.Territory, g.Parts(), g.Counts[gradatim.PartWaiting], g.Counts[gradatim.PartMaking],
		g.Counts[gradatim.PartDone], g.Reused, g.Counts[gradatim.PartFailed], g.Counts[gradatim.PartCancelled], int(g.Took.Seconds()), []failedJSON{}}
	for _, x := range g.Failed {
		out.Failures = append(out.Failures, failedJSON{x.Tune, x.Title, x.Key, x.Tries, x.Problems})
	}
	return out
}

// watch shows how a run gets on, to its end where follow is set.
func (sh *shell) watch(ctx context.Context, p *gradatim.Press, run int64, follow, asJSON bool) error {
	var shown showing
	for {
		g, err := p.Progress(ctx, run)
		if err != nil {
			return err
		}
		if follow && !g.Over() {
			if !asJSON {
				shown.show(sh, g)
			}
			select {
			case <-ctx.Done():
				shown.end(sh)
				return ctx.Err()
			case <-time.After(500 * time.Millisecond):
			}
			continue
		}
		shown.end(sh)
		if asJSON {
			err = sh.printJSON(runOf(g))
		} else {
			sh.printRun(g)
		}
		if err == nil && len(g.Failed) > 0 {
			err = errTold
		}
		return err
	}
}

func (sh *shell) printRun(g gradatim.PressProgress) {
	w := sh.words
	fmt.Fprintln(sh.out, w.Say("told.press-run", "Run", int(g.Run.ID), "Done", g.Counts[gradatim.PartDone], "Parts", g.Parts(), "Reused", g.Reused, "Failed", g.Counts[gradatim.PartFailed],
		"Waiting", g.Counts[gradatim.PartWaiting]+g.Counts[gradatim.PartMaking], "Cancelled", g.Counts[gradatim.PartCancelled]))
	for _, x := range g.Failed {
		var ps []struct {
			File, Severity, Code, Text, Fix string
			Line, Bar                       int
		}
		if json.Unmarshal(x.Problems, &ps) != nil {
			continue
		}
		for _, q := range ps {
			place := q.File
			if q.Line > 0 {
				place += ":" + strconv.Itoa(q.Line)
			}
			if q.Bar > 0 {
				place += ": bar " + strconv.Itoa(q.Bar)
			}
			line := fmt.Sprintf("%s  %s, %s: %s: %s: %s [%s]", x.Tune, x.Title, x.Key, place, q.Severity, q.Text, q.Code)
			if q.Fix != "" {
				line += "; " + q.Fix
			}
			fmt.Fprintln(sh.err, line)
		}
	}
}

// runNumber reads the one argument of what is done with a run.
func runNumber(rest []string) (int64, error) {
	if len(rest) != 1 {
		return 0, usageError{"which run? One number; gradatim press list shows them"}
	}
	n, err := strconv.ParseInt(rest[0], 10, 64)
	if err != nil || n < 1 {
		return 0, usageError{fmt.Sprintf("%q is no number of a run", rest[0])}
	}
	return n, nil
}

func pressList(ctx context.Context, sh *shell, args []string) error {
	f := declareShelf(sh, "press list", "", "Lists the runs, newest first.", "--shelf tunes")
	rest, err := f.words(args)
	if err != nil {
		return err
	}
	if err := noMore(rest); err != nil {
		return err
	}
	return f.withPress(ctx, func(_ *gradatim.Shelf, p *gradatim.Press) error {
		rs, err := p.Runs(ctx)
		for _, r := range rs {
			fmt.Fprintf(sh.out, "%4d  %s  %-8s %-8s %-12s %s\n", r.ID, r.At.Format(stamp), r.What, cmp.Or(r.Territory, "-"), r.Author, r.Query)
		}
		return err
	})
}

func pressWatch(ctx context.Context, sh *shell, args []string) error {
	f := declareShelf(sh, "press watch", "RUN", "Shows how a run gets on until it is over, and what failed, with its place and a way\nout. With --json it shows at once how far it is.", "1", "1 --json")
	asJSON := f.JSON("print how far it is now as JSON")
	rest, err := f.words(args)
	if err != nil {
		return err
	}
	run, err := runNumber(rest)
	if err != nil {
		return err
	}
	return f.withPress(ctx, func(_ *gradatim.Shelf, p *gradatim.Press) error { return sh.watch(ctx, p, run, !*asJSON, *asJSON) })
}

func pressAgain(ctx context.Context, sh *shell, name string, args []string) error {
	about := "Gives up what is not made yet, also what is being made. What was made stays."
	if name == "retry" {
		about = "Queues again what failed or was given up; gradatim worker makes it."
	}
	f := declareShelf(sh, "press "+name, "RUN", about, "1")
	rest, err := f.words(args)
	if err != nil {
		return err
	}
	run, err := runNumber(rest)
	if err != nil {
		return err
	}
	return f.withPress(ctx, func(_ *gradatim.Shelf, p *gradatim.Press) error {
		do, says := p.Cancel, "told.press-cancelled"
		if name == "retry" {
			do, says = p.Retry, "told.press-again"
		}
		n, err := do(ctx, run)
		if err == nil {
			fmt.Fprintln(sh.out, sh.words.Say(says, "n", n))
		}
		return err
	})
}

func pressFetch(ctx context.Context, sh *shell, args []string) error {
	f := declareShelf(sh, "press fetch", "TUNE -o DIR", "Writes what was made of a tune into a folder: for each product and key the newest.", "3f2a -o out")
	dir := f.String("o", "", "`DIR`: folder to write to")
	rest, err := f.words(args)
	if err != nil {
		return err
	}
	if *dir == "" {
		return usageError{"where to? Give a folder with -o DIR"}
	}
	return f.withTune(ctx, rest, func(s *gradatim.Shelf, t gradatim.ShelfTune) error {
		bs, err := s.Builds(ctx, t.ID)
		if err != nil {
			return err
		}
		newest := map[string]string{}
		for _, b := range bs {
			newest[b.Slot] = b.ID
		}
		for slot, id := range newest {
			b, _, err := s.Build(ctx, id)
			if err != nil {
				return err
			}
			to, err := gradatim.Folder(filepath.Join(*dir, strings.ReplaceAll(slot, " ", "-")))
			if err != nil {
				return err
			}
			if err := gradatim.Copy(ctx, to, s.Built(ctx, b)); err != nil {
				return err
			}
		}
		fmt.Fprintln(sh.out, sh.words.Say("told.press-fetched", "n", len(newest), "Folder", *dir))
		return nil
	})
}

const workerAbout = `Makes parts of all runs that are queued on a shelf, until it is told to end (SIGTERM or
an interrupt): then what is being made gets ten seconds, and what is not done waits for
another worker. As many may work on one shelf as like, on PostgreSQL also from many
machines, whose clocks should agree to a few seconds.`

func workerCommand(ctx context.Context, sh *shell, args []string) error {
	f := declareShelf(sh, "worker", "", workerAbout, "--shelf tunes", "--shelf place.toml --at-once 4 --metrics 127.0.0.1:9464 --log json")
	atOnce := f.Int("at-once", 0, "`N`: parts at once (default: as many as there are processors)")
	most := f.String("most", "10m", "`TIME` that a part may take, as 90s or 10m (default: 10m)")
	idle := f.Bool("until-idle", false, "end when nothing is queued any more")
	metrics := f.String("metrics", "", "`ADDRESS` on which counts are told as OpenMetrics, as 127.0.0.1:9464 (default: nowhere)")
	logs := f.String("log", "text", "`FORM` of the log on standard error: text, json or none (default: text)")
	rest, err := f.words(args)
	if err != nil {
		return err
	}
	if err := noMore(rest); err != nil {
		return err
	}
	cfg := gradatim.PressConfig{AtOnce: *atOnce, Words: sh.words.Problems}
	if cfg.Most, err = time.ParseDuration(*most); err != nil || cfg.Most <= 0 {
		return usageError{fmt.Sprintf("--most %q is no time", *most)}
	}
	if *atOnce < 0 {
		return usageError{"--at-once is from 1 on"}
	}
	if f.logger, err = newLogger(sh.err, *logs); err != nil {
		return err
	}
	return f.withPress(ctx, func(s *gradatim.Shelf, p *gradatim.Press) error {
		var counters gradatim.PressCounters
		if *metrics != "" {
			stop, err := serveMetrics(ctx, *metrics, p, &counters)
			if err != nil {
				return problem(*metrics, "press-metrics", "Error", err.Error())
			}
			defer stop()
		}
		var until func(context.Context) (bool, error)
		if *idle {
			until = p.Idle
		}
		roomForGarbage()
		return p.Work(ctx, cfg, &counters, until)
	})
}

// roomForGarbage has garbage collected less often while parts are made, which leave much of it and
// little else: a tenth of the work. Beyond roomy it is collected as ever.
func roomForGarbage() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(300)
	}
}

func newLogger(w io.Writer, form string) (*slog.Logger, error) {
	o := &slog.HandlerOptions{Level: slog.LevelInfo}
	switch form {
	case "text":
		return slog.New(slog.NewTextHandler(w, o)), nil
	case "json":
		return slog.New(slog.NewJSONHandler(w, o)), nil
	case "none":
		return slog.New(slog.DiscardHandler), nil
	}
	return nil, usageError{fmt.Sprintf("--log %q is not one: say text, json or none", form)}
}

// serveMetrics tells counts until stop is called.
func serveMetrics(ctx context.Context, address string, p *gradatim.Press, c *gradatim.PressCounters) (stop func(), err error) {
	l, err := net.Listen("tcp", address)
	if err != nil {
		return nil, err
	}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /metrics", func(w http.ResponseWriter, r *http.Request) {
		text, err := p.Metrics(r.Context(), c)
		if err != nil {
			http.Error(w, "the shelf does not answer", http.StatusServiceUnavailable)
			return
		}
		w.Header().Set("Content-Type", "application/openmetrics-text; version=1.0.0; charset=utf-8")
		_, _ = w.Write(text)
	})
	srv := &http.Server{Handler: mux, ReadHeaderTimeout: 5 * time.Second}
	go func() { _ = srv.Serve(l) }()
	fmt.Fprintln(os.Stderr, "metrics on http://"+l.Addr().String()+"/metrics")
	return func() {
		soft, cancel := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
		defer cancel()
		_ = srv.Shutdown(soft)
	}, nil
}
