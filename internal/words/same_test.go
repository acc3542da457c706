package words

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"
)

var (
	// ownForms are the vocabularies whose words have the forms that a language needs: of
	// those each language has the same words, in what forms is its own affair.
	ownForms = regexp.MustCompile(`^(tone|(?:hand|degree|interval|role|bars)\.[^.]+).*`)
	// ownLists are lists as long as the language makes them, and names that need none
	// where they are those of the page.
	ownLists = regexp.MustCompile(`^note\.|^octave\.|\.forms\.\d+$|^book\.together\.`)
	number   = regexp.MustCompile(`\.(zero|one|two|few|many|other)$`)
)

// same is what a message is called whatever its forms: each language must have it.
func (w *Words) same(key string) string {
	if m := ownForms.FindStringSubmatch(key); m != nil {
		return m[1]
	}
	if base, ok := w.counted(key); ok {
		return base
	}
	return key
}

// counted tells whether a message is one of several by number.
func (w *Words) counted(key string) (base string, ok bool) {
	base = number.ReplaceAllString(key, "")
	_, ok = w.messages[base+".other"]
	return base, ok && base != key
}

// gaps lists by message the parts that it asks for. A capital or a small letter at
// their head is the language's choice.
func gaps(w *Words) map[string][]string {
	out := map[string][]string{}
	for key, t := range w.messages {
		if ownLists.MatchString(key) {
			continue
		}
		for _, n := range append(t.names(), "") {
			if n, k := strings.ToLower(n), w.same(key); !slices.Contains(out[k], n) {
				out[k] = append(out[k], n)
			}
		}
	}
	for key := range out {
		slices.Sort(out[key])
	}
	return out
}

// TestLanguagesSayTheSame holds that each language has every message, with the same
// gaps and all forms by number that it has, and no message of its own.
func TestLanguagesSayTheSame(t *testing.T) {
	english := gaps(Must(Default))
	for _, id := range Languages() {
		other := gaps(Must(id))
		for _, key := range slices.Sorted(maps.Keys(english)) {
			switch got, ok := other[key]; {
			case !ok:
				t.Errorf("%s: no message %s", id, key)
			case !ownForms.MatchString(key) && !slices.Equal(got, english[key]):
				t.Errorf("%s: %s has the gaps %q, in English %q", id, key, got, english[key])
			}
		}
		for _, key := range slices.Sorted(maps.Keys(other)) {
			if _, ok := english[key]; !ok {
				t.Errorf("%s: %s is not said in English", id, key)
			}
		}
		w := Must(id)
		for key := range w.messages {
			base, ok := w.counted(key)
			for n := 0; ok && n < 120; n++ {
				if f := w.number(n); w.messages[base+"."+f] == nil {
					t.Errorf("%s: %s has no form for %d, %q", id, base, n, f)
					break
				}
			}
		}
	}
}

// alike are messages that read the same in German and English, and may.
var alike = []string{
	"lesson.plan.phrase", "lesson.sign.substitute.sign", "lesson.sign.degree.sign", "lesson.sign.lowered.sign", "site.level.in-bass", "site.level.tempo", "site.level.phrase", "site.player.tempo",
	"book.tempo", "told.midi", "desk.place.plan", "desk.why.finger", "desk.why.hand", "desk.tool.hand", "desk.tool.finger", "desk.own.logo",
}

// TestNothingIsLeftInEnglish compares what other languages say with the English.
func TestNothingIsLeftInEnglish(t *testing.T) {
	letters := regexp.MustCompile(`\pL{3}`)
	english := Must(Default)
	for _, id := range Languages() {
		if id == Default {
			continue
		}
		w := Must(id)
		for key, text := range w.messages {
			var plain strings.Builder
			for _, p := range text {
				plain.WriteString(p.text)
			}
			if e, ok := english.messages[key]; ok && letters.MatchString(plain.String()) && fmt.Sprint(e) == fmt.Sprint(text) &&
				!slices.Contains(alike, key) && !tradeWord(key) {
				t.Errorf("%s: %s = %q, as in English", id, key, w.Text(key))
			}
		}
	}
}

// tradeWord tells whether a message is a word that the trade of both languages has.
func tradeWord(key string) bool {
	return strings.HasSuffix(key, ".name") || strings.HasSuffix(key, ".term") || ownLists.MatchString(key) || strings.HasPrefix(key, "feel.")
}
