package desk

import (
	"bytes"
	"container/list"
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"sync"
	"time"

	"gradatim"
	"gradatim/score"
)

// sounds keeps what was recorded last: a browser asks for a sound in pieces, and again when
// it is repeated.
type sounds struct {
	mu    sync.Mutex
	by    map[string]*list.Element // of *sound
	order *list.List               // least lately used last
	bytes int
	turns map[string]chan struct{} // that are being made
}

type sound struct {
	key string
	wav []byte
}

// maxHeard bounds the sounds that are kept, in bytes: about six minutes.
const maxHeard = 64 << 20

func newSounds() *sounds {
	return &sounds{by: map[string]*list.Element{}, order: list.New(), turns: map[string]chan struct{}{}}
}

// get returns the sound of a key, and makes it where nobody has or does.
func (s *sounds) get(ctx context.Context, key string, record func() ([]byte, error)) ([]byte, error) {
	for {
		s.mu.Lock()
		if e, ok := s.by[key]; ok {
			s.order.MoveToFront(e)
			s.mu.Unlock()
			return e.Value.(*sound).wav, nil
		}
		turn, busy := s.turns[key]
		if !busy {
			turn = make(chan struct{})
			s.turns[key] = turn
		}
		s.mu.Unlock()
		if busy {
			select {
			case <-turn:
				continue
			case <-ctx.Done():
				return nil, context.Cause(ctx)
			}
		}
		wav, err := record()
		s.mu.Lock()
		delete(s.turns, key)
		close(turn)
		if err == nil {
			s.keep(&sound{key, wav})
		}
		s.mu.Unlock()
		return wav, err
	}
}

func (s *sounds) keep(x *sound) {
	s.by[x.key] = s.order.PushFront(x)
	for s.bytes += len(x.wav); s.bytes > maxHeard && s.order.Len() > 1; {
		last := s.order.Back()
		old := last.Value.(*sound)
		delete(s.by, old.key)
		s.order.Remove(last)
		s.bytes -= len(old.wav)
	}
}

// take reads what is to be heard: level, from, to, hands, tempo, loop, count, click, at.
func takeOf(q url.Values) (level int, t gradatim.Take, err error) {
	number := func(name string, least, most int) int {
		n, _ := strconv.Atoi(q.Get(name))
		return min(max(n, least), most)
	}
	t = gradatim.Take{From: number("from", 0, 1<<20), To: number("to", 0, 1<<20), Loop: number("loop", 0, gradatim.MaxLoop), CountIn: number("count", 0, gradatim.MaxCountIn), Click: q.Get("click") == "1"}
	if h := q.Get("hands"); h != "" {
		if t.Hands, err = gradatim.ParseHands(h); err != nil {
			return 0, t, err
		}
	}
	if s := q.Get("tempo"); s != "" {
		if t.Percent, t.PerMinute, err = gradatim.ParseTempo(s); err != nil {
			return 0, t, err
		}
	}
	return number("level", 0, 99), t, nil
}

// asked is the page and the take that an address asks for.
func (d *Desk) asked(r *http.Request) (gradatim.Page, gradatim.Take, error) {
	level, take, err := takeOf(r.URL.Query())
	if err != nil {
		return gradatim.Page{}, take, errNoPage
	}
	st, err := d.state(r.Context(), r.PathValue("tune"))
	if err != nil {
		return gradatim.Page{}, take, err
	}
	s, err := d.sessionAsked(r.Context(), st, r.URL.Query())
	if err != nil {
		return gradatim.Page{}, take, err
	}
	p, ok, err := pageOf(r.Context(), s, level)
	if err == nil && (!ok || p.Failed) {
		err = errNoPage
	}
	return p, take, err
}

// sound answers with bars of a page as they sound.
func (d *Desk) sound(w http.ResponseWriter, r *http.Request) error {
	p, take, err := d.asked(r)
	if err != nil {
		return err
	}
	return d.sendSound(w, r, p, take)
}

// sendSound answers with bars of a page as they sound.
func (d *Desk) sendSound(w http.ResponseWriter, r *http.Request, p gradatim.Page, take gradatim.Take) error {
	k := fmt.Sprintf("%x", sha256.Sum256(fmt.Appendf(nil, "%+v\n%+v", take, p.Score)))
	wav, err := d.heard.get(r.Context(), k, func() ([]byte, error) {
		var b bytes.Buffer
		_, err := d.studio.Record(r.Context(), &b, p.Score, take, gradatim.WAV, nil)
		return b.Bytes(), err
	})
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "audio/wav")
	w.Header().Set("ETag", `"`+k[:24]+`"`)
	w.Header().Set("Cache-Control", "private, no-cache")
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(wav))
	return nil
}

// timing is when what sounds, for the highlight that moves: seconds from the start of the
// sound.
type timing struct {
	Start float64    `json:"start"` // the music begins, after the count-in
	End   float64    `json:"end"`
	Bars  []barTime  `json:"bars"`
	Notes []noteTime `json:"notes"`
}

type barTime struct {
	Bar int     `json:"bar"` // as printed
	At  float64 `json:"at"`
}

type noteTime struct {
	ID   string  `json:"id"` // as on the page
	Key  int     `json:"key"`
	Left bool    `json:"left,omitempty"`
	From float64 `json:"from"`
	To   float64 `json:"to"`
}

func millis(s float64) float64 { return math.Round(s*1000) / 1000 }

// timingOf says when what sounds of a score.
func timingOf(s score.Score, take gradatim.Take) (timing, error) {
	p, err := gradatim.Play(s, take)
	if err != nil {
		return timing{}, err
	}
	t := timing{Start: millis(p.Timing.Start), End: millis(p.Timing.End)}
	pass, bar := -1, -1
	for _, x := range p.Timing.Points {
		if x.Bar != bar || x.Pass != pass {
			bar, pass = x.Bar, x.Pass
			t.Bars = append(t.Bars, barTime{x.Bar, millis(x.Seconds)})
		}
	}
	for _, n := range p.Notes {
		t.Notes = append(t.Notes, noteTime{n.ID, n.Key, n.Hand == score.Left, millis(n.Start), millis(n.End)})
	}
	return t, nil
}

// soundTiming answers with the moments of a sound.
func (d *Desk) soundTiming(w http.ResponseWriter, r *http.Request) error {
	p, take, err := d.asked(r)
	if err != nil {
		return err
	}
	t, err := timingOf(p.Score, take)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	return json.NewEncoder(w).Encode(t)
}
