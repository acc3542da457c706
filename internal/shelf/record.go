package shelf

import (
	"encoding/json"

	"gradatim/internal/incipit"
)

// Records are how rows stand in readable files. Times and ids are written as rows have
// them, so that nothing is lost on the way there and back.

type tuneRecord struct {
	ID       string   `toml:"id"`
	Title    string   `toml:"title"`
	Others   []string `toml:"others,omitempty"`
	Composer string   `toml:"composer,omitempty"`
	Lyricist string   `toml:"lyricist,omitempty"`
	Rhythm   string   `toml:"rhythm,omitempty"`
	Key      string   `toml:"key"`
	Metre    string   `toml:"metre"`
	Feel     string   `toml:"feel"`
	Kind     string   `toml:"kind"`
	Sure     bool     `toml:"sure"`
	Form     string   `toml:"form,omitempty"`
	Tempo    int      `toml:"tempo,omitempty"`
	Bars     int      `toml:"bars"`
	Notes    int      `toml:"notes"`
	Chords   int      `toml:"chords"`
	Seconds  int      `toml:"seconds"`
	Incipit  string   `toml:"incipit"`
	Downbeat string   `toml:"downbeat"`
	Melody   string   `toml:"melody"`
	Alike    string   `toml:"alike,omitempty"`
	Problems string   `toml:"problems"`

	Sheet  string `toml:"sheet"` // name of the sheet, as a file
	Hash   string `toml:"hash"`
	Source string `toml:"source"`
	Number int    `toml:"number,omitempty"`
	Added  string `toml:"added"`
	Author string `toml:"author"`
}

func recordOfTune(t Tune) tuneRecord {
	return tuneRecord{ID: t.ID, Title: t.Title, Others: t.Others, Composer: t.Composer, Lyricist: t.Lyricist, Rhythm: t.Rhythm, Key: t.Key, Metre: t.Metre, Feel: t.Feel, Kind: t.Kind, Sure: t.Sure,
		Form: t.Form, Tempo: t.Tempo, Bars: t.Bars, Notes: t.Notes, Chords: t.Chords, Seconds: t.Seconds, Incipit: t.Incipit.First, Downbeat: t.Incipit.Downbeat, Melody: t.Incipit.Melody,
		Alike: t.Alike, Problems: string(t.Problems), Sheet: t.Name, Hash: t.Hash, Source: t.Source, Number: t.Number, Added: t.Added.Format(timeForm), Author: t.Author}
}

func (r tuneRecord) tune() Tune {
	return Tune{ID: r.ID, Source: r.Source, Number: r.Number, Name: r.Sheet, Hash: r.Hash, Added: parseTime(r.Added), Author: r.Author, Alike: r.Alike,
		Facts: Facts{Title: r.Title, Others: r.Others, Composer: r.Composer, Lyricist: r.Lyricist, Rhythm: r.Rhythm, Key: r.Key, Metre: r.Metre, Feel: r.Feel, Kind: r.Kind, Sure: r.Sure, Form: r.Form,
			Tempo: r.Tempo, Bars: r.Bars, Notes: r.Notes, Chords: r.Chords, Seconds: r.Seconds, Incipit: incipit.Again(r.Incipit, r.Downbeat, r.Melody), Problems: json.RawMessage(r.Problems)}}
}

type sourceRecord struct {
	Hash   string `toml:"hash"`
	Name   string `toml:"name"`
	Bytes  int64  `toml:"bytes"`
	Added  string `toml:"added"`
	Author string `toml:"author"`
}

type revisionRecord struct {
	Version int    `toml:"version"`
	Act     Act    `toml:"act"`
	Shows   int    `toml:"shows"`
	Author  string `toml:"author"`
	At      string `toml:"at"`
	Note    string `toml:"note,omitempty"`
	Hash    string `toml:"hash,omitempty"`
	File    string `toml:"file,omitempty"` // beside this one, with what a 'set' wrote
}

type rightRecord struct {
	Territory string `toml:"territory" json:"territory"`
	Version   int    `toml:"version" json:"version"`
	Status    string `toml:"status" json:"status"`
	Basis     string `toml:"basis,omitempty" json:"basis,omitempty"`
	Year      int    `toml:"year,omitempty" json:"year,omitempty"`
	Died      int    `toml:"died,omitempty" json:"died,omitempty"`
	Evidence  string `toml:"evidence,omitempty" json:"evidence,omitempty"`
	Holder    string `toml:"holder,omitempty" json:"holder,omitempty"`
	Since     string `toml:"since,omitempty" json:"since,omitempty"`
	Expires   string `toml:"expires,omitempty" json:"expires,omitempty"`
	Note      string `toml:"note,omitempty" json:"note,omitempty"`
	Author    string `toml:"author" json:"author"`
	At        string `toml:"at" json:"at"`
}

func recordOf(r Right) rightRecord {
	return rightRecord{r.Territory, r.Version, r.Status.String(), r.Basis, r.Year, r.Died, r.Evidence, r.Holder, r.Since, r.Expires, r.Note, r.Author, r.At.Format(timeForm)}
}

func (r rightRecord) right() Right {
	return Right{r.Territory, parseStatus(r.Status), r.Basis, r.Year, r.Died, r.Evidence, r.Holder, r.Since, r.Expires, r.Note, r.Version, r.Author, parseTime(r.At)}
}

type buildRecord struct {
	ID       string `toml:"id"`
	What     string `toml:"what"`
	Slot     string `toml:"slot"`
	Job      string `toml:"job"`
	Program  string `toml:"program"`
	Levels   string `toml:"levels"`
	Key      string `toml:"key"`
	Manifest string `toml:"manifest"`
	Made     string `toml:"made"`
	Author   string `toml:"author"`
}

type publicationRecord struct {
	Build     string      `toml:"build"`
	Territory string      `toml:"territory"`
	At        string      `toml:"at"`
	Author    string      `toml:"author"`
	Right     rightRecord `toml:"right"`
}

type pageRecord struct {
	Level      int               `toml:"level"`
	Build      string            `toml:"build"`
	Key        string            `toml:"key"`
	Rating     int               `toml:"rating"`
	Scale      int               `toml:"scale"`
	Techniques []techniqueRecord `toml:"technique"`
}

type techniqueRecord struct {
	ID   string `toml:"id"`
	Bars []int  `toml:"bars"`
}

type handRecord struct {
	Name    string `toml:"name"`
	Version int    `toml:"version"`
	Spans   string `toml:"spans"`
	Note    string `toml:"note,omitempty"`
	Author  string `toml:"author"`
	At      string `toml:"at"`
}
