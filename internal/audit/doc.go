// Package audit is the referee. It reads a lead sheet and a finished score and
// says what a pianist could not play, what no longer is the tune, and what the
// printed harmony does not explain.
//
// It knows nothing of how the score was made and looks at no Origin; it must
// import neither the search nor the techniques, so that a mistake there cannot
// excuse itself here. The same checks run on any two-staff piano score: without
// a lead sheet the top line is the melody, and harmony is judged only where
// chord symbols are printed.
//
// Every rule has a stable code (see Rules). What the tune itself does against
// its own chords, or asks of the hand on its own, is never held against the
// arrangement.
//
// Method: one sweep over the onsets builds each hand's groups of notes struck
// together; the tune is then found in the top line, each note's reason is
// derived from its neighbours from the end backwards, and a second sweep with
// the notes that are sounding judges each onset. The number of notes that sound
// at once is bounded by what hands can hold, so the cost is linear in the
// length of the piece.
package audit
