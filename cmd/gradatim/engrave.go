package main

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"

	"gradatim"
	"gradatim/leadsheet"
)

const engraveAbout = `Engraves a piano score (MusicXML) as pages. The kind of FILE tells what is made: a
.pdf holds all pages; .svg and .png hold one page, and further pages go to
FILE-2, FILE-3 and so on. With --bars a .svg or .png shows those bars as one
system, cut to its size.`

func engraveCommand(ctx context.Context, sh *shell, args []string) error {
	f := flags(sh, "engrave", "SCORE -o FILE", engraveAbout,
		"pages/tune.3.musicxml -o tune.pdf", "pages/tune.3.musicxml -o tune.png --large-print --dpi 150")
	to := f.String("o", "", "`FILE`: .pdf, .svg or .png")
	paper := f.String("paper", "a4", "`PAPER`: a4, letter or tablet, which is landscape (default: a4)")
	large := f.Bool("large-print", false, "larger staves, heavier lines, bigger fingering")
	fingers := f.String("fingers", "all", "`WHICH`: fingerings to print of those in the score: all, some (as ladder prints them) or none (default: all)")
	chords := f.String("chords", "on", "`ON`: chord symbols, on or off (default: on)")
	degrees := f.Bool("degrees", false, "print 3, ♭7, ♯9 … under the chord symbols")
	bars := f.String("bars", "", "`RANGE`: bars to engrave, as 5-8 or 5, without title and foot (default: all)")
	dpi := f.Int("dpi", 200, "`N`: dots an inch of a .png, 20 to 1200 (default: 200)")
	engine := f.String("engine", "", "`FILE`: another build of the engraving library, in the place of the one inside")
	f.Language()
	name, err := f.argument(args, "score")
	if err != nil {
		return err
	}
	kind := strings.ToLower(filepath.Ext(*to))
	switch {
	case *to == "":
		return usageError{"where to? Give a file with -o FILE.pdf"}
	case kind != ".pdf" && kind != ".svg" && kind != ".png":
		return usageError{fmt.Sprintf("-o %s: the file must end in .pdf, .svg or .png", *to)}
	case *dpi < 20 || *dpi > 1200:
		return usageError{fmt.Sprintf("--dpi %d is not between 20 and 1200", *dpi)}
	}
	l := gradatim.Layout{Language: sh.words.ID(), LargePrint: *large, Degrees: *degrees}
	if l.Paper, err = gradatim.ParsePaper(*paper); err != nil {
		return usageError{"--paper " + err.Error()}
	}
	if l.Fingers, err = gradatim.ParseFingers(*fingers); err != nil {
		return usageError{"--fingers " + err.Error()}
	}
	switch *chords {
	case "on":
	case "off":
		l.HideChords = true
	default:
		return usageError{fmt.Sprintf("--chords %q: say on or off", *chords)}
	}
	if l.From, l.To, err = barRange(*bars); err != nil {
		return err
	}
	l.OneSystem = *bars != "" && kind != ".pdf"
	file, err := sh.file(name)
	if err != nil {
		return err
	}
	st := gradatim.Studio{Engine: *engine}
	defer st.Close()
	stop := sh.progress("engraving")
	doc, err := st.EngraveFile(ctx, file, l)
	stop()
	if err != nil {
		return err
	}
	sh.tell(doc.Problems(), file.Name)
	outs, err := pageFiles(ctx, doc, filepath.Base(*to), kind, *dpi)
	if err != nil {
		return err
	}
	if err := writeAll(filepath.Dir(*to), outs); err != nil {
		return err
	}
	for _, o := range outs {
		fmt.Fprintln(sh.out, leadsheet.Name(filepath.Join(filepath.Dir(*to), o.name)))
	}
	return nil
}

// pageFiles turns a document into files.
func pageFiles(ctx context.Context, doc *gradatim.Engraving, base, kind string, dpi int) ([]output, error) {
	if kind == ".pdf" {
		pdf, err := doc.PDF(ctx)
		return []output{{base, pdf}}, err
	}
	stem := strings.TrimSuffix(base, filepath.Ext(base))
	var outs []output
	for i := range doc.Pages() {
		name := base
		if i > 0 {
			name = fmt.Sprintf("%s-%d%s", stem, i+1, kind)
		}
		data := doc.SVG(i)
		if kind == ".png" {
			var err error
			if data, err = doc.PNG(i, float64(dpi)); err != nil {
				return nil, err
			}
		}
		outs = append(outs, output{name, data})
	}
	return outs, nil
}
