package model

import "strings"

// The vocabulary of input lists: short and long names of sources as the trade
// types them in English. All of it is common practice without a published
// source. Words of other languages are left alone: a source that is not
// recognised is Unknown, which costs a rule and never a wrong one.
//
// Ambiguous words and how they are read:
//
//	T1        tom 1; a T without a number is no tom
//	SD        snare ("side drum"), never the second part of a mid-side pair
//	K         kick, only first in the cell and with nothing but parts and numbers after it
//	S, B, T   top, bottom after a drum; S top is a snare
//	M, S      mid and side only where a neighbouring row has the other (ReadSources)
//	BG, DB    nothing: backing or bass guitar, double bass or decibel
//	RT, LT    right and left after a source; RT1 is rack tom 1
//	lead      a voice, unless another source is named (lead gtr)
//	bass      gives way to any other source (bass vox, accordion bass)
//	acc       accordion
//	sub       a kick's third microphone, only with a kick

// term is one entry: phrases that name the same thing.
type term struct {
	family Family
	weak   bool   // gives way to any other family in the cell
	canon  string // what the stem keeps of it
	words  string // phrases, parted by commas, folded and spaced as tokens are
}

var terms = []term{
	{family: Kick, canon: "kick", words: "kick, kik, kck, kicks, bd, kd, kick drum, bass drum, bassdrum, bdrum"},
	{family: Snare, canon: "snare", words: "snare, snares, snr, sn, sd, sna, snare drum, side drum"},
	{family: HiHat, canon: "hat", words: "hat, hats, hh, hihat, hihats, hi hat, hi hats, high hat, high hats, hhat, h h"},
	{family: Tom, canon: "tom", words: "tom, toms, tom tom"},
	{family: Tom, canon: "rack tom", words: "rack, racks, rack tom, rack toms, rck tom"},
	{family: Tom, canon: "floor tom", words: "floor, floor tom, floor toms, ft, flr, flr tom, fl tom, ftom"},
	{family: Cymbal, canon: "cymbal", words: "cymbal, cymbals, cym, cyms"},
	{family: Cymbal, canon: "ride", words: "ride, ride cymbal, ride cym"},
	{family: Cymbal, canon: "crash", words: "crash, crash cymbal"},
	{family: Cymbal, canon: "splash", words: "splash"},
	{family: Cymbal, canon: "china", words: "china"},
	{family: Overhead, canon: "overhead", words: "overhead, overheads, over head, over heads, oh, ohs, o h, ovh, ovhd, ovhds, ovrhd, ovhead, ohead"},
	{family: Room, canon: "room", words: "room, rooms, rm, rms, amb, ambi, ambience, ambiance, ambient, room mic, room mics"},
	{family: Room, canon: "hall", words: "hall"},
	{family: Room, canon: "crowd", words: "crowd, audience"},

	{family: Percussion, canon: "percussion", words: "percussion, perc, prc, percs"},
	{family: Percussion, canon: "conga", words: "conga, congas, cga, cng"},
	{family: Percussion, canon: "bongo", words: "bongo, bongos"},
	{family: Percussion, canon: "tambourine", words: "tambourine, tamb, tmb, tambo"},
	{family: Percussion, canon: "shaker", words: "shaker, shakers, sh, shk, shkr"},
	{family: Percussion, canon: "cajon", words: "cajon"},
	{family: Percussion, canon: "djembe", words: "djembe"},
	{family: Percussion, canon: "cowbell", words: "cowbell, cow bell"},
	{family: Percussion, canon: "timbale", words: "timbale, timbales"},
	{family: Percussion, canon: "timpani", words: "timpani, timp, timps"},
	{family: Percussion, canon: "tabla", words: "tabla, tablas"},
	{family: Percussion, canon: "triangle", words: "triangle"},
	{family: Percussion, canon: "maraca", words: "maraca, maracas"},
	{family: Percussion, canon: "clave", words: "clave, claves"},
	{family: Percussion, canon: "castanet", words: "castanet, castanets"},
	{family: Percussion, canon: "guiro", words: "guiro, guiros"},
	{family: Percussion, canon: "cabasa", words: "cabasa"},
	{family: Percussion, canon: "agogo", words: "agogo, agogos"},
	{family: Percussion, canon: "woodblock", words: "woodblock, woodblocks, wood block, wood blocks, block, blocks"},
	{family: Percussion, canon: "clap", words: "clap, claps, hand clap, hand claps, handclap, handclaps"},
	{family: Percussion, canon: "vibraphone", words: "vibraphone, vibes"},
	{family: Percussion, canon: "marimba", words: "marimba"},
	{family: Percussion, canon: "xylophone", words: "xylophone, xylo"},
	{family: Percussion, canon: "glockenspiel", words: "glockenspiel, glock"},

	{family: Bass, weak: true, canon: "bass", words: "bass, bs, bss, bass guitar, bass gtr, e bass, ebass, electric bass, el bass"},
	{family: Bass, canon: "upright bass", words: "upright bass, upright, double bass, dbl bass, contrabass, acoustic bass, kontrabass"},
	{family: Guitar, canon: "gtr", words: "gtr, gtrs, gt, gtar, guitar, guitars, git, eg, egt, egtr, e gtr, e guitar, el gtr, elec gtr, elec guitar, electric gtr, electric guitar"},
	{family: Guitar, weak: true, canon: "gtr", words: "electric, elec"},
	{family: Guitar, canon: "steel", words: "pedal steel, lap steel, steel guitar, steel gtr, steel"},
	{family: Acoustic, canon: "acoustic", words: "ag, agt, agtr, a gtr, ac gtr, ac guitar, acgtr, aco gtr, acou gtr, acoustic, acoustic gtr, acoustic guitar, acous, acous gtr, nylon, nylon gtr, nylon guitar"},
	{family: Acoustic, canon: "mandolin", words: "mandolin, mando, mand"},
	{family: Acoustic, canon: "banjo", words: "banjo, bjo"},
	{family: Acoustic, canon: "ukulele", words: "ukulele, uke"},
	{family: Acoustic, canon: "bouzouki", words: "bouzouki"},
	{family: Piano, canon: "piano", words: "piano, pno, pianos, grand, grand piano, upright piano, pft, acoustic piano"},
	{family: Organ, canon: "organ", words: "organ, org"},
	{family: Accordion, canon: "accordion", words: "accordion, accordeon, accord, acc, acco, accrd, squeezebox"},
	{family: Accordion, canon: "concertina", words: "concertina"},
	{family: Accordion, canon: "bandoneon", words: "bandoneon"},
	{family: Accordion, canon: "melodeon", words: "melodeon"},
	{family: Keys, canon: "keys", words: "keys, key, kb, kbd, kbs, keyb, keyboard, keyboards, kybd"},
	{family: Keys, canon: "synth", words: "synth, synths, syn, synthesizer, synthesiser"},
	{family: Keys, canon: "synth bass", words: "synth bass, bass synth, syn bass, key bass, bass keys"},
	{family: Keys, canon: "electric piano", words: "electric piano, e piano, epiano, el piano, elec piano, ep, epno, e pno"},

	{family: Strings, canon: "violin", words: "violin, violins, vln, vlns, vn"},
	{family: Strings, canon: "fiddle", words: "fiddle, fdl"},
	{family: Strings, canon: "viola", words: "viola, violas, vla, vlas"},
	{family: Strings, canon: "cello", words: "cello, cellos, celli, vc, vcl, vlc"},
	{family: Strings, canon: "strings", words: "strings, string, str, strgs"},
	{family: Strings, canon: "harp", words: "harp"},
	{family: Winds, canon: "sax", words: "sax, saxes, saxophone"},
	{family: Winds, canon: "alto sax", words: "alto sax, alto saxophone, a sax"},
	{family: Winds, canon: "tenor sax", words: "tenor sax, tenor saxophone, t sax"},
	{family: Winds, canon: "baritone sax", words: "bari sax, baritone sax, bari, b sax"},
	{family: Winds, canon: "soprano sax", words: "soprano sax, sop sax"},
	{family: Winds, canon: "trumpet", words: "trumpet, trumpets, tpt, trp, trpt"},
	{family: Winds, canon: "flugelhorn", words: "flugelhorn, flugel, flgl"},
	{family: Winds, canon: "trombone", words: "trombone, trombones, tbn, trb, tbone, bone"},
	{family: Winds, canon: "horn", words: "horn, horns, hn, french horn, fr horn"},
	{family: Winds, canon: "tuba", words: "tuba"},
	{family: Winds, canon: "flute", words: "flute, flutes, flt"},
	{family: Winds, canon: "clarinet", words: "clarinet, clarinets, clar, clt"},
	{family: Winds, canon: "oboe", words: "oboe"},
	{family: Winds, canon: "bassoon", words: "bassoon, bsn"},
	{family: Winds, canon: "brass", words: "brass"},
	{family: Winds, canon: "winds", words: "winds, woodwinds, reeds"},
	{family: Winds, canon: "harmonica", words: "harmonica, hca"},
	{family: Winds, canon: "whistle", words: "whistle, tin whistle, low whistle"},

	{family: Voice, canon: "voice", words: "vox, vocal, vocals, voc, vocs, vx, voice, singer"},
	{family: Voice, canon: "lead voice", words: "lv, lvox, ldv, ldvox, lead vox, lead voc, lead vocal, lead vocals, lead voice, ld vox, ld voc, ld vocal, main vox, main vocal, vox lead, vocal lead, vox ld, lead singer"},
	{family: Voice, weak: true, canon: "lead voice", words: "lead"},
	{family: Backing, canon: "backing voice", words: "bv, bvs, bvox, bvoc, bgv, bgvs, bgvox, bg vox, bg vocal, bg voc, backing, backing vox, backing vocal, backing vocals, backing voc, backing voice, backing voices, back vox, background vox, background vocal, background vocals, backup vox, backup vocal, vox bg, vox backing, harmony vox, harmony vocal"},
	{family: Backing, canon: "choir", words: "choir, chorus vox"},
	{family: Talkback, canon: "talkback", words: "tb, t b, tbk, talkback, talk back, talkbk, talk"},
	{family: Click, canon: "click", words: "click, clk, click track, clicktrack, metronome"},
	{family: Playback, canon: "playback", words: "playback, play back, pb, pbk, backing track, backing tracks, backing trk, backing trks, trax"},
	{family: Playback, weak: true, canon: "tracks", words: "tracks, trks"},
	{family: Playback, canon: "samples", words: "sample, samples, sampler, loop, loops, drum machine, sequencer"},
}

// partTerm reads a word as a part. only restricts it to families in which the
// word has that meaning.
type partTerm struct {
	part  Part
	only  []Family // nil: any
	words string
}

var partTerms = []partTerm{
	{part: In, words: "in, inside, ins, inner"},
	{part: Out, words: "out, outside, outer"},
	{part: Out, only: []Family{Kick}, words: "port, hole, front, reso, resonant"},
	{part: Top, words: "top, tp"},
	{part: Top, only: []Family{Kick, Snare, Tom}, words: "beater, btr, batter"},
	{part: Top, only: []Family{Snare, Tom, HiHat}, words: "t, over"},
	{part: Bottom, words: "bottom, bot, btm, bttm, bott, under, underneath, und"},
	{part: Bottom, only: []Family{Snare, Tom, HiHat}, words: "b, reso, resonant"},
	{part: Sub, only: []Family{Kick}, words: "sub"},
	{part: DI, words: "di, d i, dir, direct, pickup, piezo"},
	{part: Amp, words: "amp, amplifier, cab, cabinet, combo, speaker, spkr"},
	{part: MidPart, words: "mid"},
	{part: SidePt, words: "side"},
	{part: Close, words: "close, near, clo, spot"},
	{part: Far, words: "far, distant"},
}

var sideTerms = map[string]Side{
	"l": Left, "left": Left, "lft": Left, "lt": Left, "lh": Left,
	"r": Right, "right": Right, "rgt": Right, "rght": Right, "rt": Right, "rh": Right,
}

// fillers say nothing about which source it is.
var fillers = map[string]bool{
	"mic": true, "mics": true, "mike": true, "mikes": true, "mono": true,
	"stereo": true, "st": true, "pair": true, "ms": true, "the": true,
	"nd": true, "rd": true, "nr": true, "no": true,
}

// kitWords are dropped from a stem that names a drum or a room besides.
var kitWords = map[string]bool{"drum": true, "drums": true, "kit": true, "drumkit": true, "dr": true, "drm": true, "drms": true}

// phrases maps each phrase of the terms to its term, by the phrase's tokens
// joined with a space; longestPhrase is the most tokens a phrase has.
var phrases, longestPhrase = indexPhrases()

func indexPhrases() (map[string]*term, int) {
	m, longest := map[string]*term{}, 1
	for i := range terms {
		for _, w := range strings.Split(terms[i].words, ", ") {
			m[w] = &terms[i]
			longest = max(longest, strings.Count(w, " ")+1)
		}
	}
	for _, p := range []string{"sub kick", "subkick", "sub kik"} {
		m[p] = subKick
	}
	return m, longest
}

// subKick is a large diaphragm in front of the drum: a phrase that is family
// and part at once.
var subKick = &term{family: Kick, canon: "kick"}

// partWords maps a word to the parts it may mean.
var partWords = indexParts()

func indexParts() map[string][]partTerm {
	m := map[string][]partTerm{}
	for _, p := range partTerms {
		for _, w := range strings.Split(p.words, ", ") {
			m[w] = append(m[w], p)
		}
	}
	return m
}
