package model

// Recording is a sound file as the plan sees it: its name and what its header
// tells, never its path's meaning. It is what files are matched to lines by.
type Recording struct {
	Name     string // path below the folder, with slashes
	Channels int
	RateHz   int
	Bits     int
	Float    bool
	Frames   int64
	// StartFrames is the start in frames since midnight (bext time reference);
	// HasStart says whether the file carries one that is not zero.
	StartFrames int64
	HasStart    bool
	// OriginS is the origination date and time in Unix seconds (bext), 0 without.
	OriginS int64
	// ChannelNames are the names that the header gives to the channels, in
	// order; nil or empty strings where it gives none.
	ChannelNames []string
	// ModifiedS is the file's own time in Unix seconds: the last resort.
	ModifiedS int64
}

// DurationS is the recording's length in seconds.
func (r Recording) DurationS() float64 {
	if r.RateHz <= 0 {
		return 0
	}
	return float64(r.Frames) / float64(r.RateHz)
}

// Pass is one run of the recorder: recordings that share a start, or begin
// inside it (a line armed late, a fix punched in).
type Pass struct {
	Name    string  // "pass 1", "pass 2" in order of time
	StartS  float64 // seconds since midnight where known, else 0
	Timed   bool    // StartS comes from time references
	Members []Member
}

// Member is a recording's place in its pass.
type Member struct {
	Recording int     // index into the recordings
	OffsetS   float64 // seconds after the start of the pass
	Copy      bool    // a copy or bounce of another member: same line, same start, same length
	Punch     bool    // a short piece that starts inside an older one of the same line
}

// Match says which channel of which recording is which line.
type Match struct {
	Recording     int    // index into the recordings
	Channel       int    // from 0
	Line          int    // index into the list; −1 when unlisted
	Certain       bool   // a doubtful match is never used for a stop finding
	By            string // "track name", "source", "number", "order of channels" or "your word"
	Score         float64
	RunnerUp      int // index of the next best line, −1 without one
	RunnerUpScore float64
}
