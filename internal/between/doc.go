// Package between measures what needs two signals: how much later one line
// hears a source than another, which way up it hears it, how much of the sound
// they share, what is lost when both are added to mono, and which line carries
// whose sound.
//
// Symbols: a[n] and b[n] are the same stretch of two lines A and B, fs the
// sample rate. A delay D is positive where B is later than A:
//
//	b[n] ≈ g·a[n − D]     g > 0: same polarity, g < 0: opposite polarity
//	Rab(τ) = Σ a[n]·b[n+τ]     largest in size at τ = D
//	Sab(f) = Σ Rab(τ)·e^(−2πi·f·τ/fs)
//	γ²(f)  = |Sab|² / (Saa·Sbb)     magnitude-squared coherence, 0 … 1
//
// Two lines make a Pair. Many lines share a Lags, which holds transforms and
// work space: Lags.Hit makes a line ready once for all of its pairs, AddHits
// measures, and a Glance tells for a tenth of the work whether two lines have
// anything in common. Delays are fractions of a sample; how far they are off, by
// kind of sound, noise and room, TestAccuracyOfDelays prints. Where both lines
// hear two sources, the delay is that of the wider band: a drum's, 20 dB under a bass.
//
// Nothing here keeps a slice that it was given. What cannot be known (silence,
// two noise floors, hum alone) is a unit.Maybe without a value, or the word
// "unclear": no detector here guesses.
package between
