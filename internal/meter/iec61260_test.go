package meter

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"tidemark/internal/conform"
)

// IEC 61260-1:2014 Table 1: limits of relative attenuation in dB, class 1, at
// breakpoints Ω = G^e of octave filters. Between breakpoints the limits are
// linear in log frequency; at the band edge they jump. The low side mirrors the
// high side.
var iec61260Class1 = []struct{ e, least, most float64 }{
	{0, -0.4, 0.4},
	{0.125, -0.4, 0.5},
	{0.25, -0.4, 0.7},
	{0.375, -0.4, 1.4},
	{0.5, -0.4, 5.3}, // just inside
	{0.5, 1.2, math.Inf(1)},
	{1, 16.6, math.Inf(1)},
	{2, 40.5, math.Inf(1)},
	{3, 60, math.Inf(1)},
	{4, 70, math.Inf(1)},
}

// thirdOctaveOmega is the breakpoint of a third-octave filter that belongs to
// the octave filter's G^e, by Formula 9 (values as in Table F.1).
func thirdOctaveOmega(e float64) float64 {
	g := math.Pow(10, 0.3)
	return 1 + (math.Pow(g, 1./6)-1)/(math.Sqrt(g)-1)*(math.Pow(g, e)-1)
}

// class1 is the range of attenuation allowed at Ω; on the edge that of both sides.
func class1(omega float64) (least, most float64) {
	o := max(omega, 1/omega)
	t := iec61260Class1
	for i := 1; i < len(t); i++ {
		a, b := t[i-1], t[i]
		left, right := thirdOctaveOmega(a.e), thirdOctaveOmega(b.e)
		if b.e == 0.5 && math.Abs(o/right-1) < 1e-9 {
			return t[i+1].least, b.most
		}
		if o < right {
			q := math.Log(o/left) / math.Log(right/left)
			least, most = a.least+q*(b.least-a.least), math.Inf(1)
			if !math.IsInf(b.most, 1) {
				most = a.most + q*(b.most-a.most)
			}
			return least, most
		}
	}
	return t[len(t)-1].least, math.Inf(1)
}

// Table F.1, five decimals.
func TestThirdOctaveBreakpoints(t *testing.T) {
	for e, want := range map[float64]float64{0.125: 1.02667, 0.25: 1.05575, 0.375: 1.08746, 0.5: 1.12202, 1: 1.29437, 2: 1.88173, 3: 3.05365, 4: 5.39195} {
		wantNear(t, fmt.Sprintf("breakpoint of G^%g", e), thirdOctaveOmega(e), want, 0.5e-5)
	}
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

// swell is a tone that comes and goes along a whole Hann window, so that its
// ends do not fill the far bands; with the level that its power has.
func swell(rate, n int, hz float64) (x []float32, level float64) {
	x = tone(rate, n, hz, 0.9)
	along, turn := complex(1, 0), cmplx.Rect(1, 2*math.Pi/float64(n))
	var power float64
	for i := range x {
		x[i] *= float32(0.5 - 0.5*real(along))
		along *= turn
		power += float64(x[i]) * float64(x[i])
	}
	return x, 10*math.Log10(power/float64(n)) + 3.0103
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

// Every band at every rate against the mask: on all breakpoints of both sides,
// and between those that lie far apart. At 44.1 kHz the band of 20 kHz would
// reach past half the rate, and the meter has none.
func TestBandsMeetClass1(t *testing.T) {
	var omegas []float64
	for _, e := range []float64{0, 0.125, 0.25, 0.375, 0.45, 0.5, 0.6, 1, 1.5, 2, 3, 4} {
		omega := thirdOctaveOmega(e)
		omegas = append(omegas, omega)
		if e > 0 {
			omegas = append(omegas, 1/omega)
		}
	}
	for _, rate := range standardRates {
		bands := NewSpectrum(rate).Reading().Bands
		if want := map[bool]int{true: 29, false: 30}[rate == 44100]; len(bands) != want {
			t.Errorf("%d bands at %d Hz, want %d", len(bands), rate, want)
		}
		excess := math.Inf(1) // over the attenuation demanded past the edges, of all bands
		for _, band := range bands {
			seconds := 0.5
			if band.NominalHz < 500 {
				seconds = 3 // windows are long there
			}
			margin, tested := math.Inf(1), 0
			for _, omega := range omegas {
				hz := omega * band.CenterHz
				if hz > 0.49*float64(rate) {
					continue
				}
				x, level := swell(rate, int(seconds*float64(rate)), hz)
				m := NewSpectrum(rate)
				m.Measure(x)
				attenuation := level - bandOf(t, m.Reading(), band.NominalHz)
				least, most := class1(omega)
				if attenuation < least || attenuation > most {
					t.Errorf("%g Hz at %d Hz, Ω %.5f (%.1f Hz): attenuation %.3f dB, want %.3f to %.3f", band.NominalHz, rate, omega, hz, attenuation, least, most)
				}
				margin = min(margin, attenuation-least, most-attenuation)
				if least > 1.2 {
					excess = min(excess, attenuation-least)
				}
				tested++
			}
			if tested < 13 {
				t.Errorf("%g Hz at %d Hz: only %d tones", band.NominalHz, rate, tested)
			}
			conform.Check(t, conform.Row{
				Section: "Band filters", Case: fmt.Sprintf("third octave of %s, %s: smallest distance inside the class 1 mask, which is 0.4 dB wide in the middle, of %d tones", hertz(band.NominalHz), kHz(rate), tested),
				Source: "IEC 61260-1:2014 Table 1, breakpoints by Formula 9", Unit: "dB", Expected: 0.4, Under: 0.4, Digits: 2, Measured: margin,
			})
		}
		conform.Check(t, conform.Row{
			Section: "Band filters", Case: fmt.Sprintf("all third octaves past their edges, %s: least attenuation over what class 1 demands, 0 and more is enough", kHz(rate)),
			Source: "IEC 61260-1:2014 Table 1, breakpoints by Formula 9", Unit: "dB", Over: 100, Digits: 1, Measured: excess,
		})
	}
}

// IEC 61260-1:2014 5.16: the bands together, for a tone swept through them, stay
// within +0.8 and −1.8 dB (class 1). Here every quarter of a band.
func TestBandsAddUp(t *testing.T) {
	for _, rate := range standardRates {
		var s span
		for x := -15.0; x <= 12; x += 0.25 {
			seconds := 1.0
			if x > -3 {
				seconds = 0.25
			}
			y, level := swell(rate, int(seconds*float64(rate)), 1000*math.Pow(10, x/10))
			m := NewSpectrum(rate)
			m.Measure(y)
			var sum float64
			for _, b := range m.Reading().Bands {
				sum += math.Pow(10, float64(b.Level.Or(-400))/10)
			}
			s.add(10*math.Log10(sum) - level)
		}
		for which, got := range map[string]float64{"lowest": s.low, "highest": s.up} {
			conform.Check(t, conform.Row{
				Section: "Band filters", Case: fmt.Sprintf("sum of the bands for a tone swept from 31.5 Hz to 16 kHz, %s, %s", which, kHz(rate)),
				Source: "IEC 61260-1:2014 5.16, class 1", Unit: "dB", Under: 1.8, Over: 0.8, Digits: 2, Measured: got,
			})
		}
	}
}
