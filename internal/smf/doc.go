// Package smf writes Standard MIDI Files of type 1: a Sequence of timed events
// goes in, bytes come out. It also plays a score exactly as it is written
// (Plain); expressive playing belongs to others, who fill a Sequence themselves.
//
// Source of the format: Standard MIDI Files 1.0 and MIDI 1.0 (MIDI Association),
// from memory; checked in the tests against an independent reader. Texts are
// written as UTF-8, which the standard leaves open (common practice, no source).
package smf
