package assets

import "io/fs"

//go:generate go run ./prepare/fonts

// Font is a file of letters for a page in a browser: WOFF 1.0 or TrueType.
type Font struct {
	Name string // of the file: "text.woff"
	Data []byte
}

// fontNames are the files that the site's style sheet asks for.
var fontNames = []string{"more-bold.woff", "more-italic.woff", "more.woff", "signs.ttf", "text-bold.woff", "text-italic.woff", "text.woff"}

// Fonts returns the letters of the lesson's site by file name, or a
// [MissingError] in a program built without them. Their makers and licence stand
// in NOTICE.
func Fonts() ([]Font, error) { return fonts(data) }

func fonts(files fs.FS) ([]Font, error) {
	var out []Font
	for _, name := range fontNames {
		b, err := fs.ReadFile(files, "data/fonts/"+name)
		if err != nil {
			return nil, &MissingError{Name: "the letters of the site", File: "fonts/" + name}
		}
		out = append(out, Font{name, b})
	}
	return out, nil
}
