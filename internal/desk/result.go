package desk

import (
	"math"

	"tidemark/internal/meter"
	"tidemark/internal/model"
	"tidemark/internal/sound"
	"tidemark/internal/unit"
)

// The names and versions of the documented objects.
const (
	CheckSchema   = "tidemark.check/1"
	MeasureSchema = "tidemark.measure/1"
)

type number = unit.Maybe[float64]

// Format is a recording's shape as reports have it.
type Format struct {
	Container      string  `json:"container"`
	Encoding       string  `json:"encoding"`
	RateHz         int     `json:"rate_hz"`
	Bits           int     `json:"bits"`
	BitsUsed       int     `json:"bits_used"`
	Channels       int     `json:"channels"`
	DurationS      float64 `json:"duration_s"`
	TimeReferenceS number  `json:"time_reference_s"`
}

// Levels are the level measures of a line or of a file. RMS levels are AES17.
type Levels struct {
	PeakDBFS         number  `json:"peak_dbfs"`
	PeakAtS          number  `json:"peak_at_s"`
	TruePeakDBTP     number  `json:"true_peak_dbtp"`
	RMSDBFS          number  `json:"rms_dbfs"`
	CrestDB          number  `json:"crest_db"`
	LoudnessLUFS     number  `json:"loudness_lufs"`
	MaxMomentaryLUFS number  `json:"max_momentary_lufs"`
	MaxShortTermLUFS number  `json:"max_short_term_lufs"`
	LoudnessRangeLU  number  `json:"loudness_range_lu"`
	FloorDBFS        number  `json:"floor_dbfs"`
	UsualLowDBFS     number  `json:"usual_low_dbfs"`
	UsualHighDBFS    number  `json:"usual_high_dbfs"`
	HighestDBFS      number  `json:"highest_dbfs"`
	HeadroomDB       number  `json:"headroom_db"`
	DC               number  `json:"dc"`
	ClippedFrames    int64   `json:"clipped_frames"`
	DigitalSilenceS  float64 `json:"digital_silence_s"`
	HumHz            number  `json:"hum_hz"`
	HumDBFS          number  `json:"hum_dbfs"`
}

// BandValue is one band of a spectrum or of a comparison.
type BandValue struct {
	CenterHz float64 `json:"center_hz"`
	Value    number  `json:"value"`
}

// LineReport is one line in one pass.
type LineReport struct {
	Number int    `json:"number"`
	Source string `json:"source"`
	Name   string `json:"name"`
	Mic    string `json:"mic"`
	File   string `json:"file"`
	// Channel counts from 1.
	Channel     int         `json:"channel"`
	Pass        string      `json:"pass"`
	OffsetS     float64     `json:"offset_s"`
	MatchedBy   string      `json:"matched_by"`
	Certain     bool        `json:"match_certain"`
	RunnerUp    string      `json:"match_runner_up"`
	Format      Format      `json:"format"`
	Levels      Levels      `json:"levels"`
	ThirdOctave []BandValue `json:"third_octave_dbfs"`

	// Envelope is peak and RMS of each 100 ms, linear, for pictures.
	Envelope []Moment `json:"-"`
}

// Moment is 100 ms of a line.
type Moment struct{ Peak, RMS float32 }

// PassReport is one run of the recorder.
type PassReport struct {
	Name      string   `json:"name"`
	StartS    number   `json:"start_s"` // seconds since midnight
	DurationS float64  `json:"duration_s"`
	Files     []string `json:"files"`
}

// PairReport is what was measured between two lines that hear one source.
// A delay is positive when B hears it later than A.
type PairReport struct {
	A              string      `json:"a"`
	B              string      `json:"b"`
	On             string      `json:"on"`
	Relation       string      `json:"relation"`
	Pass           string      `json:"pass"`
	Hits           int         `json:"hits"`
	DelayMS        number      `json:"delay_ms"`
	DelaySamples   number      `json:"delay_samples"`
	DistanceCM     number      `json:"distance_cm"`
	DistanceIn     number      `json:"distance_in"`
	Polarity       string      `json:"polarity"`
	Coherence      number      `json:"coherence"`
	CoherenceBands []BandValue `json:"coherence_bands"`
	Correlation    number      `json:"correlation"`
	MonoLossDB     number      `json:"mono_loss_db"`
	MonoLossBands  []BandValue `json:"mono_loss_bands"`
}

// ListReport says what was understood of the input list.
type ListReport struct {
	File       string        `json:"file"`
	Sheet      string        `json:"sheet"`
	Lines      int           `json:"lines"`
	Columns    []ListColumn  `json:"columns"`
	Understood string        `json:"understood"`
	Problems   []ListProblem `json:"problems"`
}

// ListColumn is a column of the list and what it was taken for.
type ListColumn struct {
	Letter  string `json:"letter"`
	Heading string `json:"heading"`
	Means   string `json:"means"`
}

// ListProblem is a place of the list that a person should look at.
type ListProblem struct {
	Row    int    `json:"row"`
	Column string `json:"column"`
	Text   string `json:"text"`
}

// Check is the result of a take check, and its JSON object tidemark.check/1.
type Check struct {
	Schema      string           `json:"schema"`
	Folder      string           `json:"folder"`
	List        *ListReport      `json:"list"`
	NominalDBFS float64          `json:"nominal_dbfs"`
	Mains       string           `json:"mains"`
	TruePeakBy  string           `json:"true_peak_by"` // the interpolator
	SpectrumBy  string           `json:"spectrum_by"`  // which windows were looked at
	Passes      []PassReport     `json:"passes"`
	Lines       []LineReport     `json:"lines"`
	Pairs       []PairReport     `json:"pairs"`
	LineCheck   *LineCheckReport `json:"line_check"`
	Refused     []Refused        `json:"refused"`
	Findings    []model.Finding  `json:"findings"`
	TookS       float64          `json:"-"`
}

// Count counts the findings of a weight.
func (c Check) Count(w model.Weight) int {
	n := 0
	for _, f := range c.Findings {
		if f.Weight == w {
			n++
		}
	}
	return n
}

// round keeps a report to thousandths of its unit: finer than any of its limits.
// Nothing is minus zero.
func round(x float64) float64 { return math.Round(x*1000)/1000 + 0 }

func rounded[T ~float64](m unit.Maybe[T]) number {
	v, ok := m.Get()
	if !ok || math.IsNaN(float64(v)) || math.IsInf(float64(v), 0) {
		return unit.None[float64]()
	}
	return unit.Some(round(float64(v)))
}

func formatReport(h sound.Header, frames int64, bitsUsed int) Format {
	f := Format{
		Container: h.Format.Container, Encoding: h.Format.Encoding.String(),
		RateHz: h.Format.RateHz, Bits: h.Format.Bits, BitsUsed: bitsUsed, Channels: h.Format.Channels,
		DurationS: round(float64(frames) / float64(h.Format.RateHz)),
	}
	if b := h.Broadcast; b != nil {
		f.TimeReferenceS = unit.Some(round(float64(b.TimeReference) / float64(h.Format.RateHz)))
	}
	return f
}

func levelsReport(c meter.Channel, rateHz int) Levels {
	l := Levels{
		PeakDBFS:         rounded(c.Tidemark.Peak),
		TruePeakDBTP:     rounded(c.TruePeak.Max),
		RMSDBFS:          rounded(c.RMS),
		CrestDB:          rounded(c.Crest),
		LoudnessLUFS:     rounded(c.Loudness.Integrated),
		MaxMomentaryLUFS: rounded(c.Loudness.MaxMomentary),
		MaxShortTermLUFS: rounded(c.Loudness.MaxShortTerm),
		LoudnessRangeLU:  rounded(c.Loudness.Range),
		FloorDBFS:        rounded(c.Tidemark.Floor),
		UsualLowDBFS:     rounded(c.Tidemark.UsualLow),
		UsualHighDBFS:    rounded(c.Tidemark.UsualHigh),
		HighestDBFS:      rounded(c.Tidemark.Highest),
		HeadroomDB:       rounded(c.Tidemark.Headroom),
		ClippedFrames:    c.Clipping.FullScale.Frames,
		DigitalSilenceS:  round(float64(c.Dropout.ZeroFrames) / float64(rateHz)),
		HumDBFS:          rounded(c.Hum.Level),
	}
	if c.Level.Frames > 0 {
		l.DC = unit.Some(math.Round(c.Level.DC*1e7) / 1e7)
		if c.Level.Peak > 0 {
			l.PeakAtS = unit.Some(round(float64(c.Level.PeakFrame) / float64(rateHz)))
		}
	}
	if c.Hum.FundamentalHz > 0 {
		l.HumHz = unit.Some(round(c.Hum.FundamentalHz))
	}
	return l
}

func envelope(hops []meter.Hop) []Moment {
	out := make([]Moment, len(hops))
	for i, h := range hops {
		out[i] = Moment{Peak: h.Peak, RMS: float32(math.Sqrt(float64(h.MeanSquare)))}
	}
	return out
}

func bands(s meter.SpectrumReading) []BandValue {
	out := make([]BandValue, len(s.Bands))
	for i, b := range s.Bands {
		out[i] = BandValue{CenterHz: b.NominalHz, Value: rounded(b.Level)}
	}
	return out
}
