package musicxml

import (
	"cmp"
	"encoding/xml"
	"slices"
	"strings"

	"gradatim/internal/musicxml/markup"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// A verse is what lyric elements with the same number are; where that is no number, the
// next that is free. Syllables begin, go on and end words; an extend says that the last
// one of a word is held: up to the note that stops it or, in files that name no end, up
// to the verse's next syllable or a rest. Source: MusicXML 4.0, elements lyric, syllabic,
// elision and extend.

// sung is what a note has of the verses.
type sung struct {
	syllables []leadsheet.Syllable
	endless   []int // verses whose syllable is held, no note says how long
	twice     bool  // a verse has two syllables here; the first is kept
}

// verse is the number of a lyric element, from 1; 0: there are too many.
func (p *docParser) verse(number string) int {
	number = strings.TrimSpace(number)
	if number == "" {
		number = "1"
	}
	if n, ok := p.verses[number]; ok {
		return n
	}
	n, ok := markup.Integer(number)
	if !ok || n < 1 {
		for n = 1; p.taken(n); n++ {
		}
	}
	if n > leadsheet.MaxVerses || len(p.verses) > 2*leadsheet.MaxVerses {
		return 0
	}
	p.verses[number] = n
	return n
}

func (p *docParser) taken(n int) bool {
	for _, v := range p.verses {
		if v == n {
			return true
		}
	}
	return false
}

func (p *docParser) lyric(e xml.StartElement, to *sung) {
	y := leadsheet.Syllable{Verse: p.verse(markup.Attr(e, "number"))}
	var b strings.Builder
	joint := ""
	extends, how := false, ""
	p.Each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "syllabic":
			s := p.Text()
			y.Hyphen = s == "begin" || s == "middle"
		case "elision":
			joint = cmp.Or(oneLine(p.Text()), " ")
		case "text":
			if s := oneLine(p.Text()); s != "" {
				if b.Len() > 0 {
					b.WriteString(cmp.Or(joint, " "))
				}
				b.WriteString(s)
			}
		case "extend":
			extends, how = true, markup.Attr(e, "type")
		}
	})
	y.Text = b.String()
	switch {
	case y.Verse == 0:
		return
	case y.Text == "" && extends && how != "start":
		y.Held, y.Hyphen = true, false
	case y.Text == "":
		return
	}
	if _, has := leadsheet.In(to.syllables, y.Verse); has {
		to.twice = true
		return
	}
	to.syllables = append(to.syllables, y)
	if extends && how == "" && !y.Held && !y.Hyphen {
		to.endless = append(to.endless, y.Verse)
	}
}

// sorted orders syllables by verse.
func sorted(ss []leadsheet.Syllable) []leadsheet.Syllable {
	slices.SortStableFunc(ss, func(a, b leadsheet.Syllable) int { return cmp.Compare(a.Verse, b.Verse) })
	return ss
}

// with adds the verses that only the other list has.
func (s sung) with(other sung) sung {
	for _, y := range other.syllables {
		if _, has := leadsheet.In(s.syllables, y.Verse); !has {
			s.syllables = append(slices.Clip(s.syllables), y)
		}
	}
	s.endless = append(slices.Clip(s.endless), other.endless...)
	return s
}

// hold marks the notes of a tune over which syllables without a stated end are held.
func hold(bars [][]tuneNote, lengths []theory.Dur) {
	open := map[int]bool{}
	gap := true // there is a rest before the note
	var end theory.Dur
	for i := range bars {
		for k := range bars[i] {
			n := &bars[i][k]
			gap = n.at > end
			if gap {
				clear(open)
			}
			end = n.at + n.dur
			if n.tieTo {
				continue
			}
			for v := 1; v <= leadsheet.MaxVerses && len(open) > 0; v++ {
				if !open[v] {
					continue
				}
				if _, has := leadsheet.In(n.sung.syllables, v); has {
					delete(open, v)
				} else {
					n.sung.syllables = append(slices.Clip(n.sung.syllables), leadsheet.Syllable{Verse: v, Held: true})
				}
			}
			for _, v := range n.sung.endless {
				open[v] = true
			}
			n.sung.syllables = sorted(n.sung.syllables)
		}
		if end -= lengths[i]; end < 0 { // the bar ends with a rest
			clear(open)
			end = 0
		}
	}
}

// endless is a syllable of a score that is held, nobody says how long.
type endless struct {
	hand  score.Hand
	voice uint8
	at    theory.Dur
	verse int
}

// lyrics puts what a score sings in order: one syllable a verse, hand and moment; and
// does for its voices what hold does for a tune.
func (r *reader) lyrics(s *score.Score, held []endless) {
	if len(s.Lyrics) == 0 {
		return
	}
	type spot struct {
		at    theory.Dur
		hand  score.Hand
		verse int
	}
	has := map[spot]bool{}
	kept := s.Lyrics[:0]
	for _, y := range s.Lyrics {
		if here := (spot{y.At, y.Hand, y.Verse}); !has[here] {
			has[here] = true
			kept = append(kept, y)
		}
	}
	s.Lyrics = kept
	if len(held) == 0 {
		return
	}
	slices.SortStableFunc(s.Notes, score.Compare)
	for _, o := range held {
		end, last := o.at, o.at
		for i := range s.Notes {
			n := &s.Notes[i]
			if n.Hand != o.hand || n.Voice != o.voice || n.Grace > 0 || n.At < o.at {
				continue
			}
			here := spot{n.At, n.Hand, o.verse}
			if n.At > last { // not only another note of the same chord
				if n.At > end || has[here] {
					break
				}
				last, has[here] = n.At, true
				s.Lyrics = append(s.Lyrics, score.Lyric{At: n.At, Hand: n.Hand, Syllable: leadsheet.Syllable{Verse: o.verse, Held: true}})
			}
			end = max(end, n.End())
		}
	}
}
