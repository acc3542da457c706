// Package measure measures sound: loudness, spectra, pitch and onsets. The
// sampler levels its output with it, the sample cutter levels and tunes the
// samples with it, and tests judge results with it. It makes no sound.
package measure
