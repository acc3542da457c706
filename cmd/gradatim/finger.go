package main

import (
	"context"
	"path/filepath"
	"strings"

	"gradatim"
	"gradatim/leadsheet"
)

const fingerAbout = `Writes fingers into a two-staff piano score (MusicXML): fingers that stand there
stay, and the others are chosen for the hand. Written are those that a teacher would
write in, or all.`

func fingerCommand(ctx context.Context, sh *shell, args []string) error {
	f := flags(sh, "finger", "SCORE -o FILE", fingerAbout, "page.musicxml -o fingered.musicxml", "page.musicxml -o fingered.musicxml --fingers all --hand octave")
	to := f.String("o", "", "`FILE`: .musicxml")
	fingers := f.String("fingers", "some", "`WHICH` to write: some, all, or none, which takes them out (default: some)")
	reach, handFile := handFlags(f)
	f.Language()
	name, err := f.argument(args, "score")
	if err != nil {
		return err
	}
	switch ext := strings.ToLower(filepath.Ext(*to)); {
	case *to == "":
		return usageError{"where to? Give a file with -o FILE.musicxml"}
	case ext != ".musicxml" && ext != ".xml":
		return usageError{"-o " + *to + ": the file must end in .musicxml"}
	}
	which, err := gradatim.ParseFingers(*fingers)
	if err != nil {
		return usageError{"--fingers " + err.Error()}
	}
	hand, err := sh.chooseHand(*reach, *handFile)
	if err != nil {
		return err
	}
	data, err := sh.readFile(name)
	if err != nil {
		return err
	}
	s, told, err := gradatim.ReadScore(label(name), data)
	if err != nil {
		return err
	}
	out, more, err := gradatim.WriteScore(ctx, gradatim.Finger(s, hand, which))
	if err != nil {
		return leadsheet.InFile(err, label(name))
	}
	sh.say(sh.words.Problems(append(told, more...))...)
	return writeOne(*to, out)
}
