package curve

import (
	"math"
	"math/rand/v2"
	"slices"

	"tidemark/bench/faults/harm"
	"tidemark/bench/faults/stage"
	"tidemark/internal/fourier"
	"tidemark/internal/model"
)

// pairTake is a trial's folder of one pair and the line it is measured on.
type pairTake struct {
	f    *Folder
	a, b int // lines, in the list's order
	l, r []float32
}

// pairOf picks a pair of a sort, with a snare where it is the kit's.
func (t *Take) pairOf(r *rand.Rand, fits func(stage.Line) bool) (pairTake, bool) {
	a, ok := t.one(r, func(l stage.Line) bool {
		return l.Partner > l.Number-1 && l.Plays && l.Feed != stage.Digital && fits(l)
	})
	if !ok {
		return pairTake{}, false
	}
	p := pairTake{a: a, b: t.Lines[a].Partner}
	lines := []int{p.a, p.b}
	if t.Lines[a].Role == "cymbals" {
		snare := slices.IndexFunc(t.Lines, func(l stage.Line) bool { return l.Role == "snare" })
		if snare < 0 || !t.Lines[snare].Plays {
			return pairTake{}, false
		}
		lines = []int{snare, p.a, p.b}
	}
	p.f = t.folder(0, lines...)
	p.l, p.r = slices.Clone(t.sound[p.a]), slices.Clone(t.sound[p.b])
	return p, true
}

// put writes the pair as it has become.
func (p pairTake) put(t *Take) (*Folder, harm.Wound) {
	for _, l := range p.f.lines {
		switch l.Number - 1 {
		case p.a:
			p.f.put(l.File, t.sheet(), p.l)
		case p.b:
			p.f.put(l.File, t.sheet(), p.r)
		}
	}
	return p.f, harm.Wound{Lines: t.named(p.a, p.b), All: true}
}

func stereo(l stage.Line) bool { return l.Pair == "stereo" }

func stereoInstrument(l stage.Line) bool { return stereo(l) && open(l) && l.Role != "cymbals" }

func overheads(l stage.Line) bool { return l.Pair == "stereo" && l.Role == "cymbals" }

func pairCalled(name string) func(stage.Line) bool {
	return func(l stage.Line) bool { return l.Pair == name }
}

// upsideDown turns the second of a pair over, after its sound was mixed with
// foreign sound of its own level: itself, half a take away.
func upsideDown(fits func(stage.Line) bool) OnFolder {
	return func(t *Take, x float64, none bool, r *rand.Rand) (*Folder, harm.Wound, bool) {
		p, ok := t.pairOf(r, fits)
		if !ok {
			return nil, harm.Wound{}, false
		}
		own := math.Sqrt(1 / (1 + math.Pow(10, -x/10)))
		foreign := math.Sqrt(1 - own*own)
		if !none {
			own = -own
		}
		whole := t.sound[p.b]
		for i, v := range whole {
			far := whole[(i+len(whole)/2)%len(whole)]
			p.r[i] = float32(own)*v + float32(foreign)*far
		}
		f, w := p.put(t)
		return f, w, true
	}
}

// quarter is a sound with all its partials a quarter period later (a Hilbert
// transform over the whole, by one Fourier transform).
func quarter(x []float32) []float32 {
	n := 4
	for n < len(x) {
		n *= 2
	}
	tr := fourier.NewReal(n)
	time, bins := make([]float64, n), make([]complex128, tr.Bins())
	for i, v := range x {
		time[i] = float64(v)
	}
	tr.Forward(bins, time)
	for k := range bins {
		bins[k] *= -1i
	}
	bins[0], bins[len(bins)-1] = 0, 0
	tr.Inverse(time, bins)
	out := make([]float32, len(x))
	for i := range out {
		out[i] = float32(time[i])
	}
	return out
}

var pairLadders = []*Ladder{
	{
		Kind: model.KindFlipped, Name: "overheads", Unit: "dB", PerTake: 3, Stops: true, Folder: upsideDown(overheads),
		What:  "The second of two overheads is turned over. So that they agree less and less (the weak end), its sound is mixed with foreign sound; the strength is its own sound over the foreign. Without the fault: mixed as at the first step, and not turned over.",
		Steps: []float64{-20, -12, -9, -6, -3, 0, 6, 40},
	},
	{
		Kind: model.KindFlipped, Name: "stereo pairs on an instrument", Unit: "dB", PerTake: 3, Stops: true, Folder: upsideDown(stereoInstrument),
		What:  "The same with the two microphones on a piano, an organ, a choir or a fretted instrument; some of these have few hits or none.",
		Steps: []float64{-20, -12, -6, -3, 0, 6, 40},
	},
	{
		Kind: model.KindFlipped, Name: "top and bottom of a snare", Unit: "dB", PerTake: 4, Stops: true, Folder: upsideDown(pairCalled("top bottom")),
		What:  "The same with the lower microphone of a snare, which ought to be flipped at the preamp and is not.",
		Steps: []float64{-20, -12, -9, -6, -3, 0, 6, 40},
	},
	{
		Kind: model.KindLate, Name: "overheads", Unit: "ms", Log: true, PerTake: 3,
		What:  "One of two overheads, which reach the snare within 2 cm, is delayed by so much: 0.021 ms are a sample at 48 kHz.",
		Steps: []float64{0.0104, 0.0208, 0.05, 0.08, 0.1, 0.12, 0.16, 0.2, 0.5, 1, 2.08},
		Folder: func(t *Take, x float64, none bool, r *rand.Rand) (*Folder, harm.Wound, bool) {
			p, ok := t.pairOf(r, overheads)
			if !ok {
				return nil, harm.Wound{}, false
			}
			side := p.l
			if r.IntN(2) == 0 {
				side = p.r
			}
			if !none {
				harm.Delay(side, x/1000*float64(t.RateHz))
			}
			f, w := p.put(t)
			return f, w, true
		},
	},
	{
		Kind: model.KindMonoLoss, Name: "stereo pairs", Unit: "dB", PerTake: 3,
		What:  "The right of a stereo pair becomes the left with all partials turned so far in phase that the sum to mono loses so much (two unrelated sounds lose 3 dB). Where it is told as upside down, it is found as well.",
		Steps: []float64{0, -2, -3, -3.5, -4.5, -6, -12, -20},
		Folder: func(t *Take, x float64, none bool, r *rand.Rand) (*Folder, harm.Wound, bool) {
			p, ok := t.pairOf(r, stereo)
			if !ok {
				return nil, harm.Wound{}, false
			}
			if !none {
				rho := 2*math.Pow(10, x/10) - 1
				turned := t.quart[p.a]
				if turned == nil {
					turned = quarter(p.l)
					t.quart[p.a] = turned
				}
				for i, v := range p.l {
					p.r[i] = float32(rho)*v + float32(math.Sqrt(1-rho*rho))*turned[i]
				}
			}
			f, w := p.put(t)
			w.Accept = []model.Kind{model.KindFlipped}
			return f, w, true
		},
	},
	{
		Kind: model.KindMonoLoss, Name: "low end of in and out", Unit: "ms", Log: true, PerTake: 4,
		What:  "The outer microphone of a kick is delayed by so much: half a period is 8 ms at 63 Hz and 4 ms at 125 Hz.",
		Steps: []float64{0.1, 0.5, 1, 2, 3, 4, 6, 8},
		Folder: func(t *Take, x float64, none bool, r *rand.Rand) (*Folder, harm.Wound, bool) {
			p, ok := t.pairOf(r, pairCalled("in out"))
			if !ok {
				return nil, harm.Wound{}, false
			}
			if !none {
				harm.Delay(p.r, x/1000*float64(t.RateHz))
			}
			f, w := p.put(t)
			w.Accept = []model.Kind{model.KindFlipped}
			return f, w, true
		},
	},
	{
		Kind: model.KindSwapped, Name: "with a line check", Unit: "dB", Stops: true, Folder: swapped,
		What:  "Two of four microphones carry each other's sound, in the take and in the line check. The strength is how far each of the two hears the other's source under its own in the line check; at 0 dB nobody could tell, and under it the swapped lines look right. Without the fault: at 3 dB, and not swapped.",
		Steps: []float64{-6, -2, 0, 1, 2, 3, 4, 6, 40},
	},
	{
		Kind: model.KindSwapped, Name: "take alone, kick and hi-hat", Unit: "swap", PerTake: 3,
		What:  "The files of the kick and the hi-hat are exchanged, and there is no line check.",
		Steps: []float64{1},
		Folder: func(t *Take, _ float64, none bool, _ *rand.Rand) (*Folder, harm.Wound, bool) {
			find := func(role string) int {
				return slices.IndexFunc(t.Lines, func(l stage.Line) bool { return l.Role == role && l.Plays })
			}
			lines := []int{find("kick"), find("snare"), find("hat")}
			if slices.Contains(lines, -1) {
				return nil, harm.Wound{}, false
			}
			f := t.folder(0, lines...)
			if !none {
				f.exchange(f.lines[0].File, f.lines[2].File)
			}
			return f, harm.Wound{Lines: t.named(lines[0], lines[2]), All: true}, true
		},
	},
}

// exchange gives two files each other's bytes.
func (f *Folder) exchange(a, b string) { f.bytes[a], f.bytes[b] = f.bytes[b], f.bytes[a] }

// some picks n lines that fit, in the list's order.
func (t *Take) some(r *rand.Rand, n int, fits func(stage.Line) bool) ([]int, bool) {
	var at []int
	for i, l := range t.Lines {
		if fits(l) {
			at = append(at, i)
		}
	}
	if len(at) < n {
		return nil, false
	}
	r.Shuffle(len(at), func(a, b int) { at[a], at[b] = at[b], at[a] })
	at = at[:n]
	slices.Sort(at)
	return at, true
}

// swapped crosses two of four lines, and first mixes them in the line check.
func swapped(t *Take, x float64, none bool, r *rand.Rand) (*Folder, harm.Wound, bool) {
	lines, ok := t.some(r, 4, func(l stage.Line) bool { return openAndPlays(l) && l.Partner < 0 && !t.shared(l) })
	if !ok {
		return nil, harm.Wound{}, false
	}
	if none {
		x = 3
	}
	pick := r.Perm(4)
	a, b := lines[pick[0]], lines[pick[1]]
	f := t.folder(shortTakeS*t.RateHz, lines...)
	f.alone = newFolder("line check", f.lines)
	// turns[k][i] is what line lines[i] holds while lines[k] has its turn.
	var turns [4][4][]float32
	for k, turn := range lines {
		for i, l := range lines {
			if folder := t.TurnFolder(turn); folder != "" {
				turns[k][i] = slices.Clone(t.alone[folder+"/"+t.Lines[l].File][0])
			} else {
				turns[k][i] = slices.Clone(t.Turn(t.alone[t.Lines[l].File][0], turn))
			}
		}
	}
	ka, kb := slices.Index(lines, a), slices.Index(lines, b)
	level := func(k int) float64 { return harm.Listen(turns[k][k], t.RateHz).Loud() }
	if level(ka) == 0 || level(kb) == 0 {
		return nil, harm.Wound{}, false
	}
	toA := float32(ratio(-x) * level(ka) / level(kb))
	toB := float32(ratio(-x) * level(kb) / level(ka))
	for k := range turns {
		for i := range turns[k][ka] {
			va, vb := turns[k][ka][i], turns[k][kb][i]
			turns[k][ka][i], turns[k][kb][i] = va+toA*vb, vb+toB*va
		}
	}
	var whole [4][]float32
	for k, turn := range lines {
		for i := range lines {
			whole[i] = append(whole[i], turns[k][i]...)
			if folder := t.TurnFolder(turn); folder != "" {
				f.alone.put(folder+"/"+f.lines[i].File, t.sheet(), turns[k][i])
			}
		}
	}
	if t.TurnFolder(a) == "" {
		for i := range lines {
			f.alone.put(f.lines[i].File, t.sheet(), whole[i])
		}
	}
	if !none {
		fa, fb := f.lines[ka].File, f.lines[kb].File
		f.exchange(fa, fb)
		if t.TurnFolder(a) == "" {
			f.alone.exchange(fa, fb)
		} else {
			for _, turn := range lines {
				f.alone.exchange(t.TurnFolder(turn)+"/"+fa, t.TurnFolder(turn)+"/"+fb)
			}
		}
	}
	return f, harm.Wound{Lines: t.named(a, b), All: true}, true
}
