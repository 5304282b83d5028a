package judge

// Limit is what a measure is held to.
type Limit struct {
	Value  float64
	Unit   string
	Source string
}

const common = "common practice, no published source"

// All limits of all rules. RMS levels are AES17: a sine's RMS level is its peak level.
var (
	// dead: a converter's own floor lies at −100 dBFS and below, an open
	// microphone's in a quiet room at −75 to −65.
	limitSilent = Limit{-85, "dBFS", common}
	// dead: a line that never rises this far over its own floor while others play.
	limitLifeless = Limit{6, "dB", common}
	// dead: a lifeless line louder than this is noisy or hums; it is judged by those rules as well.
	limitLifelessBelow = Limit{-45, "dBFS", common}
	// dead: an open line cannot become quieter than its own floor; when it does, it has died.
	limitFloorFall = Limit{8, "dB", "an open line's noise floor cannot fall; margin " + common}
	// dead: what is left after a death lies below this. A microphone at rest lies
	// above it, so the end of the music is not taken for the end of the line.
	limitDeadFloor = Limit{-85, "dBFS", common}

	limitNoiseMic = Limit{-62, "dBFS", common} // quiet condenser at normal gain: −75 to −65
	limitNoiseAmp = Limit{-46, "dBFS", common} // open amplifier: −60 to −50

	limitHum     = Limit{-72, "dBFS", common}
	limitHumNote = Limit{-86, "dBFS", common}

	limitCrackleStop = Limit{12, "clicks", common}
	limitCrackle     = Limit{3, "clicks", common}

	// dropout: a hole of exact zeros or one held value inside sound cannot come
	// from an open line; a single one condemns the take.
	limitDropout = Limit{0, "holes", "digital silence inside sound; length from 1 ms, " + common}

	// clipped: three equal samples at the largest value are the usual definition.
	limitClipped = Limit{0, "runs", "runs of 3 and more samples at full scale, " + common}
	// clipped: sound of high frequencies goes past full scale for one or two
	// samples at a time; so many of them are no coincidence.
	limitAtFull  = Limit{8, "samples", common}
	limitFlatTop = Limit{2, "runs", "runs of one repeated extreme, " + common}

	limitHot = Limit{-3, "dBFS", common}
	// low: how far the highest mark lies under the nominal level.
	limitLow = Limit{-18, "dB", common}

	limitDC = Limit{-50, "dBFS", common}

	// late: an overhead pair on the snare, equal within a centimetre or two; 0.1 ms is 3.4 cm.
	limitLate = Limit{0.1, "ms", common}

	limitMonoLoss = Limit{-4, "dB", "uncorrelated channels lose 3.01 dB; margin " + common}

	limitShort     = Limit{0.5, "s", common}
	limitLateStart = Limit{0.05, "s", common}

	limitCoherence = Limit{0.3, "of 1", common}

	// mono_loss by octave, where the low end lives.
	limitMonoLossLow = Limit{-6, "dB", common}
)

// limitScatter is how many clicks without a burst are worth a listen: voices
// smack and plectra click now and then.
var limitScatter = Limit{10, "clicks", common}
