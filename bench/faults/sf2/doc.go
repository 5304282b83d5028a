// Package sf2 reads a bank of recorded instruments (SoundFont 2, an open format:
// RIFF of form sfbk) far enough to play one note of one preset.
//
// A bank is three layers, each a run of zones:
//
//	preset     what a player chooses: zones by key and velocity, each naming an instrument
//	instrument zones by key and velocity, each naming a sample
//	sample     16-bit mono sound with a loop, a rate and the key it was played at
//
// A zone is a list of generators (number, amount). The first zone of a layer may
// be global: it names nothing and gives its values to the others. Instrument
// generators replace the defaults; preset generators are added to them.
//
// Played here: key and velocity zones, tuning, loops, attenuation, a volume
// envelope of attack, hold, decay, sustain and release. Left out: modulators,
// low-frequency oscillators, effects; a soft stroke is darkened by a one-pole
// low-pass in their place. Sample data stays in the file and is read a sample
// at a time. Source: the format's own text, version 2.04 (from memory: chunk
// names, record sizes, generator numbers and units).
package sf2
