package teach

import (
	"gradatim/score"
	"gradatim/theory"
)

// Saying only what the notes bear out.
//
// Problem: a lesson is made of sentences about bars, and a sentence that its own bars
// deny costs the reader's trust in all others. Source: common practice, no source.
// Method: each kind of sentence that claims something of notes has its proof, a test of
// the notes of the very bars for which it is printed, beside its message key; what fails
// is not printed. A sentence without a proof cannot be said by claim, and one with a proof
// cannot be said by say. Names, instructions, cautions and what a word means in general
// claim nothing of a page. Cost: linear in the notes of the bars spoken of. Rejected:
// reading finished texts again, which would need a parser for each language.

// here is where a sentence is true or not: a stretch of the page.
type here struct{ at, end theory.Dur }

// barHere is a bar by its index.
func (p *page) barHere(b int) here { return here{p.Score.Bars[b].At, p.Score.Bars[b].End()} }

// whole is the whole page.
func (p *page) whole() here { return here{p.Score.Bars[0].At, p.Score.End()} }

// stated are the parts of a sentence. Those in small letters are for its proof alone.
type stated map[string]any

func (g stated) name(k string) theory.Name        { n, _ := g[k].(theory.Name); return n }
func (g stated) chord(k string) theory.Chord      { c, _ := g[k].(theory.Chord); return c }
func (g stated) notes(k string) []score.Note      { n, _ := g[k].([]score.Note); return n }
func (g stated) degrees(k string) []theory.Degree { d, _ := g[k].([]theory.Degree); return d }
func (g stated) number(k string) int              { n, _ := g[k].(int); return n }
func (g stated) note() score.Note                 { n, _ := g["note"].(score.Note); return n }

// proof tests a sentence by the notes of its place.
type proof func(p *page, h here, g stated) bool

// Tally counts how often a kind of sentence was to be said, and how often it was denied.
type Tally struct{ Said, Denied int }

// claim words a sentence about notes; "" where they deny it.
func (p *page) claim(key string, h here, parts ...any) string {
	test, ok := proofs[key]
	if !ok {
		panic("teach: no proof for " + key)
	}
	g := stated{}
	for i := 0; i+1 < len(parts); i += 2 {
		g[parts[i].(string)] = parts[i+1]
	}
	holds := test(p, h, g)
	if p.tally != nil {
		t := p.tally[key]
		t.Said++
		if !holds {
			t.Denied++
		}
		p.tally[key] = t
	}
	if !holds {
		return ""
	}
	return p.words.Say("lesson."+key, parts...)
}
