package acoustics

import (
	"fmt"
	"math"

	"tidemark/internal/unit"
)

// absoluteZero is 0 K in °C.
const absoluteZero = -273.15

// StandardPressureKPa is the reference pressure of ISO 9613-1.
const StandardPressureKPa = 101.325

// SpeedOfSound is the speed of sound in m/s in air of t °C:
//
//	c = 343.2·√((t + 273.15)/293.15)     ISO 9613-1:1993 clause 8
//
// Humidity, which this leaves out, adds at most 0.36 % at 20 °C. It panics at
// and below absolute zero.
func SpeedOfSound(t float64) float64 {
	if !(t > absoluteZero) {
		panic(fmt.Sprintf("acoustics: %g °C is not a temperature of air", t))
	}
	return 343.2 * math.Sqrt((t-absoluteZero)/293.15)
}

// SpeedOfSoundSimple is the handbook formula 331.3·√(1 + t/273.15) in m/s; it
// reads about 0.01 m/s over SpeedOfSound. It panics at and below absolute zero.
func SpeedOfSoundSimple(t float64) float64 {
	if !(t > absoluteZero) {
		panic(fmt.Sprintf("acoustics: %g °C is not a temperature of air", t))
	}
	return 331.3 * math.Sqrt(1+t/-absoluteZero)
}

// Air is the state that absorption depends on.
type Air struct {
	Celsius         float64
	HumidityPercent float64 // relative, 0 … 100
	PressureKPa     float64 // 0 stands for StandardPressureKPa
}

// Absorption is how much a pure tone loses by the air alone, in dB per metre at
// f Hz; ISO 9613-1:1993, equations 3 to 5, B.2 and B.3. The standard claims
// ±10 % between 50 Hz and 10 kHz.
func (a Air) Absorption(f unit.Hertz) unit.DB {
	if !(a.Celsius > absoluteZero) {
		panic(fmt.Sprintf("acoustics: %g °C is not a temperature of air", a.Celsius))
	}
	const t0, t01, pr = 293.15, 273.16, StandardPressureKPa
	pa := a.PressureKPa
	if pa == 0 {
		pa = pr
	}
	p := pa / pr
	t := a.Celsius - absoluteZero
	rel := t / t0
	saturation := math.Pow(10, -6.8346*math.Pow(t01/t, 1.261)+4.6151) // re pr
	h := a.HumidityPercent * saturation / p                           // molar concentration of water, %
	oxygen := p * (24 + 4.04e4*h*(0.02+h)/(0.391+h))
	nitrogen := p / math.Sqrt(rel) * (9 + 280*h*math.Exp(-4.170*(math.Pow(rel, -1.0/3)-1)))
	ff := float64(f) * float64(f)
	return unit.DB(8.686 * ff * (1.84e-11/p*math.Sqrt(rel) + math.Pow(rel, -2.5)*
		(0.01275*math.Exp(-2239.1/t)/(oxygen+ff/oxygen)+0.1068*math.Exp(-3352.0/t)/(nitrogen+ff/nitrogen))))
}
