package meter

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"tidemark/internal/conform"
	"tidemark/internal/signal"
	"tidemark/internal/unit"
)

// Rec. ITU-R BS.1770-5 (11/2023) Annex 1, the gates: blocks of 400 ms each
// 100 ms, above −70 LKFS and above the mean of those less 10 LU.

// blocksOf are programmes of one gating block each, of the given loudness.
func blocksOf(loudness ...float64) [][]float64 {
	var programmes [][]float64
	for _, l := range loudness {
		p := loudnessPower(unit.LUFS(l))
		programmes = append(programmes, []float64{p, p, p, p})
	}
	return programmes
}

// A block counts when its loudness lies above the gate, not on it.
func TestAbsoluteGateEdge(t *testing.T) {
	for _, c := range []struct {
		name     string
		loudness float64
		kept     float64
	}{
		{"exactly at −70 LUFS", -70, 0}, {"0.001 LU above −70 LUFS", -69.999, 1}, {"0.001 LU below −70 LUFS", -70.001, 0},
	} {
		got := PooledIntegrated(blocksOf(c.loudness)...)
		conform.Check(t, conform.Row{
			Section: "Loudness", Case: "absolute gate, one block " + c.name + ": kept (1) or not (0)", Source: bs1770 + ", absolute gate: above −70 LKFS",
			Expected: c.kept, Measured: defined(got),
		})
		if v, ok := got.Get(); ok {
			wantNear(t, c.name, float64(v), c.loudness, 1e-9)
		}
	}
	// Blocks under the absolute gate count neither for the result nor for the relative gate.
	conform.Check(t, conform.Row{
		Section: "Loudness", Case: "absolute gate, 3 blocks at −65 LUFS with 40 at −70.001", Source: "derived: the blocks at −65 alone, " + bs1770 + ", absolute gate",
		Unit: "LUFS", Expected: -65, Under: 1e-6, Over: 1e-6, Digits: 4,
		Measured: number(PooledIntegrated(append(blocksOf(-65, -65, -65), repeated(40, -70.001)...)...)),
	})
}

func repeated(n int, loudness float64) [][]float64 {
	var all [][]float64
	for range n {
		all = append(all, blocksOf(loudness)...)
	}
	return all
}

// With n blocks of −20 LUFS and one of −20 + x, the relative gate lies at the
// mean less 10 LU: the quiet block lies right on it at q = n/(10n+9) of their power (derived).
func TestRelativeGateEdge(t *testing.T) {
	for _, n := range []float64{1, 9, 99} {
		edge := -20 + 10*math.Log10(n/(10*n+9))
		for _, beside := range []float64{0.001, -0.001} {
			q := math.Pow(10, (edge+beside+20)/10)
			want, what := 10*math.Log10((n+q)/(n+1))-20, "above"
			if beside < 0 {
				want, what = -20, "below"
			}
			conform.Check(t, conform.Row{
				Section: "Loudness", Case: fmt.Sprintf("relative gate, %g of −20 LUFS and a block 0.001 LU %s the gate", n, what),
				Source: "derived: mean of the blocks above, " + bs1770 + ", relative gate of −10 LU", Unit: "LUFS",
				Expected: want, Under: 1e-6, Over: 1e-6, Digits: 4,
				Measured: number(PooledIntegrated(append(repeated(int(n), -20), blocksOf(edge+beside)...)...)),
			})
		}
	}
}

// The gates through the whole meter, with stereo tones of 1 kHz.
func TestGatesOnTones(t *testing.T) {
	for _, rate := range standardRates {
		stereo := func(segments ...step) float64 {
			return number(playSteps(rate, nil, segments, segments).Reading().Integrated)
		}
		row := func(what, source string, want, tolerance, measured float64) {
			conform.Check(t, conform.Row{
				Section: "Loudness", Case: fmt.Sprintf("gates, 1 kHz stereo tone, %s, %s", what, kHz(rate)), Source: source,
				Unit: "LUFS", Expected: want, Under: tolerance, Over: tolerance, Digits: 3, Measured: measured,
			})
		}
		const derived = "derived: gated mean of " + bs1770 + "; tolerance of EBU Tech 3341 v4"
		got := stereo(step{DBFS: -23, Seconds: 10}, step{DBFS: -50, Seconds: 30})
		row("10 s at −23 dBFS, 30 s at −50", derived, -23.06, 0.1, got)
		within, under := stereo(step{DBFS: -20, Seconds: 20}, step{DBFS: -29.5, Seconds: 2}), stereo(step{DBFS: -20, Seconds: 20}, step{DBFS: -31, Seconds: 2})
		row("20 s at −20 dBFS, 2 s within the relative gate", derived, 10*math.Log10((20+2*math.Pow(10, -0.95))/22)-19.993, 0.1, within)
		row("20 s at −20 dBFS, 2 s under the relative gate", derived, -19.993, 0.1, under)
		quiet := stereo(step{DBFS: -69.9, Seconds: 2})
		row("just above the absolute gate", derived, -69.893, 0.1, quiet)
		if rate == 48000 { // last values; ungated the first would be −29.02
			wantNear(t, "10 s at −23 and 30 s at −50 dBFS", got, -23.06, 0.005)
			wantNear(t, "within the relative gate", within, -20.335, 0.002)
			wantNear(t, "under the relative gate", under, -20.023, 0.002)
			wantNear(t, "above the absolute gate", quiet, -69.893, 0.005)
		}

		x := signal.Steps(rate, 1000, step{DBFS: -10, Seconds: 0.4})
		none := func(what, source string, want float64, x ...[]float32) {
			conform.Check(t, conform.Row{
				Section: "Loudness", Case: fmt.Sprintf("%s has a loudness (1) or none (0), %s", what, kHz(rate)), Source: source,
				Expected: want, Measured: defined(loudnessOfSound(rate, nil, x...).Reading().Integrated),
			})
		}
		const blocks = bs1770 + ": gating blocks of 400 ms (length from memory)"
		none("a tone of 400 ms", blocks, 1, x, x)
		none("a tone one frame short of 400 ms", blocks, 0, x[1:], x[1:])
		none("two seconds of silence", bs1770+": no block above the gate", 0, signal.Silence(2*rate))
		faint := signal.Steps(rate, 1000, step{DBFS: -70.1, Seconds: 2})
		none("a stereo tone just under the absolute gate", bs1770+", absolute gate", 0, faint, faint)
	}
}

// Silence after a sound that has died away adds blocks below the gate alone, and
// an incomplete block at the end is not used, however loud it is.
func TestWhatMovesNoGatedLoudness(t *testing.T) {
	for _, rate := range standardRates {
		noise := signal.Join(signal.White(1, 0.05, 3*rate), signal.Silence(rate))
		of := func(x []float32) float64 { return number(loudnessOfSound(rate, nil, x, x).Reading().Integrated) }
		still := of(noise)
		for _, seconds := range []float64{0.05, 1, 20} {
			conform.Check(t, conform.Row{
				Section: "Loudness", Case: fmt.Sprintf("noise that has ended, moved by %g s of silence after it, %s", seconds, kHz(rate)),
				Source: "derived: blocks of silence lie below the gates of " + bs1770, Unit: "LU",
				Digits: 4, Measured: of(signal.Join(noise, signal.Silence(signal.Frames(rate, seconds)))) - still,
			})
		}
		x := signal.Sine(rate, 1000, 0.1, 2*rate)
		y := signal.Join(x, signal.Sine(rate, 1000, 1, rate/10-1))
		conform.Check(t, conform.Row{
			Section: "Loudness", Case: "2 s at −20 dBFS, moved by a roar of a frame less than 100 ms after it, " + kHz(rate),
			Source: "from memory: " + bs1770 + ": an incomplete gating block is not used", Unit: "LU", Digits: 4, Measured: of(y) - of(x),
		})
	}
}

func TestTheOrderOfChannelsIsNamedWhereItCounts(t *testing.T) {
	for channels := 1; channels <= 8; channels++ {
		plain := true
		for _, w := range DefaultWeights(channels) {
			plain = plain && w == 1
		}
		if got := DescribeWeights(channels); (got == "") != plain || got != "" && len(strings.Fields(got)) != channels {
			t.Errorf("%d channels are called %q, weights %v", channels, got, DefaultWeights(channels))
		}
	}
}
