// Command gradatim makes a ladder of piano arrangements out of a lead sheet.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"

	"gradatim/leadsheet"
)

// Exit codes.
const (
	done    = 0
	failed  = 1 // problems that stopped the work, or audit violations
	misused = 2
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	code := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

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
		{"audit", "SCORE", "judge a two-staff piano score by the rules of playing", auditCommand},
	}
}

// shell is what a command sees of the world.
type shell struct {
	in       io.Reader
	out, err io.Writer
}

// usageError is a mistake in the command line.
type usageError struct{ text string }

func (e usageError) Error() string { return e.text }

// quiet is an error that has been told already.
var errTold = errors.New("told")

// run is the whole program, without the process around it.
func run(ctx context.Context, args []string, in io.Reader, out, errw io.Writer) int {
	sh := &shell{in, out, errw}
	if len(args) == 0 {
		usage(errw)
		return misused
	}
	switch args[0] {
	case "-h", "-help", "--help", "help":
		if len(args) > 1 {
			return run(ctx, []string{args[1], "--help"}, in, out, errw)
		}
		usage(out)
		return done
	case "-version", "--version", "version":
		fmt.Fprint(out, version())
		return done
	}
	for _, c := range commands() {
		if c.name != args[0] {
			continue
		}
		err := c.run(ctx, sh, args[1:])
		return sh.close(c, err)
	}
	fmt.Fprintf(errw, "gradatim: there is no command %q\n\n", args[0])
	usage(errw)
	return misused
}

// close turns an error into words and an exit code.
func (sh *shell) close(c command, err error) int {
	var mis usageError
	var ps leadsheet.Problems
	switch {
	case err == nil, errors.Is(err, flag.ErrHelp):
		return done
	case errors.Is(err, errTold):
		return failed
	case errors.As(err, &mis):
		fmt.Fprintf(sh.err, "gradatim %s: %s\nusage: gradatim %s %s   (gradatim %s --help says more)\n", c.name, mis.text, c.name, c.args, c.name)
		return misused
	case errors.As(err, &ps):
		ps.Sort()
		for _, p := range ps {
			fmt.Fprintln(sh.err, p)
		}
		return failed
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(sh.err, "gradatim: stopped; nothing was written")
		return failed
	}
	fmt.Fprintf(sh.err, "gradatim: %v\n", err)
	return failed
}

func usage(w io.Writer) {
	fmt.Fprint(w, "gradatim makes a ladder of graded two-hand piano arrangements out of a lead sheet.\n\n")
	for _, c := range commands() {
		fmt.Fprintf(w, "  gradatim %-8s %-16s %s\n", c.name, c.args, c.summary)
	}
	fmt.Fprint(w, "\nA lead sheet is a melody with chord symbols, as ABC or MusicXML.\n"+
		"gradatim COMMAND --help explains a command. Exit codes: 0 done, 1 problems, 2 wrong usage.\n")
}

// flags makes a flag set whose help reads as a page of its own.
func flags(sh *shell, name, args, about string) *flag.FlagSet {
	f := flag.NewFlagSet(name, flag.ContinueOnError)
	f.SetOutput(io.Discard)
	f.Usage = func() {
		fmt.Fprintf(sh.out, "gradatim %s %s\n\n%s\n\n", name, args, about)
		f.VisitAll(func(fl *flag.Flag) {
			kind, text := flag.UnquoteUsage(fl)
			long := "--" + fl.Name
			if len(fl.Name) == 1 {
				long = "-" + fl.Name
			}
			fmt.Fprintf(sh.out, "  %-24s %s\n", strings.TrimSpace(long+" "+kind), text)
		})
	}
	return f
}

// parse accepts flags before, between and after the other arguments.
func parse(f *flag.FlagSet, args []string) ([]string, error) {
	var rest []string
	for {
		if err := f.Parse(args); err != nil {
			if errors.Is(err, flag.ErrHelp) {
				return nil, err
			}
			return nil, usageError{err.Error()}
		}
		if f.NArg() == 0 {
			return rest, nil
		}
		rest = append(rest, f.Arg(0))
		args = f.Args()[1:]
	}
}

// one asks for exactly one argument.
func one(rest []string, what string) (string, error) {
	switch len(rest) {
	case 0:
		return "", usageError{"which " + what + "?"}
	case 1:
		return rest[0], nil
	}
	return "", usageError{"one " + what + " at a time: " + strings.Join(rest, ", ")}
}

func version() string {
	return "gradatim 0.1\n"
}
