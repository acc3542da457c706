package rights

import (
	"strings"

	"gradatim/leadsheet"
)

// Publishable says what is missing before pages made from a song may be
// published: an Error for each thing, with a way out. Its Err is nil where
// nothing is. Infos tell rules of thumb, with their sources, for whoever has to
// find out; none of them decides anything here.
func Publishable(song leadsheet.Song) leadsheet.Problems {
	c := check{song: song, r: song.Rights}
	c.title()
	c.status()
	c.composers()
	c.lyrics()
	c.thumb()
	return c.ps
}

type check struct {
	song leadsheet.Song
	r    leadsheet.Rights
	ps   leadsheet.Problems
}

func (c *check) add(sev leadsheet.Severity, says leadsheet.Saying, parts ...any) {
	pos := leadsheet.Pos{File: c.r.Filed}
	if pos.File == "" {
		pos.File = c.song.File
	}
	c.ps.Tell(sev, pos, says, parts...)
}

// file is how the file beside the sheet is called in a way out.
func (c *check) file() any {
	if c.r.Filed != "" {
		return c.r.Filed
	}
	return leadsheet.Tell(leadsheet.Info, leadsheet.Pos{}, "rights-beside")
}

func (c *check) title() {
	if strings.TrimSpace(c.song.Title) == "" {
		c.add(leadsheet.Error, "rights-title", "File", c.file())
	}
}

func (c *check) composers() {
	if len(c.r.Composers) == 0 {
		c.add(leadsheet.Error, "rights-composer", "Form", personForm, "File", c.file())
	}
}

func (c *check) status() {
	r := c.r
	switch r.Status {
	case leadsheet.PublicDomain:
		if r.Year == 0 && r.Source == "" && !c.allDied() {
			c.add(leadsheet.Error, "rights-basis", "File", c.file())
		}
	case leadsheet.Own:
	case leadsheet.Licensed:
		switch {
		case r.Licence == "" && r.Reference == "":
			c.add(leadsheet.Error, "rights-permission", "File", c.file())
		case r.Reference != "" && r.ReferenceDate == "":
			c.add(leadsheet.Error, "rights-permission-date", "File", c.file())
		}
		if len(r.Territories) > 0 {
			c.add(leadsheet.Info, "rights-territory", "Territories", strings.Join(r.Territories, ", "))
		}
	default:
		c.add(leadsheet.Error, "rights-status", "File", c.file())
		c.add(leadsheet.Info, "rights-arrangement")
	}
}

// allDied tells whether the year of death of all makers is known.
func (c *check) allDied() bool {
	for _, p := range c.r.Composers {
		if p.Died == 0 {
			return false
		}
	}
	if c.r.LyricsCleared {
		for _, p := range c.r.Lyricists {
			if p.Died == 0 {
				return false
			}
		}
	}
	return len(c.r.Composers) > 0
}

func (c *check) lyrics() {
	if c.r.LyricsCleared {
		return
	}
	for _, n := range c.song.Melody {
		if len(n.Sung) > 0 {
			c.add(leadsheet.Info, "rights-lyrics", "File", c.file())
			return
		}
	}
}

// Terms of protection, in years: United States Code, title 17, section 304 (works
// published up to 1977, where the formalities were kept) and 305 (to the end of the
// year); Directive 2006/116/EC, articles 1 and 8, for life + 70. From memory.
const (
	termUS   = 95
	lastUS   = 1977
	termLife = 70
)

// thumb tells the rules of thumb that the known years make possible.
func (c *check) thumb() {
	if c.r.Status == leadsheet.Own || c.r.Status == leadsheet.Licensed {
		return
	}
	if y := c.r.Year; y > 0 && y <= lastUS {
		c.add(leadsheet.Info, "rights-thumb.usa", "Year", y, "Free", y+termUS+1, "Last", lastUS)
	}
	last := 0
	for _, p := range append(append([]leadsheet.Person{}, c.r.Composers...), c.r.Lyricists...) {
		if p.Died == 0 {
			return // the last of them is not known
		}
		last = max(last, p.Died)
	}
	if last > 0 {
		c.add(leadsheet.Info, "rights-thumb.life", "Term", termLife, "Free", last+termLife+1)
	}
}
