package rights

import (
	"fmt"
	"strings"

	"gradatim/leadsheet"
)

// advice stands behind every way out.
const advice = "; the law of your place decides, so ask somebody who knows it where you are in doubt"

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

func (c *check) add(sev leadsheet.Severity, code, text, fix string) {
	pos := leadsheet.Pos{File: c.r.Filed}
	if pos.File == "" {
		pos.File = c.song.File
	}
	c.ps.Add(sev, pos, code, text, fix)
}

// file is how the file beside the sheet is called in a way out.
func (c *check) file() string {
	if c.r.Filed != "" {
		return c.r.Filed
	}
	return "NAME.rights.toml beside the sheet"
}

func (c *check) title() {
	if strings.TrimSpace(c.song.Title) == "" {
		c.add(leadsheet.Error, "rights-title", "the tune has no title", `write title = "…" in `+c.file())
	}
}

func (c *check) composers() {
	if len(c.r.Composers) == 0 {
		c.add(leadsheet.Error, "rights-composer", "nobody is named as composer", `write composers = [{ name = "…", died = 1901 }] in `+c.file()+`; an old tune that nobody is known for is "traditional"`)
	}
}

func (c *check) status() {
	r := c.r
	switch r.Status {
	case leadsheet.PublicDomain:
		if r.Year == 0 && r.Source == "" && !c.allDied() {
			c.add(leadsheet.Error, "rights-basis", "nothing tells why the tune is free: neither the year of first publication, nor when its makers died, nor the source it was taken from",
				"write year, died or source in "+c.file()+advice)
		}
	case leadsheet.Own:
	case leadsheet.Licensed:
		switch {
		case r.Licence == "" && r.Reference == "":
			c.add(leadsheet.Error, "rights-permission", "the tune is licensed, but neither the licence nor a permission is named",
				`write licence = "…" (its name or text), or permission = "…" and permission_date, in `+c.file())
		case r.Reference != "" && r.ReferenceDate == "":
			c.add(leadsheet.Error, "rights-permission-date", "the permission has no date", "write permission_date = 2024-05-31 in "+c.file())
		}
		if len(r.Territories) > 0 {
			c.add(leadsheet.Info, "rights-territory", "the licence is for "+strings.Join(r.Territories, ", ")+" only", "publish nowhere else")
		}
	default:
		c.add(leadsheet.Error, "rights-status", "it is not known who owns the tune",
			`find out, then write status = "public domain", "own" or "licensed" in `+c.file()+"; private practice needs none of it"+advice)
		c.add(leadsheet.Info, "rights-arrangement", "an arrangement is a derivative work: while a tune is in copyright, its owner decides who may arrange it (US Copyright Office, Circular 50)", "")
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
		if n.Lyric != "" {
			c.add(leadsheet.Info, "rights-lyrics", "the words are a work of their own and are left out", "write lyrics_cleared = true in "+c.file()+" once they may be printed")
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
		c.add(leadsheet.Info, "rights-thumb", fmt.Sprintf("rule of thumb for the USA: what was published in %d is free there from 1 January %d (17 U.S.C. 304 and 305; works published up to %d)", y, y+termUS+1, lastUS),
			"this decides nothing"+advice)
	}
	last := 0
	for _, p := range append(append([]leadsheet.Person{}, c.r.Composers...), c.r.Lyricists...) {
		if p.Died == 0 {
			return // the last of them is not known
		}
		last = max(last, p.Died)
	}
	if last > 0 {
		c.add(leadsheet.Info, "rights-thumb", fmt.Sprintf("rule of thumb for many countries: works are free %d years after the last of their makers died, here from 1 January %d (in the European Union: Directive 2006/116/EC); editions, words and harmonies may be newer", termLife, last+termLife+1),
			"this decides nothing"+advice)
	}
}
