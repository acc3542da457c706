package main

import (
	"gradatim"
	"gradatim/internal/sound"
)

// version says what this is and what it contains; a test holds it to NOTICE.
func version() string {
	return "gradatim " + gradatim.Release + ` (Apache License 2.0)

It contains parts made by others:
  Engraver: Verovio 6.3.0, LGPL-3.0-or-later.
  ` + sound.Credit + `
  MP3: shine-mp3, after the Shine encoder, LGPL-2.0-or-later.
  Fonts: Liberation Serif, STIX Two Math, Leipzig, SIL Open Font License 1.1.
  Go and its libraries: BSD, MIT and Apache licences.
gradatim --notice prints the notices and the licences in full.
`
}
