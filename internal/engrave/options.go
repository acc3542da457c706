package engrave

import (
	"encoding/json"
	"math"
)

// The engraver counts in tenths of a millimetre at its own staff height of
// 7.2 mm (its unit, half a staff space, is 9). Pages are laid out at that size
// and scaled to the wanted one.
const (
	engineStaff = 7.2  // mm
	perMM       = 10.0 // engraver's page units in a millimetre
	svgPerMM    = 100.0
	spaceMM     = engineStaff / 4
)

// engineOptions are those of the engraver's options that are set. The engraver
// ignores in silence what it does not know: a test holds these names, types
// and ranges against its own list.
type engineOptions struct {
	InputFrom       string  `json:"inputFrom"`
	Breaks          string  `json:"breaks"`
	Header          string  `json:"header"`
	Footer          string  `json:"footer"`
	Font            string  `json:"font"`
	EmbedFont       string  `json:"smuflTextFont"`
	SVGViewBox      bool    `json:"svgViewBox"`
	SVGRaw          bool    `json:"svgFormatRaw"`
	PageWidth       int     `json:"pageWidth"`
	PageHeight      int     `json:"pageHeight"`
	AdjustHeight    bool    `json:"adjustPageHeight"`
	MarginLeft      int     `json:"pageMarginLeft"`
	MarginRight     int     `json:"pageMarginRight"`
	MarginTop       int     `json:"pageMarginTop"`
	MarginBottom    int     `json:"pageMarginBottom"`
	JustifyLast     float64 `json:"minLastJustification"`
	SpacingLinear   float64 `json:"spacingLinear"`
	SpacingStaff    int     `json:"spacingStaff"`
	SpacingSystem   int     `json:"spacingSystem"`
	FingeringScale  float64 `json:"fingeringScale"`
	StaffLineWidth  float64 `json:"staffLineWidth"`
	StemWidth       float64 `json:"stemWidth"`
	BarLineWidth    float64 `json:"barLineWidth"`
	LedgerThickness float64 `json:"ledgerLineThickness"`
	HarmBottom      float64 `json:"bottomMarginHarm"`
	LyricSize       float64 `json:"lyricSize"`
	LyricTop        float64 `json:"lyricTopMinMargin"`
	LyricHeight     float64 `json:"lyricHeightFactor"` // with room under the words for signs of loudness
	MeasureNumbers  int     `json:"mnumInterval"`
	PedalStyle      string  `json:"pedalStyle"`
	OctaveText      bool    `json:"octaveAlternativeSymbols"` // 8va, not 8
}

// options makes the engraver's options for lines of a width in millimetres of
// the final page.
func options(l Layout, lineWidth float64) engineOptions {
	o := engineOptions{
		InputFrom: "xml", Breaks: "encoded", Header: "none", Footer: "none", Font: musicFont, EmbedFont: "none", SVGViewBox: true, SVGRaw: true,
		PageWidth: int(math.Round(lineWidth / l.scale() * perMM)), PageHeight: 60000, AdjustHeight: true,
		JustifyLast: raggedLast, SpacingLinear: 0.25, SpacingStaff: 12, SpacingSystem: 4,
		FingeringScale: 0.75, StaffLineWidth: 0.15, StemWidth: 0.2, BarLineWidth: 0.3, LedgerThickness: 0.25,
		HarmBottom: 1, LyricSize: 4.5, LyricTop: 6, LyricHeight: 1.2, PedalStyle: "line", OctaveText: true,
	}
	switch l.Density {
	case Airy:
		o.SpacingStaff = 14
	case Dense:
		o.SpacingStaff = 10
	}
	if l.LargePrint {
		o.FingeringScale = 0.9
		o.StaffLineWidth, o.StemWidth, o.BarLineWidth, o.LedgerThickness = 0.2, 0.27, 0.4, 0.32
	}
	if l.Degrees && !l.HideChords {
		o.HarmBottom = 3.6
	}
	return o
}

// A last system is drawn out to the margin where its music is about as much as that of
// the one before, or its notes reach that far; else it ends where its notes do.
const (
	raggedLast = 0.85
	fullLast   = 0.7
)

const musicFont = "Leipzig"

// scale maps the engraver's sizes to those of the page.
func (l Layout) scale() float64 { return l.StaffHeight / engineStaff }

func (o engineOptions) json() string {
	b, err := json.Marshal(o)
	if err != nil {
		panic(err) // numbers and strings only
	}
	return string(b)
}
