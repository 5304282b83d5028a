package band

import "math"

// tailLines is how many delays the late field of a room runs round in.
const tailLines = 8

// tail is the diffuse field of a room: a feedback delay network whose eight
// lines are mixed by a Hadamard matrix. Its eight outputs are unlike each
// other; every microphone hears a sum of its own of them.
type tail struct {
	lines [tailLines][]float32
	at    [tailLines]int
	loss  [tailLines]float32 // what a line leaves each time round, for the decay time
	dull  [tailLines]float32
	soft  float32
	faint int                  // frames since anything worth a number went round
	still bool                 // and so it stands until the next sound
	out   [tailLines][]float32 // the block that has just been run
}

// tailMs are the delays in ms for a room of 200 m³, without a common measure.
var tailMs = [tailLines]float64{19.1, 22.7, 26.3, 29.9, 34.7, 38.9, 43.3, 47.9}

func newTail(r Room, fs float64) *tail {
	t := &tail{}
	scale := math.Cbrt(r.Size.X * r.Size.Y * r.Size.Z / 200)
	for i := range t.lines {
		s := max(0.002, tailMs[i]/1000*scale)
		t.lines[i] = make([]float32, int(s*fs)|1)
		t.loss[i] = float32(math.Pow(10, -3*s/r.DecayS))
	}
	// Treble dies sooner: one pole at 5 kHz in each round (common practice).
	t.soft = float32(math.Exp(-2 * math.Pi * math.Min(5000, 0.4*fs) / fs))
	return t
}

// run sends in through the network; t.out holds the result until the next run.
func (t *tail) run(in []float32) {
	if t.still {
		for _, x := range in {
			if x != 0 {
				t.still = false
				break
			}
		}
	}
	for i := range t.out {
		if cap(t.out[i]) < len(in) {
			t.out[i] = make([]float32, len(in))
		}
		t.out[i] = t.out[i][:len(in)]
	}
	if t.still {
		for i := range t.out {
			clear(t.out[i])
		}
		return
	}
	loudest := float32(0)
	for n, x := range in {
		var v [tailLines]float32
		for i := range v {
			v[i] = t.lines[i][t.at[i]]
			t.out[i][n] = v[i]
			t.dull[i] += (1 - t.soft) * (v[i] - t.dull[i])
			v[i] = t.dull[i] * t.loss[i]
		}
		// Hadamard's matrix in three rounds of sums and differences.
		a0, a1, a2, a3 := v[0]+v[4], v[1]+v[5], v[2]+v[6], v[3]+v[7]
		a4, a5, a6, a7 := v[0]-v[4], v[1]-v[5], v[2]-v[6], v[3]-v[7]
		b0, b1, b2, b3 := a0+a2, a1+a3, a0-a2, a1-a3
		b4, b5, b6, b7 := a4+a6, a5+a7, a4-a6, a5-a7
		v = [tailLines]float32{b0 + b1, b0 - b1, b2 + b3, b2 - b3, b4 + b5, b4 - b5, b6 + b7, b6 - b7}
		for i := range v {
			y := v[i]*0.35355339 + x // 1/√8 keeps the energy
			t.lines[i][t.at[i]] = y
			loudest = max(loudest, y, -y)
			if t.at[i]++; t.at[i] == len(t.lines[i]) {
				t.at[i] = 0
			}
		}
	}
	if t.faint += len(in); loudest > 1e-14 {
		t.faint = 0
	}
	if t.faint > 2*len(t.lines[tailLines-1]) {
		t.still = true
		for i := range t.lines {
			clear(t.lines[i])
		}
		t.dull = [tailLines]float32{}
	}
}

// power is the energy that one output answers a unit impulse with.
func (t *tail) power(r Room, fs float64) float64 {
	probe := newTail(r, fs)
	in := make([]float32, int(1.5*r.DecayS*fs)+1)
	in[0] = 1
	probe.run(in)
	sum := 0.0
	for i := range probe.out {
		for _, v := range probe.out[i] {
			sum += float64(v) * float64(v)
		}
	}
	return sum / tailLines
}
