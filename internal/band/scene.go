package band

import (
	"fmt"
	"math"
)

// Point is a place in metres, or a direction: x to the right and y to the back
// of the room as seen from its door, z up.
type Point struct{ X, Y, Z float64 }

// Sub is the way from q to p.
func (p Point) Sub(q Point) Point { return Point{p.X - q.X, p.Y - q.Y, p.Z - q.Z} }

// Add is the place reached from p by q.
func (p Point) Add(q Point) Point { return Point{p.X + q.X, p.Y + q.Y, p.Z + q.Z} }

// Times stretches p by k.
func (p Point) Times(k float64) Point { return Point{k * p.X, k * p.Y, k * p.Z} }

// Length is the distance from the origin.
func (p Point) Length() float64 { return math.Sqrt(p.X*p.X + p.Y*p.Y + p.Z*p.Z) }

// DistanceM is the distance between two places in metres.
func DistanceM(p, q Point) float64 { return p.Sub(q).Length() }

// cosine of the angle between two directions; 1 where either has no length.
func cosine(p, q Point) float64 {
	n := p.Length() * q.Length()
	if n == 0 {
		return 1
	}
	return (p.X*q.X + p.Y*q.Y + p.Z*q.Z) / n
}

// SoundSpeed is c = 331.3·√(1 + T/273.15) m/s for T in °C, dry air (textbook
// formula, from memory; within 0.3 % of the exact value between 0 and 30 °C).
func SoundSpeed(tempC float64) float64 { return 331.3 * math.Sqrt(1+tempC/273.15) }

// Room is a box with one corner at the origin.
type Room struct {
	Name   string
	Size   Point   // metres
	DecayS float64 // reverberation time in seconds; 0 for a room without reflections
	TempC  float64
}

// absorptionArea is Sabine's A = 0.161·V/T in m².
func (r Room) absorptionArea() float64 {
	return 0.161 * r.Size.X * r.Size.Y * r.Size.Z / r.DecayS
}

// reflection is the pressure factor of one reflection: √(1 − A/S).
func (r Room) reflection() float64 {
	s := 2 * (r.Size.X*r.Size.Y + r.Size.Y*r.Size.Z + r.Size.X*r.Size.Z)
	return math.Sqrt(math.Max(0, 1-math.Min(0.95, r.absorptionArea()/s)))
}

// Pattern is the pressure share p of a first-order microphone, whose gain at
// the angle θ off its aim is p + (1 − p)·cos θ.
type Pattern float64

// The usual patterns.
const (
	Omni        Pattern = 1
	WideCard    Pattern = 0.7
	Cardioid    Pattern = 0.5
	HyperCard   Pattern = 0.25
	FigureEight Pattern = 0
)

// Player makes the sound of a source: Play overwrites dst with the next
// len(dst) samples, in pascal at 1 m (or full scale for what a direct line
// carries). How the sound is cut into calls must not change it.
type Player interface{ Play(dst []float32) }

// Filter changes a running signal in place.
type Filter interface{ Filter(x []float32) }

// Source is something that sounds.
type Source struct {
	Name string
	Room int    // index into Scene.Rooms
	Zone string // for screens; "" is a zone like any other
	Pos  Point
	// Facing and Beam give the radiation (1 − Beam) + Beam·cos θ, never below
	// rearFloor; Beam 0 sounds alike all round.
	Facing Point
	Beam   float64
	SizeM  float64 // radius of the radiating thing
	Mute   bool    // electric only: no air moves (a string before its amplifier)

	Sound Player
	// FedBy names the source, earlier in the list, whose signal this one gets
	// through Through instead of having a Sound of its own: an amplifier. It is
	// the index plus one, so that 0 is nobody.
	FedBy   int
	Through Filter
}

// rearFloor is the least a source radiates in any direction: nothing is silent
// behind, sound bends round (common practice, no source).
const rearFloor = 0.12

// Mic is a microphone and its line up to the converter, or a direct line.
type Mic struct {
	Name    string
	Room    int
	Zone    string
	Pos     Point
	Pattern Pattern
	Aim     Point // direction; without length it looks at nothing and hears all alike

	GainDB     float64 // full scale per pascal, in dB
	NoiseDBFS  float64 // RMS of its own noise (AES17), gain included
	Flip       bool    // the polarity switch
	HighPassHz float64 // 12 dB an octave; 0 for none

	// Direct is the index plus one of the source whose electric signal the line
	// carries; 0 for a microphone.
	Direct int

	// After works on the finished channel before the converter: faults. start
	// is the frame of x[0].
	After []func(x []float32, start int64)
}

// Screen is what stands between two zones, either way: a booth's wall, a gobo,
// a drum shell. It takes LossDB and, with LowpassHz > 0, 6 dB an octave above
// that. Sources and microphones in different rooms hear each other only
// through a screen.
type Screen struct {
	A, B      string
	LossDB    float64
	LowpassHz float64
}

// Scene is all there is to hear and to hear it with.
type Scene struct {
	RateHz  int
	Frames  int64 // length of the rendering
	Seed    uint64
	Rooms   []Room
	Sources []Source
	Mics    []Mic
	Screens []Screen
}

func (s *Scene) check() error {
	if s.RateHz < 8000 || s.RateHz > 384000 {
		return fmt.Errorf("scene: rate of %d Hz, use 8000 to 384000", s.RateHz)
	}
	if s.Frames < 0 {
		return fmt.Errorf("scene: length of %d frames is below nothing", s.Frames)
	}
	for i, src := range s.Sources {
		if src.Room < 0 || src.Room >= len(s.Rooms) {
			return fmt.Errorf("scene: source %q is in room %d, there are %d", src.Name, src.Room, len(s.Rooms))
		}
		if src.FedBy < 0 || src.FedBy > i {
			return fmt.Errorf("scene: source %q is fed by source %d, which must come before it", src.Name, src.FedBy)
		}
		if src.FedBy == 0 && src.Sound == nil {
			return fmt.Errorf("scene: source %q has no sound and nothing feeds it", src.Name)
		}
	}
	for _, m := range s.Mics {
		if m.Room < 0 || m.Room >= len(s.Rooms) {
			return fmt.Errorf("scene: microphone %q is in room %d, there are %d", m.Name, m.Room, len(s.Rooms))
		}
		if m.Direct < 0 || m.Direct > len(s.Sources) {
			return fmt.Errorf("scene: line %q carries source %d, there are %d", m.Name, m.Direct, len(s.Sources))
		}
	}
	return nil
}

// Held plays samples that are already there, then silence.
type Held struct {
	Samples []float32
	at      int
}

// Play implements Player.
func (h *Held) Play(dst []float32) {
	n := copy(dst, h.Samples[min(h.at, len(h.Samples)):])
	clear(dst[n:])
	h.at += n
}
