package stage

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"tidemark/bench/faults/material"
)

// Styles are the kinds of session, each with its own traps for a fault finder.
var Styles = []string{
	"rock",       // busy kit, amplifiers, voices
	"ballad",     // sparse, long silences, quiet lines
	"percussion", // transients only
	"spoken",     // one or two voices, gaps
	"sustained",  // organ, strings and choir that never pause
	"picked",     // plucked strings with finger squeaks
	"machine",    // playback and keys fed digitally: exact zeros where they are silent
	"brass",      // a small band with winds
}

// stageBuilder gathers sources and lines.
type stageBuilder struct {
	r     *rand.Rand
	store *material.Store
	s     *Session
	song  *song
}

// Build invents a session. An empty style picks one; seconds is its length.
func Build(store *material.Store, seed uint64, style string, seconds float64, rateHz, bits int) *Session {
	r := rand.New(rand.NewPCG(seed, 0x71de))
	if style == "" {
		style = Styles[r.IntN(len(Styles))]
	}
	s := &Session{Seed: seed, Style: style, RateHz: rateHz, Bits: bits, Frames: int(seconds * float64(rateHz))}
	density := map[string]float64{"rock": 0.95, "ballad": 0.35, "sustained": 1, "picked": 0.8}[style]
	if density == 0 {
		density = 0.7
	}
	b := &stageBuilder{r: r, store: store, s: s}
	b.song = newSong(r, rateHz, seconds, density, style == "ballad" || style == "sustained")
	s.names = newNaming(r)
	switch style {
	case "rock":
		b.kit(true)
		b.bass()
		b.chords("electric", "strum", 2)
		b.voices(1+r.IntN(3), 0.6, 0.5)
	case "ballad":
		b.kit(r.Float64() < 0.5)
		b.bass()
		b.chords("piano", "pick", 1)
		b.chords("acoustic", "pick", 1)
		b.melodies("strings", 1)
		b.voices(1, 0.5, 1.5)
	case "percussion":
		b.kit(r.Float64() < 0.5)
		b.percussion(3 + r.IntN(4))
		b.melodies("mallets", 1)
	case "spoken":
		b.voices(1+r.IntN(3), 0.95, 0.7)
		b.chords("piano", "hold", r.IntN(2))
	case "sustained":
		b.chords("organ", "hold", 1)
		b.chords("accordion", "hold", 1)
		b.chords("choir", "hold", 1)
		b.melodies("strings", 2)
		b.bass()
	case "picked":
		b.chords("acoustic", "pick", 2)
		b.chords("acoustic", "strum", 1)
		b.bass()
		b.melodies("mallets", 1)
		b.percussion(1)
		b.voices(1, 0.5, 0.8)
	case "machine":
		b.kit(false)
		b.machines(2 + r.IntN(2))
		b.bass()
		b.chords("epiano", "stab", 1)
		b.voices(1, 0.6, 0.8)
	case "brass":
		b.kit(true)
		b.bass()
		b.chords("electric", "stab", 1)
		b.melodies("winds", 2+r.IntN(3))
		b.chords("accordion", "hold", 1)
		b.percussion(1)
	}
	if r.Float64() < 0.35 {
		b.talkback()
	}
	b.settle()
	return s
}

func (b *stageBuilder) blank() []float32 { return make([]float32, b.s.Frames) }

// spot is somewhere in the room, away from the kit.
func (b *stageBuilder) spot() place {
	return place{3 + 4*b.r.Float64(), 1 + 5*b.r.Float64(), 0.8 + 0.6*b.r.Float64()}
}

func (b *stageBuilder) source(name, role string, at place, loud float64, space int, x []float32) int {
	b.s.sources = append(b.s.sources, source{name, role, at, loud, space, normal(x)})
	return len(b.s.sources) - 1
}

// normal scales to peak 1; silence stays.
func normal(x []float32) []float32 {
	var peak float32
	for _, v := range x {
		peak = max(peak, v, -v)
	}
	if peak > 0 {
		for i := range x {
			x[i] /= peak
		}
	}
	return x
}

// uniform is a value between a and b.
func (b *stageBuilder) uniform(lo, hi float64) float64 { return lo + (hi-lo)*b.r.Float64() }

// line adds one on a source with the usual spread of noise and level.
func (b *stageBuilder) line(source string, mic string, own int, feed Feed, near float64) *Line {
	src := b.s.sources[own]
	angle := 2 * math.Pi * b.r.Float64()
	l := Line{
		Number: len(b.s.Lines) + 1, Source: source, Mic: mic, Role: src.role, Feed: feed, Partner: -1, own: own,
		at:        place{src.at.x + near*math.Cos(angle)*0.8, src.at.y + near*math.Sin(angle)*0.8, src.at.z + near*0.6},
		peakDBFS:  b.uniform(-15, -5),
		noiseDBFS: b.uniform(-86, -74), roomNoise: b.uniform(-84, -70),
		reverb: 1, cut: b.uniform(14000, 19000), low: b.uniform(15, 45), signs: uint8(b.r.UintN(256)),
	}
	switch feed {
	case Direct:
		l.noiseDBFS, l.roomNoise, l.reverb = b.uniform(-94, -80), 0, 0
		l.humDBFS = b.uniform(-100, -84)
	case Digital:
		l.noiseDBFS, l.roomNoise, l.reverb = 0, 0, 0
	case Air:
		if b.r.Float64() < 0.15 {
			l.humDBFS = b.uniform(-98, -86)
		}
	}
	b.s.Lines = append(b.s.Lines, l)
	return &b.s.Lines[len(b.s.Lines)-1]
}

// pair marks the last two lines as belonging together.
func (b *stageBuilder) pair(kind string) {
	n := len(b.s.Lines)
	b.s.Lines[n-2].Partner, b.s.Lines[n-1].Partner = n-1, n-2
	b.s.Lines[n-2].Pair, b.s.Lines[n-1].Pair = kind, kind
}

var dynamics = []string{"Dorn 7", "Dorn 9 Bass", "Kessel D", "Halm 12"}
var condensers = []string{"Lume C1", "Lume C4", "Arve 30", "Tarn S", "Tarn L"}

func (b *stageBuilder) dynamic() string   { return dynamics[b.r.IntN(len(dynamics))] }
func (b *stageBuilder) condenser() string { return condensers[b.r.IntN(len(condensers))] }

// kit puts a drum kit on the floor; full has toms, two heads on the snare and a
// room pair.
func (b *stageBuilder) kit(full bool) {
	k := b.store.Kits[b.r.IntN(len(b.store.Kits))]
	parts := map[string][]float32{"kick": b.blank(), "snare": b.blank(), "hat": b.blank(), "cymbals": b.blank()}
	toms := 0
	for i, t := range []string{"tom 1", "tom 2", "tom 3"} {
		if full && k[t] != nil {
			parts[t], toms = b.blank(), i+1
		}
	}
	b.song.playDrums(k, parts)
	snareAt := place{2, 2, 0.6}
	kick := b.source("Kick", "kick", place{2, 1.3, 0.3}, 1, 0, parts["kick"])
	snare := b.source("Snare", "snare", snareAt, 0.9, 0, parts["snare"])
	hat := b.source("Hi-hat", "hat", place{2.5, 1.9, 0.9}, 0.3, 0, parts["hat"])
	cymbals := b.source("Cymbals", "cymbals", place{1.7, 1.4, 1.2}, 0.55, 0, parts["cymbals"])
	l := b.line("Kick in", b.dynamic(), kick, Air, 0.12)
	l.peakDBFS, l.noiseDBFS, l.cut = b.uniform(-9, -4), b.uniform(-88, -80), 12000
	if full {
		l.at.y = 1.25
		l = b.line("Kick out", b.condenser(), kick, Air, 0.45)
		l.at, l.cut, l.peakDBFS = place{2, 0.85, 0.35}, 6000, b.uniform(-10, -5)
		b.pair("in out")
	}
	l = b.line("Snare top", b.dynamic(), snare, Air, 0.07)
	l.peakDBFS = b.uniform(-8, -4)
	if full {
		l = b.line("Snare bottom", b.condenser(), snare, Air, 0.09)
		l.wires, l.low = b.uniform(0.2, 0.5), 120
		b.pair("top bottom")
	}
	if full || b.r.Float64() < 0.6 {
		b.line("Hi-hat", b.condenser(), hat, Air, 0.2).low = 200
	}
	for i := range toms {
		name := fmt.Sprintf("tom %d", i+1)
		if parts[name] == nil {
			continue
		}
		t := b.source(fmt.Sprintf("Tom %d", i+1), "tom", place{1.6 - 0.35*float64(i), 1.6 - 0.3*float64(i), 0.8 - 0.1*float64(i)}, 0.85, 0, parts[name])
		b.line(fmt.Sprintf("Tom %d", i+1), b.dynamic(), t, Air, 0.08).peakDBFS = b.uniform(-11, -5)
	}
	// Both overheads measured to the snare: equal within two centimetres.
	// The kit hears them as a pair; the own source is the cymbals.
	d := b.uniform(0.9, 1.2)
	for i, side := range []string{"L", "R"} {
		l = b.line("Overhead "+side, b.condenser(), cymbals, Air, 0.5)
		x := b.uniform(0.4, 0.6)
		if i == 1 {
			x = -x
		}
		reach := d + b.uniform(-0.01, 0.01)
		l.at = place{snareAt.x + x, snareAt.y, snareAt.z + math.Sqrt(reach*reach-x*x)}
		l.peakDBFS, l.noiseDBFS, l.low = b.uniform(-12, -7), b.uniform(-80, -72), 30
		if i == 1 {
			l.Mic, l.peakDBFS, l.noiseDBFS = b.s.Lines[len(b.s.Lines)-2].Mic, b.s.Lines[len(b.s.Lines)-2].peakDBFS, b.s.Lines[len(b.s.Lines)-2].noiseDBFS
		}
	}
	b.pair("stereo")
	if full && b.r.Float64() < 0.6 {
		for i, side := range []string{"L", "R"} {
			l = b.line("Room "+side, b.condenser(), cymbals, Air, 3)
			l.at = place{2 + float64(2*i-1)*1.2, 5 + 0.4*b.r.Float64(), 1.6}
			l.reverb, l.peakDBFS = 1.6, b.uniform(-14, -9)
		}
		b.pair("room")
	}
}

func (b *stageBuilder) pick(role string) (material.Tuned, bool) {
	all := b.store.Tuned[role]
	if len(all) == 0 {
		return material.Tuned{}, false
	}
	return all[b.r.IntN(len(all))], true
}

// unique gives a second source of a name a number or a space of its own.
func (b *stageBuilder) unique(name string) string {
	n := 1
	for _, s := range b.s.sources {
		if s.name == name || len(s.name) > len(name) && s.name[:len(name)+1] == name+" " {
			n++
		}
	}
	if n == 1 {
		return name
	}
	return fmt.Sprintf("%s %d", name, n)
}

func (b *stageBuilder) bass() {
	t, ok := b.pick("bass")
	if !ok {
		return
	}
	x := b.blank()
	b.song.playBass(x, t)
	own := b.source("Bass", "bass", b.spot(), 0.6, 1, x)
	l := b.line("Bass DI", "DI", own, Direct, 0.1)
	l.peakDBFS = b.uniform(-14, -7)
	if b.r.Float64() < 0.5 {
		l = b.line("Bass amp", b.dynamic(), own, Air, 0.3)
		l.cut, l.drive = 5000, b.uniform(0.5, 2)
		l.noiseDBFS = b.uniform(-74, -62)
		b.pair("di amp")
	}
}

func (b *stageBuilder) chords(role, how string, n int) {
	loud := map[string]float64{"electric": 0.7, "acoustic": 0.1, "piano": 0.25, "organ": 0.35, "accordion": 0.2, "choir": 0.15, "epiano": 0.3}[role]
	for range n {
		t, ok := b.pick(role)
		if !ok {
			return
		}
		x := b.blank()
		b.song.playChords(x, t, how, role == "acoustic")
		name := b.unique(t.Name)
		if role == "electric" {
			own := b.source(name, role, b.spot(), loud, 2, x)
			l := b.line(name+" amp", b.dynamic(), own, Air, 0.1)
			l.noiseDBFS, l.cut = b.uniform(-70, -56), b.uniform(5000, 9000)
			l.humDBFS = b.uniform(-95, -80)
			continue
		}
		space := 0
		if b.r.Float64() < 0.7 {
			space = 3 + len(b.s.sources)
		}
		own := b.source(name, role, b.spot(), loud, space, x)
		switch {
		case role == "epiano":
			for _, side := range []string{" L", " R"} {
				b.line(name+side, "DI", own, Direct, 0.1)
			}
			b.pair("stereo")
		case role == "piano" || role == "choir" || b.r.Float64() < 0.4:
			src := b.s.sources[own].at
			d := b.uniform(0.3, 0.6)
			for i, side := range []string{" L", " R"} {
				l := b.line(name+side, b.condenser(), own, Air, d)
				l.at = place{src.x + float64(2*i-1)*d*0.6, src.y + d*0.8 + b.uniform(-0.01, 0.01), src.z + 0.2}
				l.noiseDBFS = b.uniform(-80, -70)
			}
			b.pair("stereo")
		default:
			b.line(name, b.condenser(), own, Air, b.uniform(0.15, 0.4)).noiseDBFS = b.uniform(-80, -68)
		}
	}
}

func (b *stageBuilder) melodies(role string, n int) {
	loud := map[string]float64{"winds": 0.5, "strings": 0.15, "mallets": 0.2}[role]
	for range n {
		t, ok := b.pick(role)
		if !ok {
			return
		}
		x := b.blank()
		b.song.playMelody(x, t)
		name := b.unique(t.Name)
		space := 0
		if b.r.Float64() < 0.5 {
			space = 3 + len(b.s.sources)
		}
		own := b.source(name, role, b.spot(), loud, space, x)
		b.line(name, b.condenser(), own, Air, b.uniform(0.2, 0.6)).noiseDBFS = b.uniform(-80, -68)
	}
}

func (b *stageBuilder) percussion(n int) {
	for range n {
		h := b.store.Percussion[b.r.IntN(len(b.store.Percussion))]
		x := b.blank()
		b.song.playPercussion(x, h.Player)
		name := b.unique(h.Name)
		own := b.source(name, "percussion", b.spot(), 0.4, 0, x)
		b.line(name, b.condenser(), own, Air, b.uniform(0.15, 0.4))
	}
}

func (b *stageBuilder) voices(n int, share, gap float64) {
	names := []string{"Vox", "Lead vocal", "LV", "Voice"}
	first := names[b.r.IntN(len(names))]
	for i := range n {
		x := b.blank()
		b.song.playVoice(x, b.store.Voices[b.r.IntN(len(b.store.Voices))], share, gap)
		name := first
		if i > 0 {
			name = fmt.Sprintf("BV %d", i)
		}
		own := b.source(name, "voice", b.spot(), 0.15, 3+len(b.s.sources), x)
		l := b.line(name, b.condenser(), own, Air, b.uniform(0.08, 0.25))
		l.noiseDBFS, l.low = b.uniform(-82, -72), b.uniform(30, 80)
	}
}

// machines are lines of a playback machine or keys with a digital output.
func (b *stageBuilder) machines(n int) {
	for i := range n {
		roles := []string{"epiano", "organ", "strings", "mallets", "bass"}
		t, ok := b.pick(roles[b.r.IntN(len(roles))])
		if !ok {
			continue
		}
		x := b.blank()
		if i%2 == 0 {
			b.song.playChords(x, t, []string{"stab", "hold", "pick"}[b.r.IntN(3)], false)
		} else {
			b.song.playMelody(x, t)
		}
		name := b.unique([]string{"Playback", "Keys", "Synth", "Tracks"}[b.r.IntN(4)])
		own := b.source(name, "machine", b.spot(), 0.01, 50+i, x)
		b.line(name, "digital", own, Digital, 0.1).peakDBFS = b.uniform(-12, -3)
	}
}

func (b *stageBuilder) talkback() {
	x := b.blank()
	v := b.store.Voices[b.r.IntN(len(b.store.Voices))]
	for _, at := range []float64{0.3, b.s.Seconds() - 4} { // before and after the music
		if p := v.Phrase(b.s.RateHz, b.r); p != nil {
			b.song.put(x, p, at, 1)
		}
	}
	own := b.source("Talkback", "talkback", place{20, 20, 1}, 0.1, 90, x)
	b.line("Talkback", "desk", own, Air, 0.3).reverb = 0
}

// settle decides who sits this take out, names the files and pairs channels.
func (b *stageBuilder) settle() {
	s := b.s
	for i := range s.Lines {
		src := &s.sources[s.Lines[i].own]
		optional := slices.Contains([]string{"strings", "winds", "percussion", "mallets", "acoustic", "electric", "voice"}, src.role)
		if optional && s.Lines[i].Partner < 0 && b.r.Float64() < 0.08 {
			clear(src.x) // the player is there and waits
		}
	}
	for i := range s.Lines {
		l := &s.Lines[i]
		for _, v := range s.sources[l.own].x {
			if v != 0 {
				l.Plays = true
				break
			}
		}
		l.File = s.names.file(l.Number, l.Source)
	}
	for i := range s.Lines { // some recorders write a pair into one file
		l := &s.Lines[i]
		if p := l.Partner; p > i && l.Pair == "stereo" && b.r.Float64() < 0.2 {
			whole := l.Source[:len(l.Source)-2]
			l.File = s.names.file(l.Number, whole)
			s.Lines[p].File, s.Lines[p].Channel = l.File, 1
		}
	}
}
