package theory

// Caution tells that a symbol is used for more than what it was read as.
type Caution struct {
	Usage   Usage
	Written string // as it stands, or would
	Read    string // what it was read as, where the usage does not say
	Other   string // how something else would be written, or what it could mean
}

// Usage is a way in which symbols are used that differs between those who write them.
type Usage string

// Usages; which of Read and Other they have.
const (
	ReadAs           Usage = "read-as"            // Read
	OnRoot           Usage = "on-root"            // a number after an accidental: Read is the root, Other the altered degree
	DiminishedTriad  Usage = "diminished-triad"   // or the seventh chord
	AddedSecond      Usage = "added-second"       // Read; or a suspension
	MinorFifth       Usage = "minor-fifth"        // Read
	MinorChord       Usage = "minor-chord"        // - for minor, or Other with a lowered degree
	AugmentedFifth   Usage = "augmented-fifth"    // + for the fifth, or Other with a raised degree
	WithSeventh      Usage = "with-seventh"       // or added
	SevenPlus        Usage = "seven-plus"         // Read, or Other
	ThirdAndEleventh Usage = "third-and-eleventh" // which clash
)

// String names the usage and the symbol.
func (c Caution) String() string { return string(c.Usage) + " " + c.Written }
