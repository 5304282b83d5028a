// Package acoustics holds the calculators of air, distance and combs that
// placing microphones needs.
//
// Symbols: c speed of sound in m/s, T temperature in °C, f frequency in Hz.
// They are plain formulas: a wrong argument (a negative distance, absolute
// zero) panics, since no measurement reaches them unchecked.
package acoustics
