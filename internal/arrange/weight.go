package arrange

// Weights of the left hand that printed pages know about: those by which its figures are
// told from one another by what stands on a page. They are fitted to print (make weights,
// docs/weights.md); all others are a teacher's judgement and stand in cost.go.

// eighth divides the small weights, so that what one half step costs can be told finely.
const eighth = 8

// weights are prices, each in the unit of cost or, where it says so, in eighths of it.
type weights struct {
	Taste     int // a technique's own preference, for each point of it
	Muddy     int // eighths: a half step below where an interval is clear
	TooLow    int // eighths: a half step below the level's lowest note
	TooHigh   int // eighths: a half step above D4
	Near      int // eighths: a half step nearer to the tune than a third
	Far       int // eighths: a half step further from the tune than a twelfth
	Inside    int // eighths: five millimetres of moving within a figure
	Upside    int // a chord struck below its own bass note
	Shared    int // a key that the tune has or takes over
	NoRoot    int // a section that begins on another note than its bass
	Vague     int // a guide tone that is missing while the chord is new
	VagueArc  int // …and whose tune's hand has a plan, which fills nothing in by chance
	VagueKept int // …where the kind keeps its pattern
	Travel    int // eighths: a half step's way from one figure to the next
	Leap      int // eighths: a half step of the bass line
	LeapFar   int // eighths: one beyond a fifth, besides
	Another   int // eighths: another technique than in the cell before
	Leaves    int // a hand that leaves its position, for each half step
	Bare      int // a figure repeated note for note over one chord
	Unsteady  int // another rhythm than in the bar before, where the kind keeps its pattern
	OffDress  int // a figure of another technique than the phrase's
	Resort    int // the technique of last resort
	Strayed   int // another rhythm than the habit, in a cell that could have it
	StrayEnd  int // …in the last two bars of a phrase
	StrayHere int // …where the level keeps the hand in one place, which comes first
	Later     int // a technique one place further down the level's list, besides
	Displaced int // a bass note in another octave than the one that its section has for it
}

// byHand are the weights as they were set before print was asked.
var byHand = weights{
	Taste: 4, Muddy: 16, TooLow: 16, TooHigh: 16, Near: 16, Far: 8, Inside: 8, Upside: 90, Shared: 300, NoRoot: 30,
	Vague: 640, VagueArc: 300, VagueKept: 45, Travel: 8, Leap: 8, LeapFar: 8, Another: 48, Leaves: 25, Bare: 30, Unsteady: 40,
	OffDress: 200, Resort: 160, Strayed: 120, StrayEnd: 120, StrayHere: 90, Displaced: 40, Later: 10,
}

// weigh returns the weights that a page is made with.
func (p *piece) weigh() *weights {
	if p.w != nil {
		return p.w
	}
	return &fitted
}
