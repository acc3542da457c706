package grade

import (
	"encoding/json"
	"strconv"

	"gradatim/internal/hand"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
)

// formatVersion is the version of the JSON shape, the same as that of every other
// one of the command line; a test holds them together.
const formatVersion = 1

// decimal is a number of thousandths written as a decimal without needless
// digits.
type decimal int

func (d decimal) MarshalJSON() ([]byte, error) {
	return strconv.AppendFloat(nil, float64(d)/1000, 'f', -1, 64), nil
}

type featureJSON struct {
	ID     string  `json:"id"`
	Hand   string  `json:"hand,omitempty"` // absent: both together
	Value  decimal `json:"value"`
	Unit   string  `json:"unit"`
	Number decimal `json:"number"`
	Text   string  `json:"text"`
	Bars   []int   `json:"bars,omitempty"` // first and last of where it is worst
}

type passageJSON struct {
	Bars [2]int `json:"bars"`
	Text string `json:"text"`
}

type foundJSON struct {
	ID    string `json:"id"`
	Name  string `json:"name"`
	Level int    `json:"level"`
	Times int    `json:"times"`
	Bars  []int  `json:"bars"`
}

type demandJSON struct {
	Kind    string  `json:"kind"`
	Hand    string  `json:"hand"`
	Times   int     `json:"times"`
	Bars    []int   `json:"bars"`
	Width   decimal `json:"widest_mm"`
	Caution string  `json:"caution"`
}

// JSON writes the rating: "rating" is its number, from 0 to 100, "place" where on
// our ladder that is, in words, "levels" the same as numbers. A reader is told whole numbers; the decimals are there so that
// pages can be put in order.
func (r Rating) JSON() ([]byte, error) { return r.JSONWith(nil, words.Must(words.Default)) }

// JSONWith writes the rating in the words of a language, together with what was told
// in reading the score.
func (r Rating) JSONWith(told leadsheet.Problems, w *words.Words) ([]byte, error) {
	out := struct {
		Version    int                `json:"version"`
		Title      string             `json:"title"`
		Scale      int                `json:"scale_version"`
		Rating     decimal            `json:"rating"`
		Place      string             `json:"place"`
		Levels     []int              `json:"levels"`
		Sum        decimal            `json:"sum"`
		Tempo      int                `json:"tempo_quarters_per_minute"`
		Assumed    bool               `json:"tempo_assumed,omitempty"`
		Features   []featureJSON      `json:"features"`
		Hardest    []passageJSON      `json:"hardest"`
		Demands    []demandJSON       `json:"demands"`
		Techniques []foundJSON        `json:"techniques"`
		Heard      bool               `json:"chords_heard,omitempty"`
		Problems   leadsheet.Problems `json:"problems"`
	}{Version: formatVersion, Title: r.Title, Scale: ScaleVersion, Rating: decimal(r.Number * 100), Place: w.Value(r.Number.Place()), Levels: append([]int{}, r.Number.Levels()...), Sum: decimal(r.Sum), Tempo: r.Quarters, Assumed: r.Assumed,
		Features: []featureJSON{}, Hardest: []passageJSON{}, Demands: []demandJSON{}, Techniques: []foundJSON{}, Heard: r.Heard, Problems: w.Problems(told)}
	if told == nil {
		out.Problems = leadsheet.Problems{}
	}
	for _, f := range r.Features {
		j := featureJSON{ID: f.ID, Value: decimal(f.Value), Unit: f.Unit, Number: decimal(f.Number * 100), Text: f.Text(w)}
		if f.Hand == score.Left || f.Hand == score.Right {
			j.Hand = f.Hand.String()
		}
		if f.Placed {
			j.Bars = []int{f.First, f.Last}
		}
		out.Features = append(out.Features, j)
	}
	for _, h := range r.Hardest {
		out.Hardest = append(out.Hardest, passageJSON{[2]int{h.First, h.Last}, h.Text(w)})
	}
	for _, d := range r.Demands {
		out.Demands = append(out.Demands, demandJSON{d.Kind.String(), d.Hand.String(), d.Times, d.Bars, decimal(d.Width * 1000 / hand.Millimetre), w.Say("demand." + d.Kind.String() + ".caution")})
	}
	for _, f := range r.Techniques {
		out.Techniques = append(out.Techniques, foundJSON{f.ID, w.Technique(f.ID).Title(), f.Level, f.Times, f.Bars})
	}
	return json.MarshalIndent(out, "", " ")
}
