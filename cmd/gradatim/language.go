package main

import (
	"strings"

	"gradatim"
	"gradatim/internal/words"
)

// languageFlag declares the flag that says in which language a reader is told things.
func languageFlag(f *flagSet) *string {
	return f.String("language", words.Default, "`LANGUAGE` of what is said of the music: "+strings.Join(gradatim.Languages(), " or ")+" (default: "+words.Default+")")
}

// wordsIn returns the words of the language that --language names.
func wordsIn(id string) (*words.Words, error) {
	id, err := gradatim.ParseLanguage(id)
	if err != nil {
		return nil, usageError{"--language " + err.Error()}
	}
	return words.In(id)
}
