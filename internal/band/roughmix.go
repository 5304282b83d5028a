package band

import (
	"context"
	"io"
	"math"

	"tidemark/internal/sound"
	"tidemark/internal/unit"
)

// fader is a line's place in the rough mix.
type fader struct {
	db, pan float64 // pan −1 left … +1 right
	lowCut  float64
	send    float64 // share into the reverberation
	flip    bool
}

var faders = [...]fader{
	lineKickIn: {-2, 0, 0, 0, false}, lineKickOut: {-2, 0, 0, 0, false},
	lineSnareTop: {-4, 0.02, 80, 0.10, false}, lineSnareLow: {-11, 0.02, 150, 0.05, false},
	lineHat: {-12, -0.45, 300, 0, false}, lineRack: {-9, -0.25, 70, 0.05, false}, lineFloor: {-8, 0.45, 50, 0.05, false},
	lineOverL: {-1, -0.85, 150, 0.02, false}, lineOverR: {-1, 0.85, 150, 0.02, false},
	linePerc:  {-8, 0.55, 300, 0.06, false},
	lineRoomL: {-8, -1, 80, 0, false}, lineRoomR: {-8, 1, 80, 0, false},
	lineBassDI: {-7, 0, 0, 0, false}, lineBassAmp: {-5.5, 0, 0, 0, false},
	lineGuitar: {-13, 0.6, 100, 0.06, false}, lineAcoustic: {-9, -0.6, 110, 0.05, false},
	lineSqueeze: {-6, -0.35, 120, 0.10, false},
	linePianoL:  {-6, -0.15, 70, 0.06, false}, linePianoR: {-6, 0.75, 70, 0.06, false},
	lineLead: {-2, 0, 90, 0.16, false}, lineLow: {-9, -0.4, 110, 0.22, false}, lineHigh: {-9, 0.4, 110, 0.22, false},
	lineTalk: {-30, 0, 150, 0, false},
}

// mixGain brings the mix to about −20 LUFS.
const mixGain = 1.08

// RoughMix renders a session and hands a stereo balance of its lines to take,
// block by block: equal-power panning, low cuts, one reverberation, a soft
// ceiling. It is for a person who wants to hear what the band plays.
func RoughMix(ctx context.Context, s *Session, take func(b *sound.Block) error) error {
	r, err := NewRenderer(&s.Scene)
	if err != nil {
		return err
	}
	fs := float64(s.Scene.RateHz)
	hall := newTail(Room{Size: Point{14, 11, 6}, DecayS: 1.5}, fs)
	level := 0.55 / math.Sqrt(hall.power(Room{Size: Point{14, 11, 6}, DecayS: 1.5}, fs))
	cuts := make([]*biquad, len(faders))
	for i, f := range faders {
		if f.lowCut > 0 {
			cuts[i] = highpass(f.lowCut, math.Sqrt2/2, fs)
		}
	}
	b := sound.NewBlock(len(s.Scene.Mics), writeFrames)
	out := sound.NewBlock(2, writeFrames)
	send := make([]float32, writeFrames)
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := r.Next(b); err == io.EOF {
			return nil
		}
		n := b.Frames()
		out.Start = b.Start
		out.Resize(n)
		left, right := out.Channels[0], out.Channels[1]
		clear(left)
		clear(right)
		clear(send[:n])
		for i, f := range faders {
			x := b.Channels[i]
			if cuts[i] != nil {
				cuts[i].Filter(x)
			}
			g := unit.Ratio(unit.DB(f.db))
			at := (f.pan + 1) * math.Pi / 4
			addScaled(left, x, float32(g*math.Cos(at)))
			addScaled(right, x, float32(g*math.Sin(at)))
			addScaled(send[:n], x, float32(g*f.send))
		}
		hall.run(send[:n])
		for k := range tailLines {
			g := float32(level / math.Sqrt(tailLines/2))
			if k/2%2 == 1 {
				g = -g
			}
			addScaled(out.Channels[k%2], hall.out[k], g)
		}
		for _, x := range out.Channels {
			for i, v := range x {
				x[i] = float32(math.Tanh(mixGain * float64(v)))
			}
		}
		if err := take(out); err != nil {
			return err
		}
	}
}
