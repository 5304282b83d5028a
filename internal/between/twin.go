package between

import (
	"math"

	"tidemark/internal/unit"
)

// twinResidualDB is how much two recordings may differ and still be the same up
// to gain: what rounding to 16 bits leaves of music at a usual level. Common practice.
const twinResidualDB = -60

// Twin tells whether two channels are one recording: bit for bit, or up to gain
// (a copy printed through a fader, a flipped copy). It needs no alignment: a
// twin that was moved is a Pair's business.
type Twin struct {
	null    *Null
	differs bool
	sounds  bool
	frames  int64
}

// TwinReading is what two channels have in common.
type TwinReading struct {
	Frames int64 `json:"frames"`
	// Identical: every sample has the same value, and not all are zero (two dead lines are no twins).
	Identical bool `json:"identical"`
	// SameUpToGainDB is the gain of A re B, defined where the two are the same
	// but for it (and for turning over, Flipped): 0 for identical channels.
	SameUpToGainDB unit.Maybe[unit.DB] `json:"same_up_to_gain_db"`
	Flipped        bool                `json:"flipped"`
	// ResidualDB is what is left of A with the gain fitted; undefined where nothing is.
	ResidualDB unit.Maybe[unit.DB] `json:"residual_db"`
}

// NewTwin makes a Twin.
func NewTwin() *Twin { return &Twin{null: NewNull(0)} }

// Add takes the next stretch of both channels; it panics on different lengths.
func (t *Twin) Add(a, b []float32) {
	t.null.Add(a, b)
	t.frames += int64(len(a))
	for i, x := range a {
		if x != b[i] && !t.differs {
			t.differs = true
		}
		if x != 0 {
			t.sounds = true
		}
	}
}

// Reading returns what was heard so far; it changes nothing.
func (t *Twin) Reading() TwinReading {
	n := t.null.Reading()
	r := TwinReading{Frames: t.frames, Identical: !t.differs && t.sounds, Flipped: n.Flipped, ResidualDB: n.ResidualDB}
	if r.Identical {
		r.SameUpToGainDB, r.ResidualDB = unit.Some(unit.DB(0)), unit.None[unit.DB]()
		return r
	}
	if left, ok := n.ResidualDB.Get(); n.GainDB.Defined() && (!ok || left < twinResidualDB) && !math.IsNaN(float64(left)) {
		r.SameUpToGainDB = n.GainDB
	}
	return r
}

// Apart says that the two cannot turn out twins any more, for all practical
// purposes: a second of sound and more has left over −30 dB. A caller that
// compares many pairs may then stop adding.
func (t *Twin) Apart() bool {
	if t.frames < 48000 {
		return false
	}
	left, ok := t.null.Reading().ResidualDB.Get()
	return ok && left > -30
}
