// Package harmonist gives a bare melody its chords: which, where, why, and what else
// could stand there. It owns the grid of beats, the palette of chords, the weights and
// the search, and takes its key from the sheet and the notes. It writes no symbols over
// a sheet and finds no words: formats and words do.
//
// Problem: a tune without chord symbols shall get those that a musician would write.
// Source: a conditional random field (Lafferty, McCallum and Pereira 2001) over the beats
// of the page; its states are triads as the key has them. A weight belongs to something
// that can be named: a note of the tune over a root, a degree under a chord, a
// succession, a change at a place of the bar, a place in the form. The weights start
// from counts of chords, successions and notes and are fitted to the sheets of TestTable,
// which says where they come from. How often the chords of a tune change is not known
// beforehand: the field is added up over three rhythms.
//
// Objective: the most time with the right triad, so each beat takes the chord that is
// likeliest there of all ways through the tune (posterior decoding), not the likeliest way.
// Bars that come again with the same tune beside the same neighbour pool what is thought
// of them and get the same chords. Cost: beats · 21² · 3 rhythms. All sums are of
// products rounded one by one, and the exponential is made of products, so that every
// machine finds the same. Rejected: a table of successions and costs by hand, which this
// replaces (.58 of the time against .64); the likeliest way through, which is surer of
// its cadences and wrong more often; anything learnt that cannot say why.
package harmonist
