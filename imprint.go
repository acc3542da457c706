package gradatim

import (
	"maps"
	"path/filepath"
	"slices"
	"strconv"

	"gradatim/internal/imprint"
	"gradatim/internal/pack"
	"gradatim/internal/settings"
	"gradatim/internal/words"
	"gradatim/leadsheet"
)

// LessonTemplate is a file for Job.Lesson with every key, each said what it is and none
// of them set.
func LessonTemplate() []byte { return imprint.Template() }

// LessonFiles are the names under which a teacher's own part of a lesson is looked for
// beside a sheet, the first that is there counting: that of one tune goes before that of
// a file of several.
func LessonFiles(file string, tune int) []string {
	dir := filepath.Dir(file)
	names := []string{filepath.Join(dir, imprint.Name(Stem(file, tune)))}
	if tune > 0 {
		names = append(names, filepath.Join(dir, imprint.Name(Stem(file, 0))))
	}
	return names
}

// LessonBeside lists the files that a lesson file names, a picture and recordings, which
// lie beside it; whoever makes a job puts them into Job.Beside.
func LessonBeside(data []byte) []string { return imprint.Files(data) }

// LessonLanguage is the language that a lesson file asks for, "" where it asks for none.
func LessonLanguage(data []byte) string {
	in, _ := imprint.Parse("", data, func(string) bool { return true })
	return in.Language
}

// imprint reads the job's lesson file; levels are those that there are.
func (j Job) imprint(levels []int) (imprint.Imprint, error) {
	if j.Lesson.none() {
		return imprint.Imprint{}, nil
	}
	in, ps := imprint.Parse(j.Lesson.Name, j.Lesson.Data, func(name string) bool { _, err := j.beside(name); return err == nil })
	bad := func(says leadsheet.Saying, value string, key ...string) {
		pos := leadsheet.Pos{File: j.Lesson.Name}
		pos.Line, pos.Col = settings.Place(j.Lesson.Data, key...)
		ps.Tell(leadsheet.Error, pos, says, "Key", key[0], "Word", leadsheet.Quoted(value))
	}
	for _, n := range in.Order {
		if !slices.Contains(levels, n) {
			bad("imprint-level.ladder", strconv.Itoa(n), "order")
		}
	}
	for _, n := range slices.Sorted(maps.Keys(in.Levels)) {
		if k, err := strconv.Atoi(n); err == nil && !slices.Contains(levels, k) {
			bad("imprint-level.ladder", n, "levels", n)
		}
	}
	if _, err := words.In(in.Language); err != nil {
		bad("imprint-language", in.Language, "language")
	}
	if ps.Err() != nil {
		return imprint.Imprint{}, ps
	}
	return in, nil
}

// own is a lesson file with the files that it names.
func (j Job) own(in imprint.Imprint) pack.Own {
	if j.Teacher {
		in.Teacher = imprint.All
	}
	out := pack.Own{Imprint: in, Files: map[string][]byte{}}
	for _, name := range in.Files() {
		if data, err := j.beside(name); err == nil {
			out.Files[name] = data
		}
	}
	return out
}
