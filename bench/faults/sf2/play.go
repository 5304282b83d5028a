package sf2

import (
	"fmt"
	"math"
)

// Generator numbers used here.
const (
	genStart         = 0
	genEnd           = 1
	genLoopStart     = 2
	genLoopEnd       = 3
	genStartCoarse   = 4
	genEndCoarse     = 12
	genAttack        = 34
	genHold          = 35
	genDecay         = 36
	genSustain       = 37
	genRelease       = 38
	genInstrument    = 41
	genKeys          = 43
	genVelocities    = 44
	genLoopCoarse    = 45
	genAttenuation   = 48
	genLoopEndCoarse = 50
	genCoarseTune    = 51
	genFineTune      = 52
	genSample        = 53
	genModes         = 54
	genScale         = 56
	genRoot          = 58
)

// maxAttackS keeps a bank's slow swells short enough to be a note.
const maxAttackS = 1.5

// covers says whether a zone answers to a key and a velocity. A range holds its
// low end in the low byte and its high end in the high byte.
func (z *zone) covers(key, velocity int) bool {
	in := func(g, v int) bool {
		if !z.has[g] {
			return true
		}
		r := uint16(z.gen[g])
		return v >= int(r&0xff) && v <= int(r>>8)
	}
	return in(genKeys, key) && in(genVelocities, velocity)
}

// region is one sample to sound for a note, with its values settled.
type region struct {
	head int
	gen  [61]float64
}

// regions are the samples that a note of a preset sounds.
func (b *Bank) regions(p preset, key, velocity int) []region {
	var out []region
	for i := range p.layer {
		pz := &p.layer[i]
		in := int(uint16(pz.gen[genInstrument]))
		if !pz.covers(key, velocity) || in >= len(b.insts) {
			continue
		}
		for j := range b.insts[in] {
			iz := &b.insts[in][j]
			head := int(uint16(iz.gen[genSample]))
			if !iz.covers(key, velocity) || head >= len(b.heads) {
				continue
			}
			r := region{head: head}
			for g := range r.gen {
				switch {
				case iz.has[g]:
					r.gen[g] = float64(iz.gen[g])
				case g == genAttack, g == genHold, g == genDecay, g == genRelease:
					r.gen[g] = -12000 // timecents: about 1 ms
				case g == genScale:
					r.gen[g] = 100
				case g == genRoot:
					r.gen[g] = -1
				}
				if pz.has[g] && g != genInstrument && g != genKeys && g != genVelocities {
					r.gen[g] += float64(pz.gen[g])
				}
			}
			out = append(out, r)
		}
	}
	return out
}

// Note is one note of a preset as mono sound of full scale ±1 at rateHz.
//
// key is 0 to 127 (60 is middle C), velocity 1 to 127, held the seconds until
// the key is let go; the sound goes on through its release. Stereo pairs of
// samples are added. An unknown preset or a key without a sample is an error.
func (b *Bank) Note(bank, program, key, velocity int, held float64, rateHz int) ([]float32, error) {
	p, ok := b.find(bank, program)
	if !ok {
		return nil, fmt.Errorf("sf2: no preset %d in bank %d", program, bank)
	}
	rs := b.regions(p, key, velocity)
	if len(rs) == 0 {
		return nil, fmt.Errorf("sf2: preset %q has no sample for key %d at velocity %d", p.name, key, velocity)
	}
	var out []float32
	for _, r := range rs {
		x, err := b.play(r, key, velocity, held, rateHz)
		if err != nil {
			return nil, err
		}
		if len(x) > len(out) {
			x, out = out, x
		}
		for i, v := range x {
			out[i] += v
		}
	}
	return out, nil
}

func seconds(timecents float64) float64 { return math.Exp2(timecents / 1200) }

func (b *Bank) play(r region, key, velocity int, held float64, rateHz int) ([]float32, error) {
	h := b.heads[r.head]
	x, err := b.sound(r.head)
	if err != nil || len(x) < 8 {
		return nil, err
	}
	root := float64(h.key)
	if r.gen[genRoot] >= 0 {
		root = r.gen[genRoot]
	}
	cents := (float64(key)-root)*r.gen[genScale] + float64(h.correction) + 100*r.gen[genCoarseTune] + r.gen[genFineTune]
	step := math.Exp2(cents/1200) * float64(h.rate) / float64(rateHz)
	at := math.Max(0, r.gen[genStart]+32768*r.gen[genStartCoarse])
	end := math.Min(float64(len(x)), float64(len(x))+r.gen[genEnd]+32768*r.gen[genEndCoarse])
	loop0 := float64(h.loopStart) - float64(h.start) + r.gen[genLoopStart] + 32768*r.gen[genLoopCoarse]
	loop1 := float64(h.loopEnd) - float64(h.start) + r.gen[genLoopEnd] + 32768*r.gen[genLoopEndCoarse]
	mode := int(r.gen[genModes]) & 3
	loops := (mode == 1 || mode == 3) && loop0 >= 0 && loop1 > loop0+1 && loop1 <= end

	if loops {
		x = b.seamless(r.head, x, int(loop0), int(loop1))
	}

	attack := math.Min(seconds(r.gen[genAttack]), maxAttackS)
	hold := seconds(r.gen[genHold])
	decay := math.Max(seconds(r.gen[genDecay]), 0.001)    // to 100 dB down
	release := math.Max(seconds(r.gen[genRelease]), 0.03) // likewise
	sustain := math.Min(math.Max(r.gen[genSustain]/10, 0), 100)
	gain := math.Pow(10, -(0.4*r.gen[genAttenuation]/10+40*math.Log10(127/float64(max(velocity, 1))))/20)
	// A soft stroke is darker; the banks do this with modulators.
	cutoff := 1500 * math.Exp2(float64(velocity)/127*4)
	pole := 1 - math.Exp(-2*math.Pi*cutoff/float64(rateHz))

	length := int((held + math.Min(release*0.6, 2.5)) * float64(rateHz))
	out := make([]float32, 0, min(length, 20*rateHz))
	env := envelope{attack, hold, decay, sustain, held, release}
	var from, to float32 = 0, float32(gain * env.at(0))
	dark := float32(0)
	for n := 0; n < length; n++ {
		if n%stepFrames == 0 {
			from, to = to, float32(gain*env.at(float64(n+stepFrames)/float64(rateHz)))
			if n > 0 && float64(n)/float64(rateHz) > attack && from < 1e-5 {
				break
			}
		}
		if loops && at >= loop1 && (mode == 1 || float64(n) < held*float64(rateHz)) {
			for at >= loop1 {
				at -= loop1 - loop0
			}
		}
		if at >= end-2 {
			break
		}
		dark += float32(pole) * (cubic(x, at) - dark)
		out = append(out, dark*(from+(to-from)*float32(n%stepFrames)/stepFrames))
		at += step
	}
	// Banks cut samples where they end; a few milliseconds of fade leave no step.
	for i, n := 0, min(len(out), rateHz/200); i < n; i++ {
		out[len(out)-1-i] *= float32(i) / float32(n)
	}
	return out, nil
}

// seamFrames is how far before its end a loop is faded into what comes before
// its beginning.
const seamFrames = 96

// seamless returns a sample whose loop closes without a step: its last frames
// become what precedes its first.
func (b *Bank) seamless(head int, x []float32, from, to int) []float32 {
	n := min(seamFrames, from, (to-from)/2)
	if n < 2 || to > len(x) {
		return x
	}
	id := [3]int{head, from, to}
	if y, ok := b.loops[id]; ok {
		return y
	}
	y := append([]float32(nil), x...)
	for k := range n {
		f := float32(k+1) / float32(n)
		y[to-n+k] = (1-f)*x[to-n+k] + f*x[from-n+k]
	}
	// The frames past the end, which the interpolator looks at, go on as the loop does.
	for k := 0; k < 3 && to+k < len(y); k++ {
		y[to+k] = x[from+k]
	}
	b.loops[id] = y
	return y
}

// stepFrames is how often the envelope is worked out; between it is a line.
const stepFrames = 32

// envelope is the volume of a note over time: a line up, a pause, a fall in dB
// to where it is held, a fall in dB from there once the key is let go.
type envelope struct{ attack, hold, decay, sustainDB, held, release float64 }

func (e envelope) at(t float64) float64 {
	db, amp := 0.0, 1.0
	switch on := math.Min(t, e.held); {
	case on < e.attack:
		amp = on / e.attack
	case on > e.attack+e.hold:
		db = math.Min(100*(on-e.attack-e.hold)/e.decay, e.sustainDB)
	}
	if t > e.held {
		db += 100 * (t - e.held) / e.release
	}
	return amp * math.Pow(10, -db/20)
}

// cubic reads x between samples with a Hermite curve through four of them.
func cubic(x []float32, at float64) float32 {
	i := int(at)
	f := float32(at - float64(i))
	if i >= 1 && i+2 < len(x) {
		y := x[i-1 : i+3 : i+3]
		a, b, c, d := y[0], y[1], y[2], y[3]
		return b + 0.5*f*(c-a+f*(2*a-5*b+4*c-d+f*(3*(b-c)+d-a)))
	}
	return x[min(max(i, 0), len(x)-1)]
}
