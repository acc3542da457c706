package abc

import (
	"fmt"

	"gradatim/leadsheet"
)

// report collects Problems while a tune is read. Their bars and beats are known
// only when the playing order is, so each remembers the written bar and the item
// in it.
type report struct {
	file    string
	list    []finding
	byKey   map[string]int // index in list of a finding that is told once
	same    map[string]int // findings by code
	stopped bool           // an Error has been found: nothing more is read
}

type finding struct {
	leadsheet.Problem
	bar, item int // written bar and item in it; bar −1: not in the music
	times     int
}

func newReport(file string) *report {
	return &report{file: file, byKey: make(map[string]int), same: make(map[string]int)}
}

// where is a place in the file and in the written music.
type where struct {
	place
	bar, item int
}

func outside(p place) where { return where{place: p, bar: -1} }

func (r *report) add(sev leadsheet.Severity, at where, code, text, fix string) int {
	if sev == leadsheet.Error {
		r.stopped = true
	} else {
		r.same[code]++
		if r.same[code] > maxSameProblems || len(r.list) >= maxProblems {
			if r.same[code] > maxSameProblems+1 || len(r.list) > maxProblems {
				return -1
			}
			text, fix = "more of this kind follow; they are not listed", ""
		}
	}
	r.list = append(r.list, finding{
		Problem: leadsheet.Problem{
			Pos:      leadsheet.Pos{File: r.file, Line: at.line, Col: at.col},
			Severity: sev, Code: code, Text: text, Fix: fix,
		},
		bar: at.bar, item: at.item, times: 1,
	})
	return len(r.list) - 1
}

func (r *report) warn(at where, code, text, fix string) {
	r.add(leadsheet.Warning, at, code, text, fix)
}

func (r *report) fail(at where, code, text, fix string) { r.add(leadsheet.Error, at, code, text, fix) }

// once tells the same thing only where it is first found, and how often it is
// found. Findings are the same when code and key are.
func (r *report) once(sev leadsheet.Severity, at where, code, key, text, fix string) {
	k := code + "\x00" + key
	if i, ok := r.byKey[k]; ok {
		if i >= 0 {
			r.list[i].times++
		}
		return
	}
	if len(r.byKey) > maxProblems {
		return
	}
	r.byKey[k] = r.add(sev, at, code, text, fix)
}

// problems returns what was found. place gives the bar and beat of a written
// bar's item in the finished song.
func (r *report) problems(place func(bar, item int) leadsheet.Pos) leadsheet.Problems {
	var out leadsheet.Problems
	for _, f := range r.list {
		if f.times > 1 {
			f.Text = fmt.Sprintf("%s (%d times; this is the first)", f.Text, f.times)
		}
		if f.bar >= 0 && place != nil {
			p := place(f.bar, f.item)
			f.Pos.Bar, f.Pos.Beat = p.Bar, p.Beat
		}
		out = append(out, f.Problem)
	}
	out.Sort()
	return out
}
