// Package sound is the one way into a recording: a Reader hands out blocks of
// planar samples, whatever the file was written by. The decoders below it
// (wav, aiff, flac) read an io.ReaderAt and never know a path; soundfile picks
// the right one by looking at the first bytes.
//
// A frame is one sample per channel; a sample is one number, full scale ±1.
// Integer samples are divided by 2^(bits−1), so 24-bit sound is exact in the
// float32 that blocks carry; 32-bit integers and float64 are rounded to it
// (relative error 6e−8, half a millionth of a decibel).
package sound

// Encoding is how a sample is written.
type Encoding uint8

const (
	// Integer samples: signed, except for WAV of 8 bits or fewer.
	Integer Encoding = iota
	// Float samples, IEEE 754, full scale ±1; they may exceed it.
	Float
)

func (e Encoding) String() string {
	if e == Float {
		return "float"
	}
	return "integer"
}

// Rates that decoders take. Recorders write 8 to 768 kHz; a header that tells of
// anything far outside is damaged, and below 2 kHz there is no band left for the
// meters to measure. Common practice.
const (
	MinRateHz = 2000
	MaxRateHz = 1536000
)

// Format is the shape of a recording.
type Format struct {
	Container string   // "WAV", "RF64", "BW64", "AIFF", "AIFC" or "FLAC"
	Encoding  Encoding // integer or float
	Bits      int      // valid bits a sample: 8, 16, 20, 24, 32 or 64
	RateHz    int      // frames a second, MinRateHz to MaxRateHz
	Channels  int      // 1 to 64
}

// Broadcast is what a bext chunk holds, EBU Tech 3285 v2. Loudness values are
// in hundredths (LUFS, LU, dBTP) as written and only meaningful when
// Version ≥ 2; 0x7FFF means not set.
type Broadcast struct {
	Description         string
	Originator          string
	OriginatorReference string
	OriginationDate     string // yyyy-mm-dd, as written
	OriginationTime     string // hh:mm:ss, as written
	TimeReference       uint64 // frames since midnight
	Version             uint16
	LoudnessValue       int16
	LoudnessRange       int16
	MaxTruePeak         int16
	MaxMomentary        int16
	MaxShortTerm        int16
	CodingHistory       string
}

// LoudnessUnset is the bext value of a loudness field that is not set.
const LoudnessUnset = 0x7FFF

// Damage is something wrong with a file that could still be read.
type Damage struct {
	// Kind: "unfinished" (the length was never written: a crashed recorder),
	// "truncated" (the file is shorter than its header declares), "damaged"
	// (a frame or checksum inside is wrong), "odd" (harmless breach of the format).
	Kind string
	// Text says what was found and where: lower case, no full stop.
	Text string
	// DeclaredFrames is what the header promised, 0 where it promised nothing.
	DeclaredFrames int64
	// HeldFrames is what the file holds.
	HeldFrames int64
}

// Header is what is known of a recording before its samples are read.
type Header struct {
	Format    Format
	Frames    int64      // frames the file holds; −1 where only reading to the end will tell
	Broadcast *Broadcast // nil without a bext chunk
	// ChannelNames is one name a channel where the recorder wrote them (the
	// TRACK_LIST of an iXML chunk, by interleave index), "" for a channel
	// without one; nil where the file names none.
	ChannelNames []string
	Damage       []Damage // found in the header; reading may add more (see Reader.Damage)
}

// DurationS is the length in seconds, 0 where it is not known.
func (h Header) DurationS() float64 {
	if h.Frames <= 0 || h.Format.RateHz <= 0 {
		return 0
	}
	return float64(h.Frames) / float64(h.Format.RateHz)
}
