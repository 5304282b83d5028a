package band

import "math"

// throat is one singer: how high the formants lie, how the folds work.
type throat struct {
	scale   float64 // formants re the table of women's voices
	breathy float64
	vibrato float64 // cents
	rateHz  float64 // of the vibrato
	ring    float64 // the singer's or speaker's edge at 3 kHz, dB
	level   float64 // RMS of a plain phrase, pascal at 1 m
	spoken  bool    // the pitch falls through the phrase, no vibrato
}

// span is a stretch of a phrase in which the throat aims at one shape.
type span struct {
	start, end float64
	ph         phone
	hz         float64
	level      float64
	age        float64 // when the note began, for the vibrato
	closed     bool
}

// lay turns syllables into spans; seconds gives the time of a beat re the
// phrase's own start. A vowel begins on its beat and consonants come before.
func lay(words []syllable, seconds func(beat float64) float64, d dice, spoken bool) []span {
	var out []span
	aim := func(p, vowel phone) phone {
		if p.f1 == 0 {
			p.f1, p.f2, p.f3 = vowel.f1, vowel.f2, vowel.f3
		}
		return p
	}
	for i, w := range words {
		v := phones[w.vowel]
		hz := midiHz(w.midi) * math.Pow(2, d.near(0, 5)/1200)
		level := d.between(0.88, 1.08)
		if w.shout > 0 {
			level *= w.shout
		}
		on := seconds(w.beat)
		off := seconds(w.beat + w.beats)
		if i+1 < len(words) && words[i+1].beat-w.beat-w.beats < 0.05 {
			for _, c := range words[i+1].before {
				off -= phones[c].lastsS
			}
		}
		t := on
		for k := len(w.before) - 1; k >= 0; k-- {
			p := aim(phones[w.before[k]], v)
			from := t - p.lastsS
			if p.stop {
				mid := from + 0.7*p.lastsS
				out = append(out, span{mid, t, p, hz, level, on, false}, span{from, mid, p, hz, level, on, true})
			} else {
				out = append(out, span{from, t, p, hz, level, on, false})
			}
			t = from
		}
		tail := 0.0
		for _, c := range w.after {
			tail += phones[c].lastsS
		}
		end := max(on+0.06, off-tail)
		if v.glideTo != "" {
			turn := on + 0.62*(end-on)
			to := phones[v.glideTo]
			out = append(out, span{on, turn, v, hz, level, on, false}, span{turn, end, to, hz, level * 0.9, on, false})
		} else {
			out = append(out, span{on, end, v, hz, level, on, false})
		}
		t = end
		for _, c := range w.after {
			p := aim(phones[c], v)
			if p.stop {
				mid := t + 0.7*p.lastsS
				out = append(out, span{t, mid, p, hz, level * 0.8, on, true}, span{mid, t + p.lastsS, p, hz, level * 0.7, on, false})
			} else {
				out = append(out, span{t, t + p.lastsS, p, hz, level * 0.85, on, false})
			}
			t += p.lastsS
		}
	}
	if spoken {
		first, last := out[0].start, out[len(out)-1].end
		for i := range out {
			out[i].hz *= 1.12 - 0.28*(out[i].start-first)/max(0.1, last-first)
		}
	}
	// In order of time; consonants were laid backwards.
	for i := 1; i < len(out); i++ {
		for j := i; j > 0 && out[j].start < out[j-1].start; j-- {
			out[j], out[j-1] = out[j-1], out[j]
		}
	}
	return out
}

// formant is a resonator of gain 1 at 0 Hz.
type formant struct{ a, b, c, y1, y2 float64 }

func (f *formant) tune(hz, width, fs float64) {
	f.c = -math.Exp(-2 * math.Pi * width / fs)
	f.b = 2 * math.Exp(-math.Pi*width/fs) * math.Cos(2*math.Pi*hz/fs)
	f.a = 1 - f.b - f.c
}

func (f *formant) next(x float64) float64 {
	y := f.a*x + f.b*f.y1 + f.c*f.y2
	f.y1, f.y2 = y, f.y1
	return y
}

// phrase sings spans: a pulse train of the folds and noise through seven
// formants in a row, hiss beside them. The sound begins leadS before the first
// beat, with a breath.
func (th throat) phrase(d dice, fs float64, spans []span, leadS float64, breathIn bool) []float32 {
	const tick = 48 // samples between turns of the knobs
	last := spans[len(spans)-1].end
	x := frames(leadS+last+0.15, fs)
	emphasis := make([]float32, len(x))

	var tract [7]formant
	glottal := glottis{}
	h, hs := d.hiss(), d.hiss()
	teeth := bandpass(6000, 1, fs)
	lips := newOnePole(8000*th.scale, fs)
	bite := highpass(2400, 0.7, fs)
	air := highpass(4200, 0.7, fs)
	edge := bell(3000*th.scale, 1.6, th.ring, fs)
	low := highpass(90, 0.7, fs)

	f := [3]float64{500, 1500, 2700}
	hz, voice, breath, hissing := spans[0].hz*0.97, 0.0, 0.0, 0.0
	k, drift, vibPhase, emph := 0, 0.0, d.Float64(), 1.0
	var teethHz float64
	f0 := hz
	slow := 1 - decay(0.016, fs/tick) // formants
	quick := 1 - decay(0.006, fs/tick)
	bend := 1 - decay(0.030, fs/tick) // pitch
	var toVoice, toBreath, toHiss float64
	for i := range x {
		if i%tick == 0 {
			t := float64(i)/fs - leadS
			for k+1 < len(spans) && t >= spans[k+1].start {
				k++
			}
			s := spans[k]
			in := t >= s.start && t < s.end
			toVoice, toBreath, toHiss = 0, 0, 0
			if in && !s.closed {
				toVoice, toBreath, toHiss = s.ph.voice*s.level, s.ph.breath*0.25, s.ph.hiss
				toBreath += th.breathy * toVoice
			} else if in {
				toVoice = s.ph.voice * 0.5
			}
			if breathIn && t > -leadS+0.02 && t < spans[0].start-0.10 {
				u := (t + leadS) / (leadS + spans[0].start - 0.08)
				toBreath = 0.16 * math.Sin(math.Pi*math.Min(1, u))
			}
			if in || k == 0 {
				for j, target := range [3]float64{s.ph.f1, s.ph.f2, s.ph.f3} {
					f[j] += slow * (target*th.scale - f[j])
				}
				hz += bend * (s.hz - hz)
				emph += quick * (max(1, s.level) - emph)
				if s.ph.hiss > 0 && s.ph.hissHz != teethHz {
					teethHz = s.ph.hissHz
					n := bandpass(teethHz, s.ph.hissQ, fs)
					n.z1, n.z2 = teeth.z1, teeth.z2
					teeth = n
				}
			}
			voice += quick * (toVoice - voice)
			breath += quick * (toBreath - breath)
			hissing += quick * (toHiss - hissing)
			drift = 0.97*drift + d.near(0, 0.9)
			vibPhase += th.rateHz * tick / fs * (1 + 0.02*d.NormFloat64())
			depth := th.vibrato * max(0, min(1, (t-s.age-0.22)/0.35))
			f0 = hz * math.Pow(2, (drift+depth*math.Sin(2*math.Pi*vibPhase))/1200)
			// A singer opens the mouth so that the first formant is not below the note.
			f1 := max(f[0], 1.08*f0)
			nasal := 1.0
			if s.ph.nasal && in {
				nasal = 2.2
			}
			tract[0].tune(f1, (60+0.05*f1)*nasal, fs)
			tract[1].tune(max(f[1], f1+180), 90*nasal, fs)
			tract[2].tune(max(f[2], f[1]+250), 130*nasal, fs)
			tract[3].tune(4100*th.scale, 220, fs)
			tract[4].tune(5100*th.scale, 320, fs)
			tract[5].tune(6600*th.scale, 500, fs)
			tract[6].tune(8500*th.scale, 800, fs)
		}
		g := glottal.next(f0, fs)
		n := h.next()
		flow := voice * lips.next(g)
		in := flow + 0.35*breath*n*(0.6+0.4*math.Abs(g))
		for j := range tract {
			in = tract[j].next(in)
		}
		// A plain row of formants leaves dark vowels darker than a throat does.
		in += 2.2 * bite.next(flow)
		x[i] = float32(low.next(edge.next(in) + 0.5*hissing*teeth.next(hs.next()) + 0.035*voice*(1+2*th.breathy)*math.Abs(g)*air.next(n)))
		emphasis[i] = float32(emph)
	}
	// The level of a plain phrase is what the singer means it to be: vowels are
	// made equal as a mouth and an ear make them. A shout stands above.
	sum, loud := 0.0, 0
	for i, v := range x {
		p := float64(v) / float64(emphasis[i])
		if p*p > 1e-6 {
			sum += p * p
			loud++
		}
	}
	gain := float32(th.level / math.Sqrt(sum/float64(max(1, loud))+1e-12))
	for i := range x {
		x[i] *= gain
	}
	fadeOut(x, 0.02, fs)
	return x
}

// glottis gives the change of air flow through the folds: open for 60 % of a
// period, flow rising as 2t² − … and shutting sharply (Klatt's KLGLOTT88 shape,
// from memory), the corner rounded so that it does not alias.
type glottis struct{ phase float64 }

const openShare = 0.6

func (g *glottis) next(hz, fs float64) float64 {
	step := hz / fs
	g.phase += step
	if g.phase >= 1 {
		g.phase--
	}
	u := g.phase / openShare
	y := 0.0
	if u < 1 {
		y = 2*u - 3*u*u
	}
	// The jump from −1 to 0 at closing, band-limited over two samples.
	if d := g.phase - openShare; d >= 0 && d < step {
		t := 1 - d/step
		y -= 0.5 * t * t
	} else if d < 0 && d > -step {
		t := 1 + d/step
		y += 0.5 * t * t
	}
	return y
}
