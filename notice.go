package gradatim

import (
	"embed"
	"strings"
)

//go:embed NOTICE LICENSE LICENSES/*.txt
var notices embed.FS

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
