package desk

import (
	"context"
	"encoding/json"
	"slices"
	"sync"

	"gradatim"
	"gradatim/score"
)

// told of a page by its account, as far as the desk shows it (docs/formats.md, Account).
type accounted struct {
	Form []struct {
		Bars    [2]int
		Section string
		Role    string
		Dynamic string
	}
	Notes []struct {
		ID     string
		Origin struct {
			Kind, Technique, Why string
			Melody               *int
		}
	}
	Harmony []struct {
		Part, Beat, Sheet, Device string
		Bar                       int
		Chords                    []struct {
			Part, Beat, Symbol, Roman, Why string
			Bar                            int
		}
	}
}

// accountOf is what is told of a page of a session. Pages that a change leaves as they were share
// their notes, by which they are known.
func (d *Desk) accountOf(ctx context.Context, s *gradatim.Session, p gradatim.Page) (accounted, error) {
	var a accounted
	if len(p.Score.Notes) > 0 {
		if a, ok := d.accounts.get(&p.Score.Notes[0]); ok {
			return a, nil
		}
	}
	data, err := s.Account(ctx, p.Level.Number)
	if err != nil {
		return a, err
	}
	if err := json.Unmarshal(data, &a); err != nil || len(p.Score.Notes) == 0 {
		return a, err
	}
	d.accounts.put(&p.Score.Notes[0], a)
	return a, nil
}

// accounts keeps what was told of the last pages: of a long tune to read it takes as long as to
// draw a bar. Nobody changes what stands in it.
type accounts struct {
	mu   sync.Mutex
	last []accountedPage // least lately asked for last
}

type accountedPage struct {
	first *score.Note
	told  accounted
}

// mostAccounts bounds them: the levels of two tunes, and what one of them was.
const mostAccounts = 12

func (c *accounts) get(first *score.Note) (accounted, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for i, x := range c.last {
		if x.first == first {
			copy(c.last[1:i+1], c.last[:i])
			c.last[0] = x
			return x.told, true
		}
	}
	return accounted{}, false
}

func (c *accounts) put(first *score.Note, told accounted) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.last = slices.Insert(c.last, 0, accountedPage{first, told})
	c.last = c.last[:min(len(c.last), mostAccounts)]
}
