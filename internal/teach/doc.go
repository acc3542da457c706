// Package teach writes the lesson: for each level of a ladder what to bring, what
// is new and why it fits this tune, every chord explained, drills, a plan of
// practice, what changed from the level below, and notes for whoever demonstrates
// it. The lesson is data, without layout: plain words and small scores.
//
// It reads scores, the analysis of the tune, the notes' Origins and the
// techniques' own texts, and never asks how a note was chosen. The notes of its drills
// it has chosen by package arrange, as studies. What it claims it checks: a technique is taught only at a place where its recogniser finds it, and
// a drill is printed only when the audit passes it. Every trade word that it uses
// has its definition in one glossary.
//
// The teaching (order of practice, tempo steps, when to step up or down) is common
// practice of piano teachers, no source. Cautions are general words and defer to
// a teacher or a clinician.
package teach
