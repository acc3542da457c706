package gradatim

import (
	"context"
	"slices"

	"gradatim/internal/account"
	"gradatim/internal/edition"
	"gradatim/internal/musicxml"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// FormatVersion is the version of every JSON shape that is documented in
// docs/formats.md.
const FormatVersion = account.FormatVersion

// Page is the tune at one level: two hands on two staves, judged and fingered.
type Page struct {
	Level Level
	Key   theory.Key
	Style Style
	// Score has a finger on every note, Printed only those that are shown. Of a failed
	// page they are not fit to hand out.
	Score, Printed score.Score
	Techniques     []Use
	// Failed is set where no page passed the audit; Problems say why.
	Failed   bool
	Problems leadsheet.Problems // what had to give way at this level
}

// Use tells where a page uses a technique.
type Use struct {
	Technique string // id, as in docs/techniques.md
	Name      string // for a reader
	Bars      []int  // as printed, ascending
}

// Ladder arranges the tune at every level asked for, in the first of the job's Keys,
// the easiest level first. The error is the context's, or a leadsheet.Problems where
// nothing can be arranged at all; a single level that cannot be is a Page that Failed.
func (s *Session) Ladder(ctx context.Context) ([]Page, error) {
	es, err := s.ladders(ctx)
	if err != nil {
		return nil, err
	}
	var out []Page
	err = s.alone(ctx, func() error {
		if s.pages == nil { // which fingers are shown takes a look at every note
			for _, a := range es[0].Pages {
				s.pages = append(s.pages, s.pageOf(a))
			}
			s.before = nil
		}
		out = slices.Clone(s.pages)
		for i := range out {
			out[i].Techniques = slices.Clone(out[i].Techniques)
		}
		return nil
	})
	return out, err
}

func (s *Session) pageOf(a edition.Page) Page {
	p := Page{Level: Level{a.Level.Number, a.Level.Name, a.Level.Title}, Key: a.Song.Key, Style: Style(a.Idiom.Idiom.ID),
		Score: a.Score, Printed: s.printedAgain(a), Failed: a.Failed, Problems: a.Problems}
	w := words.Must(s.job.Language)
	for _, u := range a.Used {
		p.Techniques = append(p.Techniques, Use{u.Technique, w.Technique(u.Technique).Name, slices.Clone(u.Bars)})
	}
	return p
}

// printed is the page with the fingers that are shown.
func (s *Session) printed(a edition.Page) score.Score {
	return s.job.Fingers.shown(a.Score, a.Level.Fingers)
}

// printedAgain is printed for whoever makes the pages: one that a change has left as it was
// shares its notes with the one before.
func (s *Session) printedAgain(a edition.Page) score.Score {
	for _, was := range s.before {
		if n := len(a.Score.Notes); n > 0 && n == len(was.Score.Notes) && &a.Score.Notes[0] == &was.Score.Notes[0] {
			a.Score.Notes = was.Printed.Notes
			return a.Score
		}
	}
	return s.printed(a)
}

// level finds a level's page among those in the first key, with its index.
func (s *Session) level(ctx context.Context, number int) (*edition.Edition, int, error) {
	es, err := s.ladders(ctx)
	if err != nil {
		return nil, 0, err
	}
	i := slices.IndexFunc(es[0].Pages, func(a edition.Page) bool { return a.Level.Number == number })
	if i >= 0 {
		return es[0], i, nil
	}
	var ps leadsheet.Problems
	ps.Tell(leadsheet.Error, leadsheet.Pos{File: s.song.File}, "level-unknown.ladder", "Level", number)
	return nil, 0, s.words().Problems(ps)
}

// page is level for what needs a page that passed.
func (s *Session) page(ctx context.Context, number int) (edition.Page, error) {
	e, i, err := s.level(ctx, number)
	if err != nil {
		return edition.Page{}, err
	}
	if a := e.Pages[i]; !a.Failed {
		return a, nil
	}
	ps := slices.Clone(e.Pages[i].Problems)
	if ps.Err() == nil {
		ps.Tell(leadsheet.Error, leadsheet.Pos{File: s.song.File}, "level-failed", "Level", number)
	}
	return edition.Page{}, s.words().Problems(ps)
}

// inSheet names the sheet in problems of a page, which knows only its bars, and puts
// them into the words of the job.
func (s *Session) inSheet(err error) error {
	return s.words().Err(leadsheet.InFile(err, s.song.File))
}

// words are those of the job's language.
func (s *Session) words() *words.Words { return words.Must(s.job.Language) }

// MusicXML is the page of a level as a MusicXML 4.0 file.
func (s *Session) MusicXML(ctx context.Context, level int) ([]byte, error) {
	a, err := s.page(ctx, level)
	if err != nil {
		return nil, err
	}
	xml, _, err := WriteScore(ctx, s.printed(a))
	return xml, s.inSheet(err)
}

// PDF is the page of a level as it is printed, on the job's Paper.
func (s *Session) PDF(ctx context.Context, level int) ([]byte, error) {
	xml, err := s.MusicXML(ctx, level)
	if err != nil {
		return nil, err
	}
	return s.engraved(ctx, xml)
}

// Account is the JSON that says why every note and chord of a level's page is there
// (docs/formats.md).
func (s *Session) Account(ctx context.Context, level int) ([]byte, error) {
	a, err := s.page(ctx, level)
	if err != nil {
		return nil, err
	}
	return unlessEnded(ctx, func() ([]byte, error) {
		data, err := account.Of(a)
		return append(data, '\n'), err
	})
}

// Summary is the JSON of the whole ladder: what each level uses and keeps to
// (docs/formats.md). It lists no files: those that PutLadder puts into a folder it lists.
func (s *Session) Summary(ctx context.Context) ([]byte, error) {
	es, err := s.ladders(ctx)
	if err != nil {
		return nil, err
	}
	return unlessEnded(ctx, func() ([]byte, error) {
		data, err := account.Summary(s.job.Stem(), es[0].Pages, s.song.Problems, nil)
		return append(data, '\n'), err
	})
}

// Files names what a level's page, MIDI file and account are called, as Summary lists
// them.
func (j Job) Files(level int) (page, midi, why string) {
	names := account.Files(j.Stem(), level)
	return names[0], names[1], names[2]
}

// LeadSheet is the tune with its chords and verses, in the key of the pages, as a MusicXML
// file. Words that are not cleared are left out where the rights are stated.
func (s *Session) LeadSheet(ctx context.Context) ([]byte, error) {
	es, err := s.ladders(ctx)
	if err != nil {
		return nil, err
	}
	return unlessEnded(ctx, func() ([]byte, error) {
		data, err := musicxml.WriteSong(es[0].LeadSheet())
		return data, s.inSheet(err)
	})
}

// LeadSheetPDF is the same as it is printed.
func (s *Session) LeadSheetPDF(ctx context.Context) ([]byte, error) {
	xml, err := s.LeadSheet(ctx)
	if err != nil {
		return nil, err
	}
	return s.engraved(ctx, xml)
}
