package abc

import "gradatim/leadsheet"

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

func (r *report) add(sev leadsheet.Severity, at where, says leadsheet.Saying, parts ...any) int {
	p := leadsheet.Tell(sev, leadsheet.Pos{File: r.file, Line: at.line, Col: at.col}, says, parts...)
	if sev == leadsheet.Error {
		r.stopped = true
	} else {
		r.same[p.Code]++
		if r.same[p.Code] > maxSameProblems || len(r.list) >= maxProblems {
			if r.same[p.Code] > maxSameProblems+1 || len(r.list) > maxProblems {
				return -1
			}
			p.Says, p.Parts = "more", nil
		}
	}
	r.list = append(r.list, finding{Problem: p, bar: at.bar, item: at.item})
	return len(r.list) - 1
}

func (r *report) warn(at where, says leadsheet.Saying, parts ...any) {
	r.add(leadsheet.Warning, at, says, parts...)
}

func (r *report) fail(at where, says leadsheet.Saying, parts ...any) {
	r.add(leadsheet.Error, at, says, parts...)
}

// once tells the same thing only where it is first found, and how often it is
// found. Findings are the same when code and key are.
func (r *report) once(sev leadsheet.Severity, at where, says leadsheet.Saying, key string, parts ...any) {
	k := says.Code() + "\x00" + key
	if i, ok := r.byKey[k]; ok {
		if i >= 0 {
			r.list[i].Times++
		}
		return
	}
	if len(r.byKey) > maxProblems {
		return
	}
	i := r.add(sev, at, says, parts...)
	if r.byKey[k] = i; i >= 0 {
		r.list[i].Times = 1
	}
}

// problems returns what was found. place gives the bar and beat of a written
// bar's item in the finished song.
func (r *report) problems(place func(bar, item int) leadsheet.Pos) leadsheet.Problems {
	var out leadsheet.Problems
	for _, f := range r.list {
		if f.bar >= 0 && place != nil {
			p := place(f.bar, f.item)
			f.Pos.Bar, f.Pos.Beat = p.Bar, p.Beat
		}
		out = append(out, f.Problem)
	}
	out.Sort()
	return out
}
