package meter

import (
	"fmt"
	"strconv"

	"tidemark/internal/unit"
)

// standardRates are the sample rates that every standard is held to, where it
// can be: those of the trade.
var standardRates = []int{44100, 48000, 88200, 96000, 192000}

// kHz is a rate as the rows of the conformance page say it.
func kHz(rateHz int) string {
	return strconv.FormatFloat(float64(rateHz)/1000, 'f', -1, 64) + " kHz"
}

// hertz is a frequency as the rows say it.
func hertz(hz float64) string { return fmt.Sprintf("%g Hz", hz) }

// undefinedValue stands in a row for a reading that does not exist: no tolerance reaches it.
const undefinedValue = -999

// number is the reading, or a value that no tolerance reaches.
func number[T ~float64](m unit.Maybe[T]) float64 { return float64(m.Or(undefinedValue)) }

// defined is 1 for a reading that exists and 0 for one that does not.
func defined[T any](m unit.Maybe[T]) float64 {
	if m.Defined() {
		return 1
	}
	return 0
}
