package meter

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"
)

// IEC 61260-1:2014 Table 1, third-octave breakpoints by Formula 9 (as Table F.1):
// relative attenuation at Ω = f/fm, class 1. Between breakpoints the limits are
// linear in log frequency; at the band edge they jump.
var iec61260Class1 = []struct{ omega, least, most float64 }{
	{1.00000, -0.4, 0.4},
	{1.02667, -0.4, 0.5},
	{1.05575, -0.4, 0.7},
	{1.08746, -0.4, 1.4},
	{1.12202, -0.4, 5.3}, // just inside
	{1.12202, 1.2, math.Inf(1)},
	{1.29437, 16.6, math.Inf(1)},
	{1.88173, 40.5, math.Inf(1)},
	{3.05365, 60, math.Inf(1)},
	{5.39195, 70, math.Inf(1)},
}

// class1 is the range of attenuation allowed at Ω.
func class1(omega float64) (least, most float64) {
	o := max(omega, 1/omega) // the low side mirrors the high side
	t := iec61260Class1
	for i := 1; i < len(t); i++ {
		if a, b := t[i-1], t[i]; o < b.omega {
			q := math.Log(o/a.omega) / math.Log(b.omega/a.omega)
			return a.least + q*(b.least-a.least), a.most + q*(b.most-a.most)
		}
	}
	return t[len(t)-1].least, math.Inf(1)
}

func tone(rate, n int, hz, amp float64) []float32 {
	x := make([]float32, n)
	z, turn := cmplx.Rect(amp, 0.3), cmplx.Rect(1, 2*math.Pi*hz/float64(rate))
	for i := range x {
		x[i] = float32(imag(z))
		z *= turn
	}
	return x
}

func bandOf(t *testing.T, r SpectrumReading, nominal float64) float64 {
	t.Helper()
	for _, b := range r.Bands {
		if b.NominalHz == nominal {
			return float64(b.Level.Or(-400))
		}
	}
	t.Fatalf("no band of %g Hz", nominal)
	return 0
}

func TestBandsMeetClass1(t *testing.T) {
	for _, rate := range []int{44100, 48000, 96000} {
		for _, nominal := range []float64{25, 31.5, 125, 400, 500, 1000, 8000} {
			t.Run(fmt.Sprintf("%g Hz at %d", nominal, rate), func(t *testing.T) {
				var center float64
				for _, b := range NewSpectrum(rate).Reading().Bands {
					if b.NominalHz == nominal {
						center = b.CenterHz
					}
				}
				seconds := 1.5
				if nominal < 500 {
					seconds = 8 // transients of the tone's ends must not fill the far bands
				}
				tested := 0
				for _, omega := range []float64{0.12, 0.185, 0.25, 0.327, 0.42, 0.531, 0.65, 0.772, 0.83, 0.885, 0.8975, 0.92, 0.947, 0.974, 1,
					1.0267, 1.0557, 1.08, 1.113, 1.13, 1.2, 1.295, 1.5, 1.882, 2.5, 3.054, 5.392, 7} {
					hz := omega * center
					if hz < 15 || hz > 0.45*float64(rate) {
						continue
					}
					n := int(seconds * float64(rate))
					x := tone(rate, n, hz, 0.5)
					for i := range n / 4 { // fade the ends
						g := float32(0.5 - 0.5*math.Cos(math.Pi*float64(i)/float64(n/4)))
						x[i] *= g
						x[n-1-i] *= g
					}
					m := NewSpectrum(rate)
					m.Measure(x)
					var total float64
					for _, v := range x {
						total += float64(v) * float64(v)
					}
					attenuation := 10*math.Log10(total/float64(n)) + 3.0103 - bandOf(t, m.Reading(), nominal)
					least, most := class1(omega)
					if attenuation < least-1e-9 || attenuation > most {
						t.Errorf("Ω %.4f (%.1f Hz): attenuation %.2f dB, want %.2f to %.2f", omega, hz, attenuation, least, most)
					}
					tested++
				}
				if tested < 14 {
					t.Errorf("only %d frequencies tested", tested)
				}
			})
		}
	}
}

// IEC 61260-1:2014 5.16: the bands together, for a tone swept through them, stay
// within +0.8 and −1.8 dB (class 1). Here every quarter of a band.
func TestBandsAddUp(t *testing.T) {
	const rate = 48000
	for x := -15.0; x <= 12; x += 0.25 {
		hz := 1000 * math.Pow(10, x/10)
		m := NewSpectrum(rate)
		m.Measure(tone(rate, 2*rate, hz, 0.5))
		var sum float64
		for _, b := range m.Reading().Bands {
			sum += math.Pow(10, float64(b.Level.Or(-400))/10)
		}
		if got := 10*math.Log10(sum) + 6.0206; got > 0.8 || got < -1.8 {
			t.Errorf("%.1f Hz: bands add up to %+.2f dB, want +0.8 to −1.8", hz, got)
		}
	}
}
