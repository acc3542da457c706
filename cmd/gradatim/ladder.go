package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"gradatim"
	"gradatim/internal/hand"
	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
	"gradatim/internal/musicxml"
	"gradatim/internal/smf"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/theory"
)

const ladderAbout = `Arranges a lead sheet for two hands at every level and writes, for each level k,
DIR/NAME.k.musicxml (the page), NAME.k.mid (how it sounds) and NAME.k.json (why
every note is there), and DIR/ladder.json (what each level uses and keeps to).
Every page has passed the audit.`

func ladderCommand(ctx context.Context, sh *shell, args []string) error {
	f := flags(sh, "ladder", "SHEET -o DIR", ladderAbout)
	dir := f.String("o", "", "`DIR` to write to; it is made if need be")
	levels := f.String("levels", "", "`LIST` of levels, by number or name: 1-2, late-elementary; default all")
	key := f.String("key", "", "`KEY` to move the tune to: F, Bb, C#, or easy for a friendly one")
	feel := f.String("feel", "auto", "`FEEL`: auto, swing or straight")
	tempo := f.Int("tempo", 0, "`N` beats a minute, as printed; default a share of the tune's tempo by level")
	reach := f.String("hand", "ninth", "`REACH`: octave, ninth, tenth, or thumb to little finger in mm")
	tune := f.Int("tune", 0, "`N`umber of the tune in a file of several")
	style := f.String("style", "auto", "`STYLE`: auto, pop, swing, blues, ballad, bossa, waltz or folk")
	choices := f.String("choices", "", "`FILE` of the teacher's own choices, by level, bar and beat (TOML)")
	levelFile := f.String("level-file", "", "`FILE` of a level of her own (TOML)")
	asJSON := f.Bool("json", false, "print ladder.json as well")
	rest, err := parse(f, args)
	if err != nil {
		return err
	}
	sheet, err := one(rest, "lead sheet")
	if err != nil {
		return err
	}
	if *dir == "" {
		return usageError{"where to? Give a folder with -o DIR"}
	}
	opt, err := ladderOptions(*key, *feel, *tempo, *reach, *style)
	if err != nil {
		return err
	}
	if opt.Levels, err = sh.chooseLevels(*levels, *levelFile); err != nil {
		return err
	}
	data, err := sh.readFile(sheet)
	if err != nil {
		return err
	}
	song, err := gradatim.Read(sheet, data, *tune)
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
		if opt.Choices, err = ladder.ParseChoices(*choices, text, song, opt.Levels); err != nil {
			return err
		}
	}
	stop := sh.progress("arranging")
	as, err := gradatim.Ladder(ctx, song, opt)
	stop()
	if err != nil {
		return err
	}
	return sh.writeLadder(*dir, gradatim.Stem(sheet, *tune), song, as, *asJSON)
}

func (sh *shell) writeLadder(dir, stem string, song leadsheet.Song, as []gradatim.Arrangement, asJSON bool) error {
	var outs []output
	failing := false
	for _, a := range as {
		if a.Failed {
			failing = true
			continue
		}
		page, err := musicxml.Write(a.Score)
		if err != nil {
			return err
		}
		sound, err := smf.Write(smf.Plain(a.Score))
		if err != nil {
			return err
		}
		account, err := gradatim.Account(a)
		if err != nil {
			return err
		}
		names := gradatim.Files(stem, a.Level.Number)
		outs = append(outs, output{names[0], page}, output{names[1], sound}, output{names[2], append(account, '\n')})
	}
	summary, err := gradatim.Summary(stem, as, song.Problems)
	if err != nil {
		return err
	}
	outs = append(outs, output{"ladder.json", append(summary, '\n')})
	if err := writeAll(dir, outs); err != nil {
		return err
	}
	for _, p := range song.Problems {
		fmt.Fprintln(sh.err, p)
	}
	for _, a := range as {
		for _, p := range a.Problems {
			if p.Severity > leadsheet.Info {
				fmt.Fprintf(sh.err, "level %d: %s\n", a.Level.Number, p)
			}
		}
	}
	if asJSON {
		fmt.Fprintln(sh.out, string(summary))
	} else {
		printLadder(sh, dir, stem, as)
	}
	if failing {
		return errTold
	}
	return nil
}

func printLadder(sh *shell, dir, stem string, as []gradatim.Arrangement) {
	for _, a := range as {
		if a.Failed {
			fmt.Fprintf(sh.out, "%d %-20s no page passed the audit\n", a.Level.Number, a.Level.Name)
			continue
		}
		var used []string
		for _, u := range a.Used {
			t, _ := technique.ByID(u.Technique)
			used = append(used, strings.ToLower(t.Name[:1])+t.Name[1:])
		}
		fmt.Fprintf(sh.out, "%d %-20s %s, %d bars, %s: %s\n", a.Level.Number, a.Level.Name, a.Song.Key.Pretty(), len(a.Score.Bars), a.Score.Feel, strings.Join(used, ", "))
	}
	fmt.Fprintf(sh.out, "written to %s: %s.*.musicxml, .mid, .json, and ladder.json\n", dir, stem)
}

func ladderOptions(key, feel string, tempo int, reach, style string) (gradatim.Options, error) {
	var opt gradatim.Options
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
		return opt, usageError{fmt.Sprintf("--feel %q: say auto, swing or straight", feel)}
	}
	if tempo < 0 || tempo > 400 {
		return opt, usageError{fmt.Sprintf("--tempo %s is not between 1 and 400", strconv.Itoa(tempo))}
	}
	if opt.Hand, err = hand.ParseProfile(reach); err != nil {
		return opt, usageError{err.Error()}
	}
	if style != "auto" {
		st, ok := harmony.ParseStyle(style)
		if !ok {
			return opt, usageError{fmt.Sprintf("--style %q: say auto, pop, swing, blues, ballad, bossa, waltz or folk", style)}
		}
		opt.Style = st
	}
	return opt, nil
}

// chooseLevels returns the levels asked for; a level file adds one, or stands in
// the place of the embedded one with its number.
func (sh *shell) chooseLevels(list, file string) ([]ladder.Level, error) {
	built := ladder.Levels()
	if file != "" {
		data, err := sh.readFile(file)
		if err != nil {
			return nil, err
		}
		own, err := ladder.Parse(file, data)
		if err != nil {
			return nil, err
		}
		built = ladder.With(built, own)
	}
	return ladder.Select(list, built)
}

// progress shows on a terminal that something is going on once it has taken a
// second. The function returned ends it.
func (sh *shell) progress(what string) (stop func()) {
	if !terminal(sh.err) {
		return func() {}
	}
	end := make(chan struct{})
	gone := make(chan struct{})
	go func() {
		defer close(gone)
		t := time.NewTicker(time.Second)
		defer t.Stop()
		for n := 1; ; n++ {
			select {
			case <-end:
				if n > 1 {
					fmt.Fprint(sh.err, "\r\x1b[K")
				}
				return
			case <-t.C:
				fmt.Fprintf(sh.err, "\r%s … %d s", what, n)
			}
		}
	}()
	return func() { close(end); <-gone }
}
