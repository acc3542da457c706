package perform_test

import (
	"archive/zip"
	"context"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gradatim"
	"gradatim/internal/perform"
	"gradatim/internal/sharedtest"
	"gradatim/internal/smf"
	"gradatim/score"
	"gradatim/theory"
)

// heardAs holds the strikes of a performance against those of a file, from the first.
func heardAs(t *testing.T, p perform.Performance, want []strike) {
	t.Helper()
	var got []strike
	for _, n := range p.Notes {
		if !n.Shared {
			got = append(got, strike{n.Start, n.Key, n.Velocity})
		}
	}
	if len(got) == 0 || len(got) != len(want) {
		t.Fatalf("%d strikes, want %d", len(got), len(want))
	}
	slices.SortStableFunc(got, compareStrikes)
	slices.SortStableFunc(want, compareStrikes)
	zero, first := got[0].at, want[0].at
	for i, w := range want {
		if g := got[i]; math.Abs(g.at-zero-w.at+first) > 0.0005 || g.key != w.key || g.velocity != w.velocity {
			t.Fatalf("strike %d: %.4f s %d %d, want %.4f s %d %d", i, g.at-zero, g.key, g.velocity, w.at-first, w.key, w.velocity)
		}
	}
}

// What abc2midi plays, with signs for loudness and tempi of its own, is heard as midicsv,
// an independent reader, finds it in the file.
func TestFileOfAnother(t *testing.T) {
	midi, csv := sharedtest.Tool(t, "abc2midi"), sharedtest.Tool(t, "midicsv")
	for name, text := range map[string]string{
		"signs and tempi": "X:1\nT:Of its own\nM:3/4\nL:1/8\nQ:1/4=90\nK:G\n%%MIDI gchord fzczcz\n!p!\"G\"G2B2d2|!ff!\"D\"c4A2|[Q:1/4=66]\"Em\"B2G2E2|!pp!\"D\"F6|!mf!\"G\"G3A Bc|\"C\"e4c2|\"D7\"d2A2F2|\"G\"G6|]\n",
		"two voices":      "X:1\nT:Two\nM:4/4\nL:1/8\nQ:1/4=132\nK:C\nV:1\n!f!c2e2g2e2|d2f2a2f2|e2g2c'2g2|c8|]\nV:2 bass\n!p!C,4G,4|D,4A,4|C,4G,4|C,8|]\n",
	} {
		dir := t.TempDir()
		abc, mid := filepath.Join(dir, "a.abc"), filepath.Join(dir, "a.mid")
		if err := os.WriteFile(abc, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		if out, err := exec.Command(midi, abc, "-o", mid).CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, out)
		}
		out, err := exec.Command(csv, mid).Output()
		if err != nil {
			t.Fatal(err)
		}
		data, err := os.ReadFile(mid)
		if err != nil {
			t.Fatal(err)
		}
		s, _, err := gradatim.ReadScore(name, data)
		if err != nil {
			t.Fatal(err)
		}
		p, err := perform.Perform(s, perform.Options{})
		if err != nil {
			t.Fatal(err)
		}
		heardAs(t, p, readMIDI(t, string(out)).strikes)
	}
}

// livePiece is a playing that no page could tell: uneven onsets, all loudnesses, a half
// pedal, tempi that change within bars.
func livePiece() smf.Sequence {
	r := rand.New(rand.NewPCG(3, 5))
	q := smf.Sequence{Division: 480, Title: "Played", Meters: []smf.Meter{{At: 0, Beats: 4, Unit: 4}},
		Tempos: []smf.Tempo{{At: 0, MicrosPerQuarter: 500_000}, {At: 4*480 + 240, MicrosPerQuarter: 750_000}, {At: 9 * 480, MicrosPerQuarter: 400_000}},
		Tracks: []smf.Track{{Name: "Right hand"}, {Name: "Left hand", Channel: 1}}}
	for i := range 32 {
		at := int64(480*i + r.IntN(15))
		q.Tracks[0].Notes = append(q.Tracks[0].Notes, smf.Note{At: at, Length: int64(100 + r.IntN(330)), Key: 72 + (i*5)%12, Velocity: 1 + (i*37)%127})
		if i%2 == 0 {
			q.Tracks[1].Notes = append(q.Tracks[1].Notes, smf.Note{At: int64(480*i + r.IntN(15)), Length: 700, Key: 40 + i%7, Velocity: 1 + r.IntN(127)})
		}
	}
	for i, v := range []int{127, 0, 60, 90, 30, 127, 0, 100} {
		q.Tracks[1].Controls = append(q.Tracks[1].Controls, smf.Control{At: int64(700*i + 11), Number: smf.DamperPedal, Value: v})
	}
	return q
}

// secondsOf is when a tick of a file comes (Standard MIDI Files 1.0).
func secondsOf(q smf.Sequence, tick int64) float64 {
	now, at, micros := 0.0, int64(0), 500000.0
	for _, x := range q.Tempos {
		if x.At >= tick {
			break
		}
		now += float64(x.At-at) * micros / 1e6 / float64(q.Division)
		at, micros = x.At, float64(x.MicrosPerQuarter)
	}
	return now + float64(tick-at)*micros/1e6/float64(q.Division)
}

func TestLive(t *testing.T) {
	q := livePiece()
	data, err := smf.Write(q)
	if err != nil {
		t.Fatal(err)
	}
	s, _, err := gradatim.ReadScore("a.mid", data)
	if err != nil {
		t.Fatal(err)
	}
	var want []strike
	ends := map[[2]int]float64{} // by place and key
	for _, tr := range q.Tracks {
		for _, n := range tr.Notes {
			want = append(want, strike{secondsOf(q, n.At), n.Key, n.Velocity})
			ends[[2]int{int(n.At), n.Key}] = secondsOf(q, n.At+n.Length)
		}
	}
	p, err := perform.Perform(s, perform.Options{})
	if err != nil {
		t.Fatal(err)
	}
	heardAs(t, p, want)
	found := 0
	for _, n := range p.Notes {
		for _, e := range ends {
			if math.Abs(n.End-perform.Lead-e) < 0.0005 {
				found++
				break
			}
		}
	}
	if found != len(p.Notes) {
		t.Errorf("%d of %d keys come up when they did", found, len(p.Notes))
	}
	if len(p.Pedals) < 8 || p.Pedals[len(p.Pedals)-1].Value != 0 {
		t.Fatalf("pedal %v", p.Pedals)
	}
	for i, c := range q.Tracks[1].Controls {
		if m := p.Pedals[i]; m.Value != c.Value || math.Abs(m.Time-perform.Lead-secondsOf(q, c.At)) > 0.0005 {
			t.Errorf("move %d of the pedal: %v, want %v", i, m, c)
		}
	}

	// At a share of its tempo all lasts so much longer, and nothing else changes.
	slow, err := perform.Perform(s, perform.Options{Tempo: perform.Tempo{Percent: 50}})
	if err != nil {
		t.Fatal(err)
	}
	for i, n := range slow.Notes {
		if m := p.Notes[i]; math.Abs(n.Start-perform.Lead-2*(m.Start-perform.Lead)) > 0.001 || n.Velocity != m.Velocity {
			t.Fatalf("note %d at half the tempo: %v, at its own %v", i, n, m)
		}
	}
	// Bars, twice, with a count-in, one hand: its notes of these bars, as they were.
	part, err := perform.Perform(s, perform.Options{From: 3, To: 4, Loop: 2, CountIn: 1, Hands: perform.RightAlone})
	if err != nil {
		t.Fatal(err)
	}
	if len(part.Notes) != 16 || len(part.Ticks) != 4 {
		t.Errorf("%d notes, %d clicks of bars 3 and 4 twice; want 16 and 4", len(part.Notes), len(part.Ticks))
	}
	for i, n := range part.Notes {
		if w := q.Tracks[0].Notes[8+i%8]; n.Key != w.Key || n.Velocity != w.Velocity {
			t.Errorf("note %d of the part: %v, want %v", i, n, w)
		}
	}
	// Evenly it is the page that is played, not the playing.
	even, err := perform.Perform(s, perform.Options{Even: true})
	if err != nil {
		t.Fatal(err)
	}
	if a, b := even.Timing.Seconds(theory.Whole, 0), even.Timing.Seconds(2*theory.Whole, 0); math.Abs(b-2*a+perform.Lead) > 1e-4 {
		t.Errorf("evenly, the first bar ends at %.4f s and the second at %.4f s", a, b)
	}
	// Written as a MIDI file again it is the same.
	again, err := smf.Write(p.MIDI("", ""))
	if err != nil {
		t.Fatal(err)
	}
	s2, _, err := gradatim.ReadScore("b.mid", again)
	if err != nil {
		t.Fatal(err)
	}
	p2, err := perform.Perform(s2, perform.Options{})
	if err != nil {
		t.Fatal(err)
	}
	heardAs(t, p2, want)
}

// TestPacesOfScores: the songs for voice and piano (OpenScore Lieder, CC0) change their
// tempo where their XML says so, read here by itself.
func TestPacesOfScores(t *testing.T) {
	files, _ := filepath.Glob(sharedtest.Path(t, "data/accompaniment_cc0") + "/*.mxl")
	bars, changed := 0, 0
	for _, path := range files {
		tempo := temposOf(t, path)
		if len(tempo) == 0 || slices.Min(tempo) == slices.Max(tempo) {
			continue
		}
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		s, _, err := gradatim.ReadScore(filepath.Base(path), data)
		if err != nil {
			t.Errorf("%s: %v", path, err)
			continue
		}
		s.Directions = slices.DeleteFunc(s.Directions, func(d score.Direction) bool { return d.Kind == score.Words })
		for i := range s.Bars { // in the order of the page, and straight
			s.Bars[i].Signs.Times, s.Bars[i].Signs.Start, s.Bars[i].Signs.DaCapo, s.Bars[i].Signs.DalSegno = 0, false, false, false
			s.Bars[i].Signs.EndingOpens = false
		}
		if s.Repeats() {
			continue
		}
		p, err := perform.Perform(s, perform.Options{Click: true}) // to clicks: nothing else slows down
		if err != nil {
			t.Errorf("%s: %v", path, err)
			continue
		}
		if len(tempo) != len(s.Bars) {
			continue // an uneven bar is read as several
		}
		for i, b := range s.Bars {
			if tempo[i] == 0 {
				continue // it changes within
			}
			want := float64(b.Dur) / float64(theory.Quarter) * 60 / tempo[i]
			if got := p.Timing.Seconds(b.End(), 0) - p.Timing.Seconds(b.At, 0); math.Abs(got-want) > 0.001 {
				t.Errorf("%s, bar %d: %.3f s, want %.3f at %g", filepath.Base(path), b.Number, got, want, tempo[i])
				break
			}
			bars++
			if tempo[i] != tempo[0] {
				changed++
			}
		}
	}
	t.Logf("%d bars, %d of them at another tempo than the first", bars, changed)
	if bars < 100 || changed < 20 {
		t.Errorf("only %d bars compared, %d of them at another tempo than the first", bars, changed)
	}
}

// temposOf reads how many quarters a minute each bar of a packed score is played at; 0
// where it changes within.
func temposOf(t *testing.T, path string) []float64 {
	t.Helper()
	z, err := zip.OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	var part []float64
	now, bar := map[int]float64{}, -1
	within := map[int]bool{}
	for _, f := range z.File {
		if strings.HasPrefix(f.Name, "META-INF") || !strings.HasSuffix(f.Name, "xml") {
			continue
		}
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		d := xml.NewDecoder(r)
		sounded, most := false, 0
		for {
			tok, err := d.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			e, ok := tok.(xml.StartElement)
			if !ok {
				continue
			}
			switch e.Name.Local {
			case "part":
				bar = -1
			case "measure":
				bar++
				sounded = false
				most = max(most, bar+1)
			case "note", "forward", "backup":
				sounded = true
			case "sound":
				for _, a := range e.Attr {
					if v, err := strconv.ParseFloat(a.Value, 64); a.Name.Local == "tempo" && err == nil && now[bar] == 0 {
						now[bar] = v
						within[bar] = sounded
					}
				}
			}
		}
		r.Close()
		at := 0.0
		for b := range most {
			v, ok := now[b]
			switch {
			case ok && within[b]:
				part = append(part, 0)
				at = v
				continue
			case ok:
				at = v
			case at == 0: // what stands before the first tempo is played at it
				for k := b; k < most && at == 0; k++ {
					at = now[k]
				}
			}
			part = append(part, at)
		}
	}
	return part
}

// struckScore is a MusicXML score with loudness of its own on every note (in percent of 90,
// MusicXML 4.0), a pedal that is half down, and a tempo that changes within a bar.
const struckScore = `<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list><part id="P1">
<measure number="1"><attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time><staves>2</staves></attributes>
<direction><direction-type><words>Andante</words></direction-type><sound tempo="80.5"/></direction>
<direction><direction-type><pedal type="start"/></direction-type><staff>2</staff><sound damper-pedal="yes"/></direction>
%s
<direction><direction-type><words>più mosso</words></direction-type><sound tempo="120"/></direction>
<sound damper-pedal="50"/>
%s
<backup><duration>4</duration></backup><note dynamics="60"><pitch><step>C</step><octave>3</octave></pitch><duration>4</duration><voice>5</voice><staff>2</staff></note></measure>
<measure number="2"><direction><direction-type><pedal type="stop"/></direction-type><staff>2</staff><sound damper-pedal="no"/></direction>
<note dynamics="100"><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration><voice>1</voice><staff>1</staff></note>
<backup><duration>4</duration></backup><note dynamics="50"><pitch><step>G</step><octave>2</octave></pitch><duration>4</duration><voice>5</voice><staff>2</staff></note></measure></part></score-partwise>`

func TestStruckScore(t *testing.T) {
	note := func(step string, dynamics string) string {
		return fmt.Sprintf(`<note dynamics="%s"><pitch><step>%s</step><octave>4</octave></pitch><duration>1</duration><voice>1</voice><staff>1</staff></note>`, dynamics, step)
	}
	text := fmt.Sprintf(struckScore, note("E", "10")+note("F", "141.11"), note("G", "70")+note("A", "88.89"))
	s, _, err := gradatim.ReadScore("a.musicxml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	for name, s := range map[string]score.Score{"read": s, "written and read": written(t, s)} {
		p, err := perform.Perform(s, perform.Options{Click: true})
		if err != nil {
			t.Fatal(err)
		}
		got := map[int]int{}
		for _, n := range p.Notes {
			got[n.Key] = n.Velocity
		}
		for key, want := range map[int]int{64: 9, 65: 127, 67: 63, 69: 80, 72: 90, 48: 54, 43: 45} {
			if got[key] != want {
				t.Errorf("%s: key %d has velocity %d, want %d", name, key, got[key], want)
			}
		}
		for at, want := range map[theory.Dur]float64{theory.Half: 2 * 60 / 80.5, theory.Whole: 2*60/80.5 + 1, 2 * theory.Whole: 2*60/80.5 + 3} {
			if got := p.Timing.Seconds(at, 0) - p.Timing.Start; math.Abs(got-want) > 0.001 {
				t.Errorf("%s: place %v comes after %.4f s, want %.4f", name, at, got, want)
			}
		}
		half := p.Timing.Seconds(theory.Half, 0)
		if len(p.Pedals) < 3 || p.Pedals[0].Value != 127 || p.Pedals[1].Value != 64 || math.Abs(p.Pedals[1].Time-half) > 1e-6 || p.Pedals[2].Value != 0 {
			t.Errorf("%s: pedal %v, want it half down at %.4f s", name, p.Pedals, half)
		}
	}
}

func written(t *testing.T, s score.Score) score.Score {
	t.Helper()
	data, _, err := gradatim.WriteScore(context.Background(), s)
	if err != nil {
		t.Fatal(err)
	}
	back, _, err := gradatim.ReadScore("b.musicxml", data)
	if err != nil {
		t.Fatal(err)
	}
	return back
}

// A piano has no keys below A0 (common practice); its one pedal is as low as the lowest
// of the channels.
func TestLiveOutside(t *testing.T) {
	q := livePiece()
	q.Tracks[1].Notes = append(q.Tracks[1].Notes, smf.Note{At: 960, Length: 400, Key: 12, Velocity: 90})
	q.Tracks[0].Controls = []smf.Control{{At: 5, Number: smf.DamperPedal, Value: 70}, {At: 3000, Number: smf.DamperPedal, Value: 0}}
	q.Tracks[1].Controls = []smf.Control{{At: 100, Number: smf.DamperPedal, Value: 127}, {At: 2000, Number: smf.DamperPedal, Value: 0}}
	data, err := smf.Write(q)
	if err != nil {
		t.Fatal(err)
	}
	s, _, err := gradatim.ReadScore("a.mid", data)
	if err != nil {
		t.Fatal(err)
	}
	p, err := perform.Perform(s, perform.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Problems) != 1 || p.Problems[0].Code != "keys-outside" {
		t.Errorf("told %v, want that a key is not there", p.Problems)
	}
	for _, n := range p.Notes {
		if n.Key < 21 {
			t.Errorf("key %d is played", n.Key)
		}
	}
	var got []int
	for _, m := range p.Pedals {
		got = append(got, m.Value)
	}
	if want := []int{70, 127, 70, 0}; !slices.Equal(got, want) {
		t.Errorf("pedal %v, want %v", got, want)
	}
	if _, err := perform.Perform(s, perform.Options{Transpose: -1}); err == nil {
		t.Error("a transposition to keys that are not there is played")
	}
}
