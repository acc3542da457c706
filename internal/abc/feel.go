package abc

import (
	"regexp"

	"gradatim/leadsheet"
)

var (
	straightWords = regexp.MustCompile(`(?i)\b(straight|even)( (eighths?|8ths?|8s|quavers|feel|time))\b|^straight$|\b(no swing|not swung|unswung)\b`)
	swingWords    = regexp.MustCompile(`(?i)\b(swung|shuffle|(medium|slow|fast|up|light|easy|hard|jazz)[ -]?(up )?swing|swing (feel|eighths?|8ths?|quavers|tempo|time|style|rhythm))\b|^swing$`)
	swingAlone    = regexp.MustCompile(`(?i)\bswing\b`)
	formWords     = regexp.MustCompile(`\b(?:[Ff]orm:? ([A-Z]{2,16})|(A[A-E]{3,7}))\b`)
)

// feelOf finds what words say about the eighths. In a field that names the style
// the word "swing" alone is enough; in a remark it may be a figure of a dance.
func feelOf(words string, style bool) leadsheet.Feel {
	switch {
	case straightWords.MatchString(words):
		return leadsheet.Straight
	case swingWords.MatchString(words), style && swingAlone.MatchString(words):
		return leadsheet.Swing
	}
	return leadsheet.Unstated
}

// statedForm finds a form that a remark names: "form AABA", or letters that can
// be nothing else.
func statedForm(words string) string {
	if m := formWords.FindStringSubmatch(words); m != nil {
		return m[1] + m[2]
	}
	return ""
}
