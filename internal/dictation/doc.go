// Package dictation writes down what a MIDI file plays as a score for two hands: lines
// and hands, beats and bars, note values, spelling. What it had to guess it tells. It
// reads what internal/smf has read and hands on a score; it knows nothing of tunes,
// chords, levels or formats of sheets.
package dictation
