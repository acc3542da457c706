package abc

import (
	"cmp"
	"regexp"
	"slices"
	"strings"

	"gradatim/leadsheet"
)

// field reads one information field, whole line or inline.
func (r *reader) field(letter byte, value string, at place) {
	if r.muted && letter != 'V' && r.inBody {
		return
	}
	switch letter {
	case 'X', 'r':
	case 'T':
		r.title(plain(value))
	case 'C':
		r.composer(plain(value), at)
	case 'S':
		r.source(plain(value), at)
	case 'B', 'D':
		r.sources = appendNew(r.sources, plain(value))
	case 'Z':
		r.notation(plain(value))
	case 'O':
		r.origin(plain(value))
	case 'N':
		if r.stated == "" {
			r.stated = statedForm(value)
		}
		if f := feelOf(value, false); r.out.Feel == leadsheet.Unstated {
			r.out.Feel = f
		}
		r.remark("", value)
	case 'W':
		r.out.Words = append(r.out.Words, plain(value))
	case 'A', 'F', 'G', 'H':
		r.remark(remarks[letter], value)
	case 'R':
		r.rhythm(plain(value))
	case 'P':
		r.partField(value, at)
	case 'M':
		r.meterField(value, at)
	case 'L':
		r.unitField(value, at)
	case 'Q':
		r.tempoField(value, at)
	case 'K':
		r.keyField(value, at)
	case 'V':
		r.voiceField(value, at)
	case 'U':
		r.nickname(value, at)
	case 'w':
		r.lyrics(value, at)
	case 'I':
		r.directive(value, at)
	case 'm':
		r.once(leadsheet.Warning, r.here(at), "macro-dropped", "")
	case 's', 'd':
		r.once(leadsheet.Warning, r.here(at), "decoration-dropped.line", "s:")
	default:
		r.once(leadsheet.Warning, r.here(at), "field-unknown", string(letter), "Field", string(letter))
	}
}

// remarks are the words before what a field says that is only kept.
var remarks = map[byte]string{'A': "Area: ", 'F': "File: ", 'G': "Group: ", 'H': "History: "}

// spoken is a title as it is said: collections put its article behind a comma, for their
// index ("Foxhunter's, The").
func spoken(title string) string {
	rest, article, ok := cutLast(title, ", ")
	if ok && rest != "" && (article == "The" || article == "A" || article == "An") {
		return article + " " + rest
	}
	return title
}

func cutLast(s, sep string) (before, after string, found bool) {
	if i := strings.LastIndex(s, sep); i >= 0 {
		return s[:i], s[i+len(sep):], true
	}
	return s, "", false
}

func (r *reader) title(text string) {
	text = spoken(text)
	switch {
	case text == "":
	case r.out.Title == "":
		r.out.Title = text
	default:
		r.remark("Title: ", text)
	}
}

func (r *reader) remark(head, value string) {
	text := plain(value)
	if text != "" && len(r.out.Notes) < MaxNotesLines {
		r.out.Notes = append(r.out.Notes, head+text)
	}
}

func appendNew(list []string, s string) []string {
	if s == "" || slices.Contains(list, s) || len(list) >= MaxNotesLines {
		return list
	}
	return append(list, s)
}

var (
	yearsOf   = regexp.MustCompile(`\(\s*(?:c\.? ?|b\. ?)?(?:\d{4})?\s*[-–—]\s*(?:c\.? ?|d\. ?)?(\d{4})\s*\)`)
	diedIn    = regexp.MustCompile(`\(\s*(?:d\.|†|died)\s*(\d{4})\s*\)`)
	anyYears  = regexp.MustCompile(`\s*\([^()]*\d{4}[^()]*\)`)
	arranged  = regexp.MustCompile(`(?i)\barr(?:\.|anged)?(?: by)? +(.+)$`)
	tradition = regexp.MustCompile(`(?i)\b(trad|traditional)\b`)
	printedIn = regexp.MustCompile(`\bprinted (\d{4})(?:$|[;,.])`)
	wordsBy   = regexp.MustCompile(`(?i)^(?:words|lyrics?|text)(?: by|:)\s*(.+)$`)
	musicBy   = regexp.MustCompile(`(?i)^(?:music|tune|melody)(?: by|:)\s*(.+)$`)
)

// composer reads a C: field: names, perhaps with years in brackets. What it says
// never sets the status of the rights.
func (r *reader) composer(text string, at place) {
	if text == "" {
		return
	}
	r.rightsText = appendNew(r.rightsText, text)
	if m := arranged.FindStringSubmatchIndex(text); m != nil {
		r.arranger(text[m[2]:m[3]])
		text = strings.TrimRight(text[:m[0]], " ,;")
	}
	r.traditional(text, at)
	for part := range strings.SplitSeq(text, ";") {
		part = strings.TrimSpace(part)
		if m := wordsBy.FindStringSubmatch(part); m != nil {
			r.out.Rights.Lyricists = append(r.out.Rights.Lyricists, person(m[1]))
			continue
		}
		if m := musicBy.FindStringSubmatch(part); m != nil {
			part = m[1]
		}
		if part == "" || tradition.MatchString(part) {
			continue
		}
		if len(r.out.Rights.Composers) < MaxNotesLines {
			r.out.Rights.Composers = append(r.out.Rights.Composers, person(part))
		}
	}
}

// person reads "Stephen Foster (1826-1864)".
func person(text string) leadsheet.Person {
	p := leadsheet.Person{Name: strings.TrimSpace(anyYears.ReplaceAllString(text, ""))}
	for _, re := range []*regexp.Regexp{yearsOf, diedIn} {
		if m := re.FindStringSubmatch(text); m != nil {
			p.Died, _ = number(m[1])
			break
		}
	}
	return p
}

func (r *reader) arranger(name string) {
	if r.out.Rights.Arranger == "" {
		r.out.Rights.Arranger = strings.TrimSpace(name)
	}
}

func (r *reader) traditional(text string, at place) {
	if tradition.MatchString(text) {
		r.once(leadsheet.Info, outside(at), "rights-traditional", "")
	}
}

func (r *reader) source(text string, at place) {
	r.sources = appendNew(r.sources, text)
	r.traditional(text, at)
	if m := arranged.FindStringSubmatch(text); m != nil {
		r.arranger(m[1])
	}
}

// noteOf is what a Z: field begins with where it says what kind of note it is
// (ABC 2.1, section 3.1.17, names three kinds).
var noteOf = regexp.MustCompile(`^abc-([a-z-]+)\s+`)

// notation reads a Z: field: who wrote the tune down, or its licence.
func (r *reader) notation(text string) {
	m := noteOf.FindStringSubmatch(text)
	if m != nil {
		text = strings.TrimSpace(text[len(m[0]):])
	}
	if m != nil && m[1] == "copyright" {
		r.out.Rights.Licence = text
	} else if text = unaddressed(text); text != "" {
		text = "Notation: " + text
	}
	r.rightsText = appendNew(r.rightsText, text)
}

// address is an e-mail address, as it stands behind a name.
var address = regexp.MustCompile(`[\s,;]*[<(]?[^\s<>(),;]+@[^\s<>(),;]+\.[^\s<>(),;]+[>)]?`)

// unaddressed leaves out e-mail addresses: who wrote a tune down is named on every page,
// and where to write to them is for nobody's pupils. Where nothing else stands, it is all
// there is to name them by.
func unaddressed(text string) string {
	return cmp.Or(strings.TrimSpace(address.ReplaceAllString(text, "")), text)
}

// origin reads an O: field: a region, perhaps with a year of printing. The
// region is where a tune comes from, not where it was first published.
func (r *reader) origin(text string) {
	r.remark("Origin: ", text)
	if m := printedIn.FindStringSubmatch(text); m != nil && r.out.Rights.Year == 0 {
		r.out.Rights.Year, _ = number(m[1])
	}
}

func (r *reader) rhythm(text string) {
	if r.inBody && r.out.Rhythm != "" {
		r.once(leadsheet.Warning, outside(r.began), "rhythm-change", "")
		return
	}
	r.out.Rhythm = strings.ToLower(text)
	if f := feelOf(text, true); f != leadsheet.Unstated {
		r.out.Feel = f
	}
}

func (r *reader) partField(value string, at place) {
	if !r.inBody {
		r.order, r.orderAt = value, at
		return
	}
	name, words, ok := parsePart(value)
	if ok {
		if words {
			r.once(leadsheet.Warning, r.here(at), "part-name", name, "Part", leadsheet.Quoted(name), "Letter", name[:1])
		}
		r.label(name)
		return
	}
	if r.order == "" && r.jump(plain(value)) {
		return
	}
	r.once(leadsheet.Warning, r.here(at), "part-unknown", value, "Name", clip(value))
}

func (r *reader) meterField(value string, at place) {
	m, free, ok := parseMeter(value)
	if !ok {
		r.warn(r.here(at), "meter-unknown", "Metre", leadsheet.Quoted(value))
		return
	}
	if len(r.cur.items) > 0 {
		r.warn(r.here(at), "meter-inside-bar")
	}
	r.meter, r.free, r.unmetred = m, free, free && strings.TrimSpace(value) != ""
}

func (r *reader) unitField(value string, at place) {
	u, ok := parseUnit(value)
	if !ok {
		r.warn(r.here(at), "unit-unknown", "Unit", leadsheet.Quoted(value))
		return
	}
	r.unit, r.unitSet = u, true
}

func (r *reader) tempoField(value string, at place) {
	unit := r.unit
	if !r.inBody && !r.unitSet {
		unit = unitFor(r.meter)
	}
	t, old, rounded, ok := parseTempo(value, unit)
	switch {
	case !ok:
		r.warn(r.here(at), "tempo-unknown", "Tempo", leadsheet.Quoted(plain(value)))
		return
	case len(r.bars) > 0 || len(r.cur.items) > 0:
		r.once(leadsheet.Warning, r.here(at), "tempo-change", "")
		return
	case rounded:
		r.warn(r.here(at), "tempo-rounded")
	case old:
		r.warn(r.here(at), "tempo-old-form", "PerMinute", t.PerMinute, "Beat", t.Beat)
	}
	r.out.Tempo = t
	if f := feelOf(t.Words, true); r.out.Feel == leadsheet.Unstated {
		r.out.Feel = f
	}
}

func (r *reader) keyField(value string, at place) {
	sig, ok := parseKey(value, r.sig)
	if !ok {
		r.warn(r.here(at), "key-unknown", "Key", leadsheet.Quoted(plain(value)))
	} else {
		r.sig = sig
		switch {
		case sig.pipes:
			r.warn(r.here(at), "key-pipes")
		case sig.odd:
			r.warn(r.here(at), "key-accidentals", "Key", sig.key)
		}
		if sig.moved {
			r.once(leadsheet.Warning, r.here(at), "transpose-ignored", "")
		}
	}
	if !r.inBody {
		r.keySet = true
		r.openBody()
	}
}

func (r *reader) voiceField(value string, at place) {
	words := strings.Fields(value)
	if len(words) == 0 {
		return
	}
	name := words[0]
	if r.first == "" {
		r.first = name
	}
	if name == r.first || len(r.bars) == 0 && len(r.cur.items) == 0 && !r.inBody {
		if name == r.first {
			for _, w := range words[1:] {
				voiceProperty(w, &r.sig)
			}
		}
	}
	if !r.inBody {
		return
	}
	r.voice, r.muted = name, name != r.first
	if r.muted {
		r.once(leadsheet.Warning, r.here(at), "voice-dropped", name, "Voice", leadsheet.Quoted(clip(name)), "First", leadsheet.Quoted(clip(r.first)))
	}
}

func clip(s string) string {
	if len(s) > 20 {
		return strings.ToValidUTF8(s[:20], "") + "…"
	}
	return s
}

// nickname reads U:T = !trill!.
func (r *reader) nickname(value string, at place) {
	letter, sign, ok := strings.Cut(value, "=")
	letter, sign = strings.TrimSpace(letter), strings.TrimSpace(sign)
	if !ok || len(letter) != 1 || len(sign) < 3 {
		r.warn(r.here(at), "field-unknown.nickname")
		return
	}
	switch sign[0] {
	case '!', '+':
		r.nicknames[letter[0]] = strings.Trim(sign, "!+")
	default:
		r.nicknames[letter[0]] = "nil"
	}
}
