package band

import "strings"

// phone is one sound of speech.
type phone struct {
	f1, f2, f3 float64 // formants of a woman's voice, Hz; 0: as the next vowel
	lastsS     float64 // of a consonant; vowels fill what is left
	voice      float64 // of the folds
	breath     float64 // noise at the folds, through the formants
	hissHz     float64 // noise at the teeth or lips: its middle
	hissQ      float64
	hiss       float64 // and its level
	stop       bool    // shut first, then a burst
	nasal      bool
	glideTo    string // second half of a diphthong
}

// Vowel formants: averages of women's American vowels, Peterson and Barney
// 1952, table II (from memory). Consonants: rounded common practice.
var phones = map[string]phone{
	"I":  {f1: 310, f2: 2790, f3: 3310, voice: 1},
	"i":  {f1: 430, f2: 2480, f3: 3070, voice: 1},
	"E":  {f1: 610, f2: 2330, f3: 2990, voice: 1},
	"A":  {f1: 860, f2: 2050, f3: 2850, voice: 1},
	"a":  {f1: 850, f2: 1220, f3: 2810, voice: 1},
	"O":  {f1: 590, f2: 920, f3: 2710, voice: 1},
	"u":  {f1: 470, f2: 1160, f3: 2680, voice: 1},
	"U":  {f1: 370, f2: 950, f3: 2670, voice: 1},
	"V":  {f1: 760, f2: 1400, f3: 2780, voice: 1},
	"R":  {f1: 500, f2: 1640, f3: 1960, voice: 1},
	"AI": {f1: 850, f2: 1300, f3: 2810, voice: 1, glideTo: "i"},
	"EI": {f1: 560, f2: 2380, f3: 2990, voice: 1, glideTo: "I"},
	"OU": {f1: 590, f2: 1000, f3: 2700, voice: 1, glideTo: "u"},
	"AU": {f1: 850, f2: 1300, f3: 2780, voice: 1, glideTo: "u"},

	"p": {lastsS: 0.085, stop: true, hissHz: 900, hissQ: 0.7, hiss: 0.5, breath: 0.3},
	"t": {lastsS: 0.085, stop: true, hissHz: 4600, hissQ: 0.9, hiss: 0.9, breath: 0.3},
	"k": {lastsS: 0.090, stop: true, hissHz: 2200, hissQ: 1.2, hiss: 0.8, breath: 0.3},
	"b": {lastsS: 0.070, stop: true, voice: 0.10, hissHz: 700, hissQ: 0.7, hiss: 0.2},
	"d": {lastsS: 0.065, stop: true, voice: 0.10, hissHz: 4000, hissQ: 0.9, hiss: 0.35},
	"g": {lastsS: 0.070, stop: true, voice: 0.10, hissHz: 2000, hissQ: 1.2, hiss: 0.3},
	"f": {lastsS: 0.090, hissHz: 6500, hissQ: 0.5, hiss: 0.35},
	"v": {lastsS: 0.060, f1: 300, f2: 1200, f3: 2500, voice: 0.35, hissHz: 6000, hissQ: 0.5, hiss: 0.15},
	"s": {lastsS: 0.105, hissHz: 7200, hissQ: 1.3, hiss: 1.0},
	"z": {lastsS: 0.080, f1: 300, f2: 1700, f3: 2700, voice: 0.3, hissHz: 7000, hissQ: 1.3, hiss: 0.5},
	"S": {lastsS: 0.110, hissHz: 3600, hissQ: 1.3, hiss: 0.9},
	"h": {lastsS: 0.070, breath: 0.8},
	"T": {lastsS: 0.060, f1: 350, f2: 1500, f3: 2700, voice: 0.3, hissHz: 6000, hissQ: 0.6, hiss: 0.1},
	"m": {lastsS: 0.075, f1: 270, f2: 1100, f3: 2300, voice: 0.45, nasal: true},
	"n": {lastsS: 0.070, f1: 270, f2: 1600, f3: 2600, voice: 0.45, nasal: true},
	"N": {lastsS: 0.080, f1: 270, f2: 2000, f3: 2700, voice: 0.42, nasal: true},
	"l": {lastsS: 0.070, f1: 370, f2: 1200, f3: 2900, voice: 0.6},
	"r": {lastsS: 0.070, f1: 400, f2: 1300, f3: 1700, voice: 0.65},
	"w": {lastsS: 0.070, f1: 330, f2: 750, f3: 2400, voice: 0.6},
	"y": {lastsS: 0.060, f1: 300, f2: 2500, f3: 3200, voice: 0.6},
}

// syllable is what is sung on one note: consonants, a vowel, consonants.
type syllable struct {
	before []string
	vowel  string
	after  []string
	midi   float64
	beat   float64 // of the vowel's beginning
	beats  float64
	shout  float64 // factor on its level; 0 means 1
}

// readSyllable reads "t.AI.m": phones between points. It panics on one that is
// not in the table: lyrics are part of the program.
func readSyllable(s string) syllable {
	var out syllable
	for _, p := range strings.Split(s, ".") {
		ph, ok := phones[p]
		if !ok {
			panic("band: no phone " + p + " in " + s)
		}
		switch {
		case ph.lastsS == 0:
			out.vowel = p
		case out.vowel == "":
			out.before = append(out.before, p)
		default:
			out.after = append(out.after, p)
		}
	}
	if out.vowel == "" {
		panic("band: no vowel in " + s)
	}
	return out
}
