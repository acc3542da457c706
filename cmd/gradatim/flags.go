package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"slices"
	"strings"

	"gradatim"
	"gradatim/internal/words"
)

// flagSet is a flag.FlagSet whose help reads as a page of its own, with the
// flags in the order in which they were declared. A flag's usage text begins
// with the word for its value: "`DIR`: where to write".
type flagSet struct {
	*flag.FlagSet
	sh       *shell
	args     string
	about    string
	examples []string
	order    []string
	line     *string // as it
	tune     *string // where the command has --tune
	language *string // where the command has --language
}

func flags(sh *shell, name, args, about string, examples ...string) *flagSet {
	f := &flagSet{FlagSet: flag.NewFlagSet(name, flag.ContinueOnError), sh: sh, args: args, about: about, examples: examples}
	f.SetOutput(io.Discard)
	f.Usage = func() {} // parse prints the help where it is asked for
	return f
}

// String declares a flag that takes a word.
func (f *flagSet) String(name, value, usage string) *string {
	f.order = append(f.order, name)
	return f.FlagSet.String(name, value, usage)
}

// Int declares a flag that takes a whole number.
func (f *flagSet) Int(name string, value int, usage string) *int {
	f.order = append(f.order, name)
	return f.FlagSet.Int(name, value, usage)
}

// Bool declares a flag that is there or not.
func (f *flagSet) Bool(name string, value bool, usage string) *bool {
	f.order = append(f.order, name)
	return f.FlagSet.Bool(name, value, usage)
}

// JSON declares --json, and lets the shell know of it.
func (f *flagSet) JSON(usage string) *bool {
	f.order = append(f.order, "json")
	f.BoolVar(&f.sh.json, "json", false, usage)
	return &f.sh.json
}

// Tune declares --tune; argument refuses a number that cannot be one.
func (f *flagSet) Tune() *string {
	f.tune = f.String("tune", "", "`WHICH`: number or title of the tune, in a file of several (default: the first)")
	f.line = f.String("line", "", "`WHICH`: number or name of the line that is the tune, in a MIDI file (default: it is found)")
	return f.tune
}

// Mend declares --mend, and lets the shell know of it.
func (f *flagSet) Mend() {
	f.order = append(f.order, "mend")
	f.Var((*mends)(&f.sh.mend), "mend", "take the likely readings of suspected errors of the sheet: the sure ones, or with --mend=`IDS` those of these ids")
}

// mends is the value of --mend: alone it means the sure ones.
type mends []string

func (m *mends) String() string   { return strings.Join(*m, ",") }
func (m *mends) IsBoolFlag() bool { return true }
func (m *mends) Set(s string) error {
	switch s {
	case "true":
		*m = append(*m, gradatim.SureMends)
	case "false", "":
		*m = nil
	default:
		for id := range strings.SplitSeq(s, ",") {
			if id = strings.TrimSpace(id); id != "" {
				*m = append(*m, id)
			}
		}
	}
	return nil
}

// Language declares --language; argument refuses what is none, and lets the shell know
// of it.
func (f *flagSet) Language() *string {
	f.language = f.String("language", words.Default, "`LANGUAGE` of what is said: "+strings.Join(gradatim.Languages(), " or ")+" (default: "+words.Default+")")
	return f.language
}

// given tells whether a flag stood in the command line.
func (f *flagSet) given(name string) bool {
	found := false
	f.Visit(func(fl *flag.Flag) { found = found || fl.Name == name })
	return found
}

// help prints the page.
func (f *flagSet) help(w io.Writer) {
	fmt.Fprintf(w, "usage: gradatim %s %s [options]\n\n%s\n\noptions:\n", f.Name(), f.args, f.about)
	names := slices.Clone(f.order)
	f.VisitAll(func(fl *flag.Flag) { // those declared past our methods come last
		if !slices.Contains(names, fl.Name) {
			names = append(names, fl.Name)
		}
	})
	for _, name := range names {
		kind, text := flag.UnquoteUsage(f.Lookup(name))
		text = strings.TrimPrefix(text, kind+": ")
		fmt.Fprintf(w, "  %-22s %s\n", strings.TrimSpace(dashed(name)+" "+kind), wrapped(text, 25, 80))
	}
	for i, x := range f.examples {
		if i == 0 {
			fmt.Fprint(w, "\nexamples:\n")
		}
		fmt.Fprintf(w, "  gradatim %s %s\n", f.Name(), x)
	}
}

// dashed writes a flag as it is typed.
func dashed(name string) string {
	if len(name) == 1 {
		return "-" + name
	}
	return "--" + name
}

// wrapped breaks a text into lines that end before column width and begin, from
// the second on, at column indent.
func wrapped(text string, indent, width int) string {
	var b strings.Builder
	col := indent
	for i, word := range strings.Fields(text) {
		n := len([]rune(word))
		switch {
		case i == 0:
		case col+1+n > width:
			b.WriteString("\n" + strings.Repeat(" ", indent))
			col = indent
		default:
			b.WriteByte(' ')
			col++
		}
		b.WriteString(word)
		col += n
	}
	return b.String()
}

// parse accepts flags before, between and after the other arguments; after a
// lone "--" everything is an argument.
func (f *flagSet) parse(args []string) ([]string, error) {
	var rest, tail []string
	if i := slices.Index(args, "--"); i >= 0 {
		args, tail = args[:i], args[i+1:]
	}
	for {
		if err := f.Parse(args); err != nil {
			if errors.Is(err, flag.ErrHelp) {
				f.help(f.sh.out)
				return nil, err
			}
			return nil, usageError{f.words(err)}
		}
		if f.NArg() == 0 {
			return append(rest, tail...), nil
		}
		rest = append(rest, f.Arg(0))
		args = f.Args()[1:]
	}
}

// words says in plain words what package flag found wrong.
func (f *flagSet) words(err error) string {
	text := err.Error()
	if name, ok := strings.CutPrefix(text, "flag provided but not defined: -"); ok {
		return fmt.Sprintf("there is no option %s", dashed(name))
	}
	if name, ok := strings.CutPrefix(text, "flag needs an argument: -"); ok {
		return fmt.Sprintf("%s needs a value", dashed(name))
	}
	var value, name string
	if n, _ := fmt.Sscanf(text, "invalid value %q for flag -%s", &value, &name); n == 2 {
		return fmt.Sprintf("%s %q is not a whole number", dashed(strings.TrimSuffix(name, ":")), value)
	}
	if n, _ := fmt.Sscanf(text, "invalid boolean value %q for -%s", &value, &name); n == 2 {
		return fmt.Sprintf("%s takes no value", dashed(strings.TrimSuffix(name, ":")))
	}
	return text
}

// argument reads the command line and returns the one argument beside the
// flags.
func (f *flagSet) argument(args []string, what string) (string, error) {
	rest, err := f.parse(args)
	switch {
	case err != nil:
		return "", err
	case len(rest) == 0:
		return "", usageError{"which " + what + "?"}
	case len(rest) > 1:
		return "", usageError{"one " + what + " at a time: " + strings.Join(rest, ", ")}
	case f.line != nil && f.given("line") && f.given("tune"):
		return "", usageError{"--line is for MIDI files, --tune for books: one of the two"}
	case f.line != nil && f.given("line") && wrongNumber(*f.line):
		return "", usageError{fmt.Sprintf("--line %s: lines are numbered from 1", *f.line)}
	case f.given("tune") && wrongNumber(*f.tune):
		return "", usageError{fmt.Sprintf("--tune %s: tunes are numbered from 1", *f.tune)}
	}
	if f.line != nil && *f.line != "" {
		*f.tune = *f.line
	}
	if f.language != nil {
		id, err := gradatim.ParseLanguage(*f.language)
		if err != nil {
			return "", usageError{"--language " + err.Error()}
		}
		f.sh.words = words.Must(id)
	}
	return rest[0], nil
}
