package meter

import (
	"math"

	"tidemark/internal/sound"
	"tidemark/internal/unit"
)

// Set is every meter of the check on one recording, fed by one decode.
type Set struct {
	format   sound.Format
	frames   int64
	loudness *Loudness
	stereo   *Stereo // nil unless there are two channels
	channels []channelMeters
}

type channelMeters struct {
	tape     *tape     // of those that look back or ahead
	low      *lowSound // of hum and spectrum
	level    *Level
	truePeak *TruePeak
	clipping *Clipping
	dropout  *Dropout
	onset    *Onsets
	click    *Clicks
	hum      *Hum
	spectrum *Spectrum
	bits     *Bits
}

// Options are what a check may choose.
type Options struct {
	Mains        Mains        // family of hum to look for
	Interpolator Interpolator // of the true peak
	// Sampled lets spectra of more than 20 s be had from part of their windows: see Spectrum.
	Sampled bool
}

// Channel is all that was measured on one channel.
type Channel struct {
	Level    LevelReading
	Tidemark TidemarkReading
	RMS      unit.Maybe[unit.DBFS]
	Crest    unit.Maybe[unit.DB]
	Loudness LoudnessReading // of this channel alone, as a mono programme
	TruePeak TruePeakReading
	Clipping ClippingReading
	Dropout  DropoutReading
	Onsets   OnsetReading
	Clicks   ClickReading
	Hum      HumReading
	Spectrum SpectrumReading
	Bits     BitsReading
}

// Readings is all that was measured on one recording.
type Readings struct {
	Format    sound.Format
	Frames    int64
	Programme LoudnessReading // all channels together, BS.1770 weights
	Stereo    unit.Maybe[StereoReading]
	Channels  []Channel
}

// NewSet makes the meters for a recording of the format.
func NewSet(f sound.Format, opt Options) *Set {
	s := &Set{format: f, loudness: NewLoudness(f.RateHz, f.Channels, nil), channels: make([]channelMeters, f.Channels)}
	if f.Channels == 2 {
		s.stereo = NewStereo(f.RateHz)
	}
	work := &workSpace{}
	for c := range s.channels {
		low, t := newLowSound(f.RateHz), &tape{}
		s.channels[c] = channelMeters{
			low:      low,
			tape:     t,
			level:    NewLevel(f.RateHz),
			truePeak: NewTruePeak(f.RateHz, opt.Interpolator),
			clipping: newClipping(f.RateHz, fullScale(f), t),
			dropout:  newDropout(f.RateHz, t),
			onset:    newOnset(f.RateHz, t),
			click:    newClick(f.RateHz, t),
			hum:      newHum(f.RateHz, opt.Mains, low, work),
			spectrum: newSpectrum(f.RateHz, t, low, work),
			bits:     newBitsOf(f),
		}
		s.channels[c].level.tape, s.channels[c].truePeak.tape = t, t
		if opt.Sampled {
			s.channels[c].spectrum.sample()
		}
	}
	return s
}

// fullScale is the largest positive sample that the format can hold.
func fullScale(f sound.Format) float32 {
	if f.Encoding == sound.Float || f.Bits >= 32 || f.Bits < 2 {
		return 1
	}
	return float32(1 - math.Ldexp(1, 1-f.Bits))
}

// Measure feeds a block to all meters.
func (s *Set) Measure(b *sound.Block) {
	s.frames += int64(b.Frames())
	s.loudness.Measure(b)
	if s.stereo != nil {
		s.stereo.Measure(b)
	}
	for c, x := range b.Channels {
		m := &s.channels[c]
		m.bits.Measure(x)
		for rest := x; len(rest) > 0; {
			part := rest
			rest = m.tape.put(rest)
			part = part[:len(part)-len(rest)]
			m.level.Measure(part)
			m.truePeak.Measure(part)
			m.clipping.catchUp()
			m.dropout.catchUp()
			m.onset.catchUp()
			m.click.catchUp()
			m.spectrum.catchUp(len(part))
		}
		m.hum.frames += int64(len(x))
		for more := true; more; {
			var low []float32
			low, x, more = m.low.next(x)
			m.hum.measureLow(low)
			m.spectrum.measureLow(low)
		}
	}
}

// Reading returns everything heard so far.
func (s *Set) Reading() Readings {
	r := Readings{Format: s.format, Frames: s.frames, Programme: s.loudness.Reading(), Channels: make([]Channel, len(s.channels))}
	if s.stereo != nil {
		r.Stereo = unit.Some(s.stereo.Reading())
	}
	for c := range s.channels {
		m := &s.channels[c]
		level := m.level.Reading()
		r.Channels[c] = Channel{
			Level: level, Tidemark: Tidemark(level), RMS: unit.MeanSquare(level.MeanSquare), Crest: CrestDB(level),
			Loudness: s.loudness.ChannelReading(c), TruePeak: m.truePeak.Reading(), Clipping: m.clipping.Reading(), Dropout: m.dropout.Reading(),
			Onsets: m.onset.Reading(), Clicks: m.click.Reading(), Hum: m.hum.Reading(), Spectrum: m.spectrum.Reading(), Bits: m.bits.Reading(),
		}
	}
	return r
}

// Together is the recording as one programme: the highest peaks, the mean power
// and the level picture of all channels, the loudness of the programme. What
// belongs to one channel (events, spectrum) is that of the first.
func (r Readings) Together() Channel {
	if len(r.Channels) == 0 {
		return Channel{}
	}
	t := r.Channels[0]
	n := float64(len(r.Channels))
	level := t.Level
	level.MeanSquare, level.DC = 0, 0
	level.Hops = make([]Hop, len(t.Level.Hops))
	for _, c := range r.Channels {
		level.MeanSquare += c.Level.MeanSquare / n
		level.DC += c.Level.DC / n
		if c.Level.Peak > level.Peak {
			level.Peak, level.PeakFrame = c.Level.Peak, c.Level.PeakFrame
		}
		for i, h := range c.Level.Hops {
			level.Hops[i].MeanSquare += h.MeanSquare / float32(n)
			level.Hops[i].Bright += h.Bright / float32(n)
			level.Hops[i].Peak = max(level.Hops[i].Peak, h.Peak)
		}
		if p, ok := c.TruePeak.Max.Get(); ok && p > t.TruePeak.Max.Or(p-1) {
			t.TruePeak = c.TruePeak
		}
		if h, ok := c.Hum.Level.Get(); ok && h > t.Hum.Level.Or(h-1) {
			t.Hum = c.Hum
		}
	}
	for _, c := range r.Channels[1:] {
		t.Clipping.FullScale.Count += c.Clipping.FullScale.Count
		t.Clipping.FullScale.Frames += c.Clipping.FullScale.Frames
	}
	t.Level, t.Tidemark, t.RMS, t.Crest, t.Loudness = level, Tidemark(level), unit.MeanSquare(level.MeanSquare), CrestDB(level), r.Programme
	return t
}
