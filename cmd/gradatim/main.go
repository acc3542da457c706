// Command gradatim makes a ladder of piano arrangements out of a lead sheet.
package main

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"

	"gradatim"
	"gradatim/internal/machine"
	"gradatim/internal/words"
	"gradatim/leadsheet"
)

// Exit codes.
const (
	done    = 0
	failed  = 1 // problems that stopped the work, or audit violations
	misused = 2
)

func main() {
	// A reader that stops early, as head does, is met where something is written.
	signal.Ignore(syscall.SIGPIPE)
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(roomy)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	var code int
	if len(os.Args) == 1 && machine.DoubleClicked() {
		code = runHome(ctx, os.Stdin, os.Stdout, os.Stderr, openBrowser)
	} else {
		code = run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	}
	stop()
	os.Exit(code)
}

// roomy is up to which size the collector may let garbage grow as large as what is alive.
// Beyond it, as with the longest tunes, it collects more often.
const roomy = 320 << 20

// command is one thing that the program does.
type command struct {
	name    string
	args    string // after the name, in the usage line
	summary string
	run     func(context.Context, *shell, []string) error
}

func commands() []command {
	return []command{
		{"ladder", "SHEET -o DIR", "arrange a lead sheet at every level", ladderCommand},
		{"read", "SHEET", "show what was understood of a lead sheet", readCommand},
		{"book", "FILE|FOLDER", "list the tunes of a book or a folder, and what is wrong with them", bookCommand},
		{"harmonize", "SHEET -o FILE", "give a bare melody chords", harmonizeCommand},
		{"chord", "SYMBOL ...", "say what a chord symbol is", chordCommand},
		{"audit", "SCORE", "judge a two-staff piano score by the rules of playing", auditCommand},
		{"lock", "PAGE --sheet SHEET", "write bars of a page as text that keeps them", lockCommand},
		{"rate", "SCORE", "say how hard a piano score is, why, and what it teaches", rateCommand},
		{"finger", "SCORE -o FILE", "write fingers into a piano score", fingerCommand},
		{"engrave", "SCORE -o FILE", "engrave a piano score as PDF, SVG or PNG", engraveCommand},
		{"record", "SCORE -o FILE", "play a piano score and write the sound", recordCommand},
		{"lesson", "SHEET -o DIR", "make a whole lesson: site, pages, scores and sound", lessonCommand},
		{"check", "DIR", "compare a ladder, recordings or a lesson with the list of its files", checkCommand},
		{"shelf", "ACTION", "keep tunes: sheets, rights, choices, what was made", shelfCommand},
		{"press", "[QUERY]", "make lessons or pages of many tunes of a shelf", pressCommand},
		{"worker", "", "make what is queued on a shelf", workerCommand},
		{"desk", "", "work on the tunes of a shelf in the browser", deskCommand},
	}
}

// shell is what a command sees of the world.
type shell struct {
	in       io.Reader
	out, err io.Writer
	// json is set where the caller asked for JSON: then problems that stop the
	// work are printed as JSON too, and stderr stays empty.
	json bool
	mend []string // what --mend asks for
	// words are those of --language.
	words *words.Words
}

// usageError is a mistake in the command line.
type usageError struct{ text string }

func (e usageError) Error() string { return e.text }

// errTold ends a command whose trouble has been told already.
var errTold = errors.New("told")

// stream is standard output, with the first error that it met.
type stream struct {
	w   io.Writer
	err error
}

func (s *stream) Write(p []byte) (int, error) {
	if s.err != nil {
		return 0, s.err
	}
	var n int
	n, s.err = s.w.Write(p)
	return n, s.err
}

// close ends the stream; what a system writes late may fail then.
func (s *stream) close() error {
	if f, ok := s.w.(*os.File); ok && s.err == nil {
		s.err = f.Close()
	}
	return s.err
}

// run is the whole program, without the process around it. Nothing is done while its
// output is cut.
func run(ctx context.Context, args []string, in io.Reader, out, errw io.Writer) int {
	to := &stream{w: out}
	code := dispatch(ctx, args, in, to, errw)
	err := to.close()
	if err == nil {
		return code
	}
	// Who stops reading early, as head does, wants no more.
	if code != misused && !errors.Is(err, syscall.EPIPE) && !errors.Is(err, io.ErrClosedPipe) {
		fmt.Fprintf(errw, "gradatim: the output could not be written: %s\n", plain(err))
	}
	return max(code, failed)
}

// dispatch finds the command and runs it.
func dispatch(ctx context.Context, args []string, in io.Reader, out *stream, errw io.Writer) int {
	sh := &shell{in: in, out: out, err: errw, words: words.Must(words.Default)}
	if len(args) == 0 {
		usage(errw)
		return misused
	}
	switch args[0] {
	case "-h", "-help", "--help", "help":
		if len(args) > 1 && args[0] == "help" {
			return dispatch(ctx, []string{args[1], "--help"}, in, out, errw)
		}
		usage(out)
		return done
	case "-version", "--version", "version":
		fmt.Fprint(out, version())
		return done
	case "-notice", "--notice", "notice":
		fmt.Fprint(out, gradatim.Notice())
		return done
	}
	for _, c := range commands() {
		if c.name == args[0] {
			err := c.run(ctx, sh, args[1:])
			if err != nil && errors.Is(err, out.err) {
				err = nil // it is told once, at the end
			}
			return sh.close(ctx, c, err)
		}
	}
	fmt.Fprintf(errw, "gradatim: there is no command %q\n\n", args[0])
	usage(errw)
	return misused
}

// close turns an error into words and an exit code.
func (sh *shell) close(ctx context.Context, c command, err error) int {
	var mis usageError
	var ps leadsheet.Problems
	switch {
	case err == nil, errors.Is(err, flag.ErrHelp):
		return done
	case errors.Is(err, errTold):
		return failed
	case ctx.Err() != nil:
		fmt.Fprintln(sh.err, "gradatim: stopped; nothing half-written is left")
		return failed
	case errors.As(err, &mis):
		fmt.Fprintf(sh.err, "gradatim %s: %s\nusage: gradatim %s %s   (gradatim %s --help says more)\n", c.name, mis.text, c.name, c.args, c.name)
		return misused
	case errors.As(err, &ps):
		ps.Sort()
		if sh.json {
			return sh.closeJSON(ps)
		}
		sh.say(ps...)
		return failed
	}
	fmt.Fprintf(sh.err, "gradatim: %v\n", err)
	return failed
}

// closeJSON prints the problems that stopped the work.
func (sh *shell) closeJSON(ps leadsheet.Problems) int {
	err := sh.printJSON(struct {
		Version  int                `json:"version"`
		Problems leadsheet.Problems `json:"problems"`
	}{gradatim.FormatVersion, sh.words.Problems(ps)})
	if err != nil {
		fmt.Fprintf(sh.err, "gradatim: %v\n", err)
	}
	return failed
}

// say tells problems, one a line.
func (sh *shell) say(ps ...leadsheet.Problem) {
	for _, p := range ps {
		fmt.Fprintln(sh.err, sh.words.Line(p))
	}
}

// printJSON prints a value in the form of all our JSON.
func (sh *shell) printJSON(v any) error {
	b, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		return err
	}
	_, err = fmt.Fprintln(sh.out, string(b))
	return err
}

func usage(w io.Writer) {
	fmt.Fprint(w, "gradatim makes a ladder of graded two-hand piano arrangements out of a lead sheet.\n\n")
	for _, c := range commands() {
		fmt.Fprintf(w, "  gradatim %-9s %-16s %s\n", c.name, c.args, c.summary)
	}
	fmt.Fprint(w, `
A lead sheet is a melody with chord symbols, as ABC, MusicXML or MIDI; a score is a
piano page, as MusicXML or MIDI. A dash in the place of a file is standard input.

  gradatim COMMAND --help   explains a command
  gradatim --version        says what this is and what it contains
  gradatim --notice         prints the notices that its parts require

Exit codes: 0 done; 1 problems that stopped the work, or rules broken; 2 wrong usage.
`)
}
