package audit

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/hand"
	"gradatim/internal/sharedtest/corpus"
)

// exceptions name why real piano writing breaks a rule, and stays right.
var exceptions = map[string]string{
	Reach:        "notes on the lower staff that the right hand takes, chords broken without the sign, and tenths on black and white keys for large hands",
	Fingers:      "an octave in the bass and the first note of the right hand's figure on one staff",
	HandFull:     "two hands' chord on one staff",
	HandsCross:   "the thumbs lie one within the other for a moment",
	KeyShared:    "two voices meet on a key, which one hand plays for both, or one hand takes a key over from the other",
	LowInterval:  "a dark colour meant by the composer: thirds and seconds one to six half steps below the floor",
	Jump:         "a bass note that the composer gives time for, or that is written as a short note before its chord; the tempo is the encoder's",
	VoiceOverlap: "a tie that leads from one voice into another",
}

// Source: 21 accompaniments of the OpenScore Lieder corpus (CC0), composers of
// the nineteenth and early twentieth century, for a hand that plays a white-key
// tenth. What the audit finds in them was looked at one by one; what was not an
// exception changed the rule: chords repeated nine times a second, a leap in
// three quarters of the time, chords tied over in part, bass notes that a pedal
// without a sign keeps.
func TestRealAccompaniments(t *testing.T) {
	want := map[string]string{
		"beethoven_2_feuerfarb":                 "",
		"beethoven_3_das_liedchen_von_der_ruhe": "",
		"brahms_4_nachklang":                    "jump:2 reach:27",
		"brahms_7_bitteres_zu_sagen_denkst_du":  "hands-cross:2 key-shared:1 low-interval:2",
		"gonzaga_ai_que_broma_":                 "key-shared:1",
		"gonzaga_noivado":                       "",
		"hensel_1_das_heimweh":                  "",
		"hensel_3_abendbild":                    "jump:3 key-shared:2 reach:1",
		"kinkel_3_vor_berfahrt":                 "jump:1 low-interval:1",
		"kinkel_4_an_luna":                      "jump:1 low-interval:1",
		"mendelssohn_4_alln_chtlich_im_traume_seh_ich_dich_mwv_k_78": "key-shared:1",
		"mendelssohn_6_altdeutsches_fr_hlingslied_mwv_k_127":         "key-shared:1",
		"reichardt_12_aus_novalis_hymnen_an_die_nacht":               "fingers:4 jump:3 reach:43",
		"satie_2_danseuse":                           "reach:1",
		"satie_5_chanson_du_chat":                    "hand-full:1 reach:1",
		"schubert_18_der_stuermische_morgen":         "",
		"schubert_st_ndchen_d_889":                   "",
		"schumann_1_s_ngers_trost":                   "jump:4 key-shared:1 low-interval:7 voice-overlap:1",
		"schumann_5_das_ist_ein_tag_der_klingen_mag": "hands-cross:3 reach:3",
		"schumann_9_wehmuth":                         "hands-cross:1 key-shared:7 low-interval:13 reach:6 voice-overlap:6",
		"schumann_die_gute_nacht":                    "hands-cross:1 key-shared:5 low-interval:6 reach:1 voice-overlap:1",
	}
	songs := corpus.Accompaniments(t)
	if len(songs) != len(want) {
		t.Fatalf("%d accompaniments, want %d", len(songs), len(want))
	}
	tenth, err := hand.ParseProfile("tenth")
	if err != nil {
		t.Fatal(err)
	}
	notes, found := 0, 0
	for _, a := range songs {
		s, name := a.Score, a.Name[:strings.LastIndex(a.Name, "_lc")]
		count := map[string]int{}
		vs := Check(s, Options{Hand: tenth})
		for _, v := range vs {
			count[v.Code]++
			if exceptions[v.Code] == "" {
				t.Errorf("%s: no exception named for %s", name, v)
			}
		}
		var got []string
		for code, n := range count {
			got = append(got, fmt.Sprintf("%s:%d", code, n))
		}
		slices.Sort(got)
		if g := strings.Join(got, " "); g != want[name] {
			t.Errorf("%s: %q, want %q%s", name, g, want[name], lines(vs))
		}
		notes, found = notes+len(s.Notes), found+len(vs)
	}
	t.Logf("%d violations in %d notes", found, notes)
}
