package model

// RelationKind says why two lines are compared.
type RelationKind string

// The relations between lines that hear the same source.
const (
	StereoPair RelationKind = "stereo pair"    // left and right of one thing
	RoomPair   RelationKind = "room pair"      // a stereo pair that is late by nature
	TopBottom  RelationKind = "top and bottom" // of one drum
	InOut      RelationKind = "in and out"     // of one drum
	DIAmp      RelationKind = "DI and amplifier"
	MidSide    RelationKind = "mid-side"
	TwoMics    RelationKind = "two microphones" // on one source, nothing more known
	KitPair    RelationKind = "same kit"        // a close microphone against an overhead
)

// Relation is a pair of lines that hear the same source. A and B are indexes
// into the list, A < B or in the order of the words (top, bottom). On is the
// line on whose hits the pair is measured: the snare for overheads, A itself
// where there is nothing better.
type Relation struct {
	A, B, On int
	Kind     RelationKind
}

// MeantToAgree says whether the two ought to hear the source at the same time:
// only then is a difference of arrival a fault.
func (r Relation) MeantToAgree() bool {
	return r.Kind == StereoPair
}
