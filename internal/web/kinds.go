package web

import (
	"strings"

	"tidemark/internal/model"
)

// kindWords is how each kind of finding is headed on the page.
var kindWords = map[model.Kind]string{
	model.KindDead:          "Nothing on the line",
	model.KindNoisy:         "Noisy",
	model.KindHum:           "Hum",
	model.KindCrackle:       "Crackle",
	model.KindDropout:       "Dropout",
	model.KindClipped:       "Clipped",
	model.KindHot:           "Too little room above",
	model.KindLow:           "Low",
	model.KindDCOffset:      "DC offset",
	model.KindFlipped:       "Upside down",
	model.KindLate:          "Late",
	model.KindSwapped:       "Swapped lines",
	model.KindMonoLoss:      "Thin in mono",
	model.KindMissing:       "No file for this line",
	model.KindUnlisted:      "Not on the list",
	model.KindDoubtfulMatch: "Which line is this?",
	model.KindDuplicate:     "Same sound twice",
	model.KindShort:         "Shorter than its pass",
	model.KindWrongRate:     "Another sample rate",
	model.KindWrongDepth:    "Another word length",
	model.KindTruncated:     "Damaged file",
	model.KindLateStart:     "Starts late",
}

// heading is what a finding of the kind is called; a kind this page does not
// know yet is shown by its own name.
func heading(k model.Kind) string {
	if w, ok := kindWords[k]; ok {
		return w
	}
	return string(k)
}

// The cautions that go with an advice. They are about people, not about sound,
// and stand under the advice of every kind that sends someone to a cable, a
// stand or a power switch.
const (
	cautionEarth   = "Never lift or defeat a protective earth. Use an isolated DI or a transformer, move the cable, or ask the house's technician or a licensed electrician."
	cautionPhantom = "Mute before switching phantom power; none on passive ribbons or unbalanced sources."
	cautionBooms   = "Booms overhead: hold the weight, sandbag the stand, keep out of the player's way."
	cautionHearing = "Turn monitors and headphones down first: a line that comes back can be very loud."
)

var cautions = map[model.Kind]string{
	model.KindHum:      cautionEarth,
	model.KindDead:     cautionPhantom + " " + cautionHearing,
	model.KindCrackle:  cautionPhantom,
	model.KindNoisy:    cautionPhantom,
	model.KindLate:     cautionBooms,
	model.KindMonoLoss: cautionBooms,
}

// caution is what goes with a finding's advice, unless the advice says it already.
func caution(x model.Finding) string {
	if x.Kind == model.KindHum && strings.Contains(x.Advice, "protective earth") {
		return ""
	}
	return cautions[x.Kind]
}

// weightWords head the weights: the word, and what it asks.
var weightWords = map[model.Weight]string{
	model.Stop:   "fix it before another take",
	model.Listen: "a person must judge",
	model.Note:   "worth knowing",
}

var weights = []model.Weight{model.Stop, model.Listen, model.Note}
