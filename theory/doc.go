// Package theory holds the values that tonal music is written with: spelled
// names and pitches, intervals, keys, scales, chord symbols, Roman numerals and
// exact durations.
//
// Values are small and comparable. C# and Db are different names, and nothing
// is ever transposed through MIDI numbers, so a spelling once right stays right.
// The package knows neither songs nor hands.
package theory
