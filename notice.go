package gradatim

import (
	"embed"
	"strings"

	"gradatim/internal/sound"
)

//go:embed NOTICE LICENSE LICENSES/*.txt
var notices embed.FS

// Parts lists, a line each, the parts of the program that others have made, with their
// licences.
func Parts() []string {
	return []string{
		"Engraver: Verovio 6.3.0, LGPL-3.0-or-later.",
		sound.Credit,
		"Fonts: Liberation Serif, STIX Two Math, Leipzig, SIL Open Font License 1.1.",
		"Go and its libraries: BSD, MIT and Apache licences.",
	}
}

// Notice returns the notices that the program's parts require, followed by the
// texts of all licences named there.
func Notice() string {
	entries, err := notices.ReadDir("LICENSES")
	if err != nil {
		panic(err)
	}
	var b strings.Builder
	add := func(name string) {
		text, err := notices.ReadFile(name)
		if err != nil {
			panic(err)
		}
		b.Write(text)
	}
	add("NOTICE")
	b.WriteString("\n\n---- LICENSE\n")
	add("LICENSE")
	for _, e := range entries {
		b.WriteString("\n\n---- " + e.Name() + "\n\n")
		add("LICENSES/" + e.Name())
	}
	return b.String()
}
