package main

import (
	"context"
	"fmt"

	"gradatim"
)

const harmonizeAbout = `Gives a bare melody chords and writes the same lead sheet with them: the tune stays
note for note as it is, repeats as they are written. The kind of FILE tells the
format. Each chord is told with what it does in the key, which notes of the tune it
holds, and what the next likeliest would do. A tune that has chords is refused,
unless --replace says that they go: then they are not even looked at.`

func harmonizeCommand(ctx context.Context, sh *shell, args []string) error {
	f := flags(sh, "harmonize", "SHEET -o FILE", harmonizeAbout,
		"bare.abc -o tune.abc", "song.musicxml -o song-new.musicxml --replace --rhythm slow --json")
	to := f.String("o", "", "`FILE`: the sheet with chords, .abc or .musicxml")
	tune := f.Tune()
	replace := f.Bool("replace", false, "take the chords that are there away first")
	rhythm := f.String("rhythm", "auto", "`RHYTHM`: how often chords change: slow (less than two in three bars), usual (about one a bar), quick (more) or auto (default: auto)")
	style := f.String("style", "auto", "`KIND` of tune, as the ladder takes it (default: auto)")
	f.Language()
	asJSON := f.JSON("print the chords as JSON in the place of the list")
	name, err := f.argument(args, "lead sheet")
	if err != nil {
		return err
	}
	opt := gradatim.HarmonizeOptions{Replace: *replace, Language: sh.words.ID()}
	if *to == "" {
		return usageError{"where to? Give a file with -o FILE.abc or -o FILE.musicxml"}
	}
	if opt.Format, err = sheetFormat(*to); err != nil {
		return err
	}
	if opt.Rhythm, err = gradatim.ParseChordRhythm(*rhythm); err != nil {
		return usageError{"--rhythm " + err.Error()}
	}
	if opt.Style, err = gradatim.ParseStyle(*style); err != nil {
		return usageError{"--style " + err.Error()}
	}
	sheet, err := sh.file(name)
	if err != nil {
		return err
	}
	if opt.Tune, err = gradatim.FindTune(sheet, *tune); err != nil {
		return err
	}
	h, err := gradatim.Harmonize(ctx, sheet, opt)
	if err != nil {
		return err
	}
	if err := writeOne(*to, h.Sheet); err != nil {
		return err
	}
	if *asJSON {
		_, err := sh.out.Write(h.JSON)
		return err
	}
	fmt.Fprint(sh.out, h.Text)
	sh.say(h.Problems...)
	return nil
}
