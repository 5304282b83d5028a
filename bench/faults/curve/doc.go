// Package curve finds out how strong a fault must be before the check speaks:
// a ladder of strengths for each kind, from what must not be found to what
// must, tried on many lines, and for each strength the share found.
//
// Nothing here judges. A fault in one line's sound is measured with the same
// meters and judged with the same rules as in a check; a fault between lines or
// in a file goes through the whole check of a small folder. Only the lines that
// nothing was done to are measured once and kept, which is what makes some
// thousand trials affordable; a test holds the shortcut to the check itself.
//
// A trial of a ladder draws its take, line, place and polarity once and climbs
// all steps with them, so that two steps differ in strength alone.
//
// Start reading at Run.
package curve

import (
	"math/rand/v2"

	"tidemark/bench/faults/harm"
	"tidemark/bench/faults/stage"
	"tidemark/internal/model"
)

// Ladder is one way of doing a kind of harm, at rising strength.
type Ladder struct {
	Kind model.Kind
	Name string // tells the ladders of one kind apart
	What string // what is planted and what the strength means, a sentence or two
	Unit string
	// Steps are the strengths from the weakest fault to the worst; the numbers
	// themselves may fall.
	Steps []float64
	// Log says that strengths are compared by their ratio; all are over zero.
	Log bool
	// Stops says that the strongest are what an engineer stops the session for.
	Stops bool
	// PerTake is how many trials a take gets, more where few takes have the
	// lines for it; 0 stands for the run's usual number.
	PerTake int

	// Line wounds the sound of one line that fits. OnFolder is for all else.
	Fits func(stage.Line) bool
	Line OnLine
	// Folder sets up a trial on a take; nil where it has no lines for it. Zero
	// strength is asked for with none: the same folder without the fault.
	Folder OnFolder
}

// OnLine plants a fault of a strength in a line's samples; false where the line
// does not lend itself to it. The random numbers are the same for every step.
type OnLine func(s *harm.Sound, l stage.Line, strength float64, r *rand.Rand) (harm.Wound, bool)

// OnFolder builds a folder with a fault of a strength, or without where none is
// set, and says what a finding must name.
type OnFolder func(t *Take, strength float64, none bool, r *rand.Rand) (*Folder, harm.Wound, bool)

// Count is what came of the trials at one step.
type Count struct {
	Tries, Stop, Heard int // Heard: found as listen or note
	// Others counts trials in which another kind of finding newly stops for the line.
	Others map[model.Kind]int
}

// Found is the number found at any weight.
func (c Count) Found() int { return c.Stop + c.Heard }

func (c *Count) add(o Count) {
	c.Tries, c.Stop, c.Heard = c.Tries+o.Tries, c.Stop+o.Stop, c.Heard+o.Heard
	for k, n := range o.Others {
		if c.Others == nil {
			c.Others = map[model.Kind]int{}
		}
		c.Others[k] += n
	}
}

// Result is a ladder with what came of it: one count a step, and that of the
// same lines without the fault.
type Result struct {
	Ladder *Ladder
	Steps  []Count
	Zero   Count
}
