package main

import (
	"strings"

	"gradatim"
)

// version says what this is and what it contains; a test holds it to NOTICE.
func version() string {
	return "gradatim " + gradatim.Release + " (Apache License 2.0)\n\nIt contains parts made by others:\n  " +
		strings.Join(gradatim.Parts(), "\n  ") + "\ngradatim --notice prints the notices and the licences in full.\n"
}
