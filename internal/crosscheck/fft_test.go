package crosscheck

import (
	"fmt"
	"math"
	"math/cmplx"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	own "tidemark/internal/fourier"
	"tidemark/internal/meter"
	"tidemark/internal/signal"
	"tidemark/internal/sound"
	"tidemark/internal/unit"
)

// gonum is the library with the version that go.mod names.
var gonum = func() string {
	mod, err := os.ReadFile(filepath.Join("..", "..", "go.mod"))
	m := regexp.MustCompile(`gonum\.org/v1/gonum v(\S+)`).FindSubmatch(mod)
	if err != nil || m == nil {
		panic("crosscheck: go.mod names no gonum")
	}
	return "gonum " + string(m[1]) + " dsp/fourier"
}()

func TestFourierAgainstGonum(t *testing.T) {
	for n := 4; n <= 1<<18; n *= 2 {
		noise := signal.NewNoise(uint64(n))
		x := make([]float64, n)
		for i := range x {
			x[i] = noise.Uniform()
		}
		got := make([]complex128, n/2+1)
		own.NewReal(n).Forward(got, x)
		want := fourier.NewFFT(n).Coefficients(nil, x)
		var worst, largest float64
		for k := range want {
			worst = max(worst, cmplx.Abs(got[k]-want[k]))
			largest = max(largest, cmplx.Abs(want[k]))
		}
		row(t, gonum, fmt.Sprintf("largest difference of a bin, %d samples of noise", n), "1e-12 of the largest bin", 0, worst/largest/1e-12, 1, 0)
	}
}

// The band powers of one transform as long as the file, cut at the edges of the
// bands to parts of a bin, against the averaged short windows of meter.Spectrum.
// Such edges are sharper than any filter's: a partial of a voice 1 % outside
// counts fully here, not at all there. So noise is compared band by band, music
// over all bands together, which count a partial at 447 Hz twice in part: there the
// bands of the long windows meet those of the short ones.
func TestThirdOctavesAgainstOneLongTransform(t *testing.T) {
	noise := []file{lines(t)[23], mixes(t)[0], mixes(t)[4], mixes(t)[7], mixes(t)[10], mixes(t)[11]}
	music := []file{lines(t)[1], lines(t)[13], lines(t)[19], mixes(t)[8], mixes(t)[9]}
	for i, f := range append(noise, music...) {
		t.Run(f.name, func(t *testing.T) {
			t.Parallel()
			var x []float64
			m := meter.NewSpectrum(f.format.RateHz)
			readFile(t, f, func(b *sound.Block) {
				m.Measure(b.Channels[0])
				for _, v := range b.Channels[0] {
					x = append(x, float64(v))
				}
			})
			bins := fourier.NewFFT(len(x)).Coefficients(nil, x)
			var all, ours float64
			for _, b := range m.Reading().Bands {
				want := bandPower(bins, len(x), f.format.RateHz, b.CenterHz)
				level, ok := b.Level.Get()
				if !ok {
					t.Fatalf("the band at %g Hz has no level", b.NominalHz)
				}
				all, ours = all+want, ours+unit.PowerRatio(level-unit.SineOffsetDB)
				if i < len(noise) {
					row(t, gonum, fmt.Sprintf("%s: third-octave band at %g Hz", f.name, b.NominalHz), "dBFS", 10*math.Log10(want)+unit.SineOffsetDB, float64(level), 0.25, 2)
				}
			}
			row(t, gonum, f.name+": all third-octave bands together", "dBFS", 10*math.Log10(all)+unit.SineOffsetDB, 10*math.Log10(ours)+unit.SineOffsetDB, 0.1, 2)
		})
	}
}

// bandPower is the mean square of what lies in the third of an octave around a
// frequency; bins are of a transform of n samples.
func bandPower(bins []complex128, n, rateHz int, center float64) float64 {
	step := float64(rateHz) / float64(n)
	half := math.Pow(10, 0.05)
	lo, hi := center/half/step, center*half/step
	var sum float64
	for k := int(lo); k < len(bins) && float64(k)-0.5 < hi; k++ {
		if share := min(float64(k)+0.5, hi) - max(float64(k)-0.5, lo); share > 0 {
			sum += share * real(bins[k]*cmplx.Conj(bins[k]))
		}
	}
	return 2 * sum / float64(n) / float64(n)
}
