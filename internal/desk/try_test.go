package desk

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"gradatim/theory"
)

// The triads of a major key and of a minor one, as any harmony course lists them; common
// practice, no source.
func TestChordsIn(t *testing.T) {
	for key, want := range map[string]string{
		"C major":  "C Dm Em F G Am Bdim G7",
		"Eb major": "Eb Fm Gm Ab Bb Cm Ddim Bb7",
		"A minor":  "Am Bdim C Dm Em F G E E7",
	} {
		k, err := theory.ParseKey(key)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, c := range chordsIn(k) {
			got = append(got, c.String())
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%s: %v, want %s", key, got, want)
		}
	}
}

// Another chord is offered where the search has none, each with what it holds of the tune; it
// is heard, and it is taken by one press.
func TestTries(t *testing.T) {
	r := atDesk(t, Config{})
	id := r.add(ferryLamp)
	a := r.get("/tunes/"+id+"/bar/4?level=2", http.StatusOK) // F A d D over D7
	var offered []string
	for _, e := range of(parsed(t, a.Text), "button", "value") {
		if e.attr["name"] == "chord" {
			offered = append(offered, e.attr["value"])
		}
	}
	// By hand: its own triad is played already; of F♯ A D D the triad on B has three beats, those on G and F♯ have two.
	if !slices.Equal(offered, []string{"Bm", "G", "F#dim"}) {
		t.Errorf("offered: %v", offered)
	}
	a.wants(t, "of the tune")
	sound := strings.Index(a.Text, "chord="+url.QueryEscape(offered[0]))
	if sound < 0 {
		t.Error("the first of them cannot be heard")
	}
	q := url.Values{"level": {"2"}, "bar": {"4"}, "from": {"4"}, "to": {"4"}, "chord": {offered[0]}, "beat": {"1"}}
	other := r.get("/tunes/"+id+"/timing.json?"+q.Encode(), http.StatusOK)
	q.Del("chord")
	if now := r.get("/tunes/"+id+"/timing.json?"+q.Encode(), http.StatusOK); now.Text == other.Text {
		t.Error("with another chord nothing else sounds")
	}
	r.post("/tunes/"+id+"/bar/4", url.Values{"level": {"2"}, "seen": {"0"}, "do": {"chord"}, "beat": {"1"}, "chord": {offered[0]}}, http.StatusOK)
	if c := r.choices(id); !strings.Contains(c, `chord = "`+offered[0]+`"`) {
		t.Errorf("after a press:\n%s", c)
	}
	// Two versions are compared in words as well.
	r.get("/tunes/"+id+"/compare?a=0&level=2", http.StatusOK).wants(t, "Bar 4: the chord ", " in the place of D")
}

// A finger that is another is told of two versions, and what is told of a choice names no octave.
func TestFingerDiffers(t *testing.T) {
	r := atDesk(t, Config{})
	id := r.add(ferryLamp)
	r.post("/tunes/"+id+"/bar/4", url.Values{"level": {"2"}, "seen": {"0"}, "do": {"finger"}, "note": {"right 1 F#4"}, "finger": {"3"}}, http.StatusOK).wants(t, "finger 3 on F♯")
	r.get("/tunes/"+id+"/compare?a=0&level=2", http.StatusOK).wants(t, "Bar 4: finger 3 now printed on F♯ (right hand, beat 1)")
	r.get("/tunes/"+id+"/history", http.StatusOK).wants(t, "finger 3 on F♯ (right hand, beat 1)")
}

// A bar stands out where few do; where many do, the hardest alone.
func TestPeaks(t *testing.T) {
	r := atDesk(t, Config{})
	id := r.add(ferryLamp)
	st, err := r.desk.state(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ hard, peaks []int }{
		{[]int{1, 5, 17, 5, 5, 5, 5, 5, 1}, []int{2}},
		{[]int{0, 10, 20, 21, 22, 23, 10, 10, 0}, []int{5}},
		{[]int{1, 5, 6, 5, 7, 5, 6, 5, 1}, nil},
	} {
		l := lane{bars: len(c.hard)}
		if err := r.desk.drawContour(&l, st, st.Session.Song(), c.hard); err != nil {
			t.Fatal(err)
		}
		var got []int
		for i, x := range l.Cells {
			if x.Peak {
				got = append(got, i)
			}
		}
		if !slices.Equal(got, c.peaks) {
			t.Errorf("%v: %v, want %v", c.hard, got, c.peaks)
		}
	}
}
