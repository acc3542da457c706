package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"gradatim"
	"gradatim/internal/account"
	"gradatim/internal/choice"
	"gradatim/internal/edition"
	"gradatim/internal/engrave"
	"gradatim/internal/hand"
	"gradatim/internal/idiom"
	"gradatim/internal/ladder"
	"gradatim/internal/musicxml"
	"gradatim/internal/perform"
	"gradatim/internal/studio"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/theory"
)

const ladderAbout = `Arranges a lead sheet for two hands at every level and writes, for each level k,
DIR/NAME.k.musicxml (the page), NAME.k.mid (how it sounds) and NAME.k.json (why
every note is there), and DIR/ladder.json (what each level uses and keeps to).
NAME is the sheet's name. Every page has passed the audit; where none did, the
level is not written, and the exit code is 1.`

func ladderCommand(ctx context.Context, sh *shell, args []string) error {
	f := flags(sh, "ladder", "SHEET -o DIR", ladderAbout,
		"tune.abc -o pages", "book.abc --tune 3 -o pages --levels 1-2 --key easy --hand octave")
	dir := f.String("o", "", "`DIR`: folder to write to; it is made if need be")
	tune := f.Tune()
	levels := f.String("levels", "", "`LIST`: levels by number or name: 1-2, late-elementary or 1,3-5 (default: all)")
	key := f.String("key", "", "`KEY`: tonic to move the tune to, as F, Bb or C#; easy picks the one with the fewest black keys and says why (default: the tune's own)")
	feel := f.String("feel", "auto", "`FEEL`: swing, straight, or auto: the level's feel, else the tune's (default: auto)")
	style := f.String("style", "auto", "`KIND` of tune: "+kindNames()+"; auto: found from the sheet (default: auto)")
	manner := f.String("manner", "auto", "`WAY` up the ladder: walk (another manner at each level), stay (the tune's own kind at every level), or auto: as tunes of the kind do (default: auto)")
	tempo := f.Int("tempo", 0, "`N`: beats a minute, for all levels (default: a share of the tune's tempo, by level)")
	reach, handFile := handFlags(f)
	choices := f.String("choices", "", "`FILE`: the teacher's own choices by level, bar and beat (TOML)")
	levelFile := f.String("level-file", "", "`FILE`: a level of her own (TOML); it joins the others, or replaces the one with its number")
	fingers := f.String("fingers", "some", "`WHICH`: fingerings to print: all, some (what a teacher would write in, by level) or none (default: some)")
	pdf := f.Bool("pdf", false, "engrave each page too, as NAME.k.pdf")
	lead := f.Bool("lead", false, "write the lead sheet itself too, as NAME.lead.musicxml")
	paper := f.String("paper", "a4", "`PAPER`: of the pages: a4, letter or tablet (default: a4)")
	large := f.Bool("large-print", false, "engrave with larger staves, heavier lines and bigger fingering")
	asJSON := f.JSON("print ladder.json too, in the place of the list")
	sheet, err := f.argument(args, "lead sheet")
	if err != nil {
		return err
	}
	if *dir == "" {
		return usageError{"where to? Give a folder with -o DIR"}
	}
	if f.given("tempo") && (*tempo < 1 || *tempo > 400) {
		return usageError{fmt.Sprintf("--tempo %d is not between 1 and 400", *tempo)}
	}
	opt, err := ladderOptions(*key, *feel, *style, *manner)
	if err != nil {
		return err
	}
	pages := pageOptions{pdf: *pdf, lead: *lead, layout: engrave.Layout{LargePrint: *large}}
	if pages.layout.Paper, err = engrave.PaperNamed(*paper); err != nil {
		return usageError{"--" + err.Error()}
	}
	switch *fingers {
	case "some":
	case "all":
		pages.fingers = new(hand.All)
	case "none":
		pages.fingers = new(hand.None)
	default:
		return usageError{fmt.Sprintf("--fingers %q: say all, some or none", *fingers)}
	}
	if opt.Hand, err = sh.chooseHand(*reach, *handFile); err != nil {
		return err
	}
	built, err := sh.builtLevels(*levelFile)
	if err != nil {
		return err
	}
	if opt.Levels, err = ladder.Select(*levels, built); err != nil {
		return err
	}
	song, err := sh.readSheet(sheet, *tune)
	if err != nil {
		return err
	}
	if *tempo > 0 {
		opt.Tempo = leadsheet.Tempo{Beat: song.Meter.BeatDur(), PerMinute: *tempo, Words: song.Tempo.Words}
	}
	if *choices != "" {
		text, err := sh.readFile(*choices)
		if err != nil {
			return err
		}
		// A file of choices serves every run: those for levels not asked for wait.
		var told leadsheet.Problems
		if opt.Choices, told, err = choice.Parse(label(*choices), text, song, built, sh.beside(*choices)); err != nil {
			return err
		}
		song.Problems = append(slices.Clip(song.Problems), told...)
	}
	stop := sh.progress("arranging")
	as, err := edition.Make(ctx, song, opt)
	stop()
	var ps leadsheet.Problems
	if errors.As(err, &ps) { // with what was told before
		return slices.Concat(song.Problems, ps)
	} else if err != nil {
		return err
	}
	return sh.writeLadder(ctx, *dir, stem(sheet, *tune), song, as, pages, *asJSON)
}

// beside opens files that lie in the folder of another, or below it.
func (sh *shell) beside(file string) func(string) ([]byte, error) {
	return func(name string) ([]byte, error) {
		if !filepath.IsLocal(name) {
			return nil, problem(name, "file-path", "the file does not lie beside "+label(file), "name it without a path")
		}
		return sh.readFile(filepath.Join(filepath.Dir(file), name))
	}
}

// pageOptions say what is made of each level beside its score.
type pageOptions struct {
	fingers   *hand.Printed // nil: what the level shows
	pdf, lead bool
	layout    engrave.Layout
}

func (o pageOptions) shown(l ladder.Level) hand.Printed {
	if o.fingers != nil {
		return *o.fingers
	}
	return l.Fingers
}

// stem names the files of a sheet; what comes in without a name is "sheet".
func stem(sheet string, tune int) string {
	if s := gradatim.Stem(sheet, 0); sheet == "-" || s == "" {
		sheet = "sheet"
	}
	return gradatim.Stem(sheet, tune)
}

func (sh *shell) writeLadder(ctx context.Context, dir, stem string, song leadsheet.Song, as []edition.Page, pages pageOptions, asJSON bool) error {
	var outs, scores []output // scores: what is engraved
	failing := false
	for _, a := range as {
		if a.Failed {
			failing = true
			continue
		}
		page, err := musicxml.Write(hand.Print(a.Score, pages.shown(a.Level)))
		if err != nil {
			return inFile(err, song.File)
		}
		sound, _, err := studio.MIDI(a.Score, perform.Options{})
		if err != nil {
			return inFile(err, song.File)
		}
		why, err := account.Of(a)
		if err != nil {
			return err
		}
		names := account.Files(stem, a.Level.Number)
		outs = append(outs, output{names[0], page}, output{names[1], sound}, output{names[2], append(why, '\n')})
		scores = append(scores, outs[len(outs)-3])
	}
	if pages.lead && len(as) > 0 {
		sheet, err := musicxml.WriteSong(as[0].Song)
		if err != nil {
			return inFile(err, song.File)
		}
		outs = append(outs, output{stem + ".lead.musicxml", sheet})
		scores = append(scores, outs[len(outs)-1])
	}
	if pages.pdf {
		pdfs, err := sh.engraveAll(ctx, scores, pages.layout)
		if err != nil {
			return err
		}
		outs = append(outs, pdfs...)
	}
	summary, err := account.Summary(stem, as, song.Problems)
	if err != nil {
		return err
	}
	outs = append(outs, output{"ladder.json", append(summary, '\n')})
	if err := writeAll(dir, outs); err != nil {
		return err
	}
	if asJSON {
		fmt.Fprintln(sh.out, string(summary))
	} else {
		tellLadder(sh, song, as)
		printLadder(sh, dir, stem, as)
	}
	if failing {
		return errTold
	}
	return nil
}

// inFile names the file in problems of a page, which knows only its bars.
func inFile(err error, file string) error {
	var ps leadsheet.Problems
	if !errors.As(err, &ps) {
		return err
	}
	ps = slices.Clone(ps)
	for i := range ps {
		if ps[i].Pos.File == "" {
			ps[i].Pos.File = file
		}
	}
	return ps
}

// tellLadder tells what there is to tell: of the sheet, then of the piece as a
// whole, once, then of each level. Explanations of single bars are left to
// ladder.json.
func tellLadder(sh *shell, song leadsheet.Song, as []edition.Page) {
	for _, p := range song.Problems {
		fmt.Fprintln(sh.err, p)
	}
	whole := func(p leadsheet.Problem) bool { return p.Pos.Bar == 0 && p.Pos.Beat == 0 }
	common := func(p leadsheet.Problem) bool {
		for _, a := range as {
			if !slices.Contains(a.Problems, p) {
				return false
			}
		}
		return true
	}
	for i, a := range as {
		for _, p := range a.Problems {
			switch {
			case whole(p) && common(p):
				if i == 0 {
					fmt.Fprintln(sh.err, p)
				}
			case whole(p) || p.Severity > leadsheet.Info:
				fmt.Fprintf(sh.err, "level %d: %s\n", a.Level.Number, p)
			}
		}
	}
}

func printLadder(sh *shell, dir, stem string, as []edition.Page) {
	for _, a := range as {
		if a.Failed {
			fmt.Fprintf(sh.out, "%d %-20s no page passed the audit\n", a.Level.Number, a.Level.Name)
			continue
		}
		var used []string
		for _, u := range a.Used {
			used = append(used, words.Must(a.Language).Technique(u.Technique).Name)
		}
		line := fmt.Sprintf("%s, %s, %s: %s", a.Song.Key.Pretty(), bars(a.Song), a.Score.Feel, strings.Join(used, ", "))
		fmt.Fprintf(sh.out, "%d %-20s %s\n", a.Level.Number, a.Level.Name, wrapped(line, 23, 80))
	}
	fmt.Fprintf(sh.out, "written to %s: %s.*.musicxml, .mid, .json, and ladder.json\n", dir, stem)
}

// bars counts the bars as printed, without a pick-up.
func bars(song leadsheet.Song) string {
	n := 0
	for _, b := range song.Bars {
		if !b.Pickup {
			n++
		}
	}
	if n == 1 {
		return "1 bar"
	}
	return fmt.Sprintf("%d bars", n)
}

func ladderOptions(key, feel, style, manner string) (edition.Options, error) {
	var opt edition.Options
	var err error
	switch key {
	case "":
	case "easy":
		opt.Easy = true
	default:
		if opt.Key, err = theory.ParseKey(key); err != nil {
			return opt, usageError{fmt.Sprintf("--key %q is not a key: say F, Bb, C# … or easy", key)}
		}
	}
	switch feel {
	case "auto":
	case "swing":
		opt.Feel = leadsheet.Swing
	case "straight":
		opt.Feel = leadsheet.Straight
	default:
		return opt, usageError{fmt.Sprintf("--feel %q is not one: say auto, swing or straight", feel)}
	}
	if style != "auto" {
		if _, ok := idiom.Named(style, idiom.All()); !ok {
			return opt, usageError{fmt.Sprintf("--style %q is not one: say auto, %s", style, kindNames())}
		}
		opt.Idiom = style
	}
	var ok bool
	if opt.Manner, ok = idiom.WayNamed(manner); !ok {
		return opt, usageError{fmt.Sprintf("--manner %q is not one: say auto, walk or stay", manner)}
	}
	return opt, nil
}

// builtLevels returns the levels that there are; a level file adds one, or
// stands in the place of the embedded one with its number.
func (sh *shell) builtLevels(file string) ([]ladder.Level, error) {
	built := ladder.Levels()
	if file == "" {
		return built, nil
	}
	data, err := sh.readFile(file)
	if err != nil {
		return nil, err
	}
	own, err := ladder.Parse(label(file), data)
	if err != nil {
		return nil, err
	}
	return ladder.With(built, own), nil
}

// kindNames lists the kinds of tune, for a reader.
func kindNames() string {
	var ids []string
	for _, k := range idiom.All() {
		ids = append(ids, k.ID)
	}
	return strings.Join(ids, ", ")
}
