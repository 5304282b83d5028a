package match

import (
	"slices"
	"strings"

	"tidemark/internal/model"
)

// What two names must share, and what it costs where only one of them says a
// thing: common practice, set by the corpus of names in the tests.
const (
	sourceShare  = 0.98 // a source's name against a track's, which is the recorder's own word
	partOnce     = 0.86 // "Kick" for "Kick in"
	indexOnce    = 0.80 // "Tom" for "Tom 2"
	sideOnce     = 0.80 // "OH" for "OH L"
	partDiffers  = 0.25
	indexDiffers = 0.20
	sideDiffers  = 0.10
	numberBonus  = 0.16 // a leading number that is the line's, with a name that fits
	bareNumber   = 0.80 // "Track 7" and nothing else
	strayNumber  = 0.50 // "07_Something" with a name that fits no line
)

// reading is a name prepared for comparing.
type reading struct {
	tokens []string
	joined string // without gaps: "kickin"
	words  model.SourceWords
	stem   []string
}

func read(text string) reading {
	t := model.Tokens(text)
	r := reading{tokens: t, joined: strings.Join(t, ""), words: model.ParseSource(text)}
	r.stem = strings.Fields(r.words.Stem)
	return r
}

// unsided is the reading of a pair by that of its left (or mid) half.
func unsided(text string) reading {
	r := read(text)
	r.tokens = slices.DeleteFunc(slices.Clone(r.tokens), func(t string) bool {
		s := model.ParseSource("piano " + t)
		return s.Stem == "piano" && (s.Side != model.NoSide || s.Part == model.MidPart || s.Part == model.SidePt)
	})
	r.joined = strings.Join(r.tokens, "")
	r.words.Side = model.NoSide
	if r.words.Part == model.MidPart || r.words.Part == model.SidePt {
		r.words.Part = model.NoPart
	}
	return r
}

// similarity is how well two names name the same line, 0 to 1. Equal names
// are 1; names of two known families are 0; names that each say something the
// other contradicts (gtr dave, gtr anna) are low; a name that leaves something
// out (gtr, gtr dave) is between.
func similarity(a, b reading) float64 {
	switch {
	case len(a.tokens) == 0 || len(b.tokens) == 0:
		return 0
	case a.joined == b.joined:
		return 1
	}
	x, y := a.words, b.words
	if x.Family != model.Unknown && y.Family != model.Unknown && x.Family != y.Family {
		return 0
	}
	s := 0.0
	if (x.Family == model.Unknown) == (y.Family == model.Unknown) {
		s = 0.97 * overlap(a.stem, b.stem)
	} else {
		s = 0.90 * overlap(a.stem, b.stem)
	}
	switch {
	case x.Part == y.Part:
	case x.Part == model.NoPart || y.Part == model.NoPart:
		s *= partOnce
	default:
		s *= partDiffers
	}
	switch {
	case x.Index == y.Index:
	case x.Index == 0 || y.Index == 0:
		s *= indexOnce
	default:
		s *= indexDiffers
	}
	switch {
	case x.Side == y.Side:
	case x.Side == model.NoSide || y.Side == model.NoSide:
		s *= sideOnce
	default:
		s *= sideDiffers
	}
	return s
}

// overlap compares the words of two stems: 1 for the same words, 0.5 and more
// where one says less than the other, little where each has words of its own.
func overlap(a, b []string) float64 {
	if len(a) == 0 && len(b) == 0 {
		return 0.6 // nothing but a part or a number on both sides
	}
	if len(a) == 0 || len(b) == 0 {
		return 0
	}
	used := make([]bool, len(b))
	sum, hits := 0.0, 0
	for _, w := range a {
		best, at := 0.0, -1
		for j, v := range b {
			if !used[j] {
				if l := likeness(w, v); l > best {
					best, at = l, j
				}
			}
		}
		if at >= 0 {
			used[at] = true
			sum += best
			hits++
		}
	}
	dice := 2 * sum / float64(len(a)+len(b))
	if hits == len(a) || hits == len(b) {
		return 0.5*sum/float64(hits) + 0.5*dice
	}
	return 0.5 * dice
}

// shortWords are places on a source that are written short.
var shortWords = map[string]string{"hi": "high", "lo": "low", "trb": "treble", "nk": "neck", "bdy": "body", "brdg": "bridge"}

// likeness of two words: equal, a name cut short (accord, accordion), or one
// letter typed wrong in a longer one.
func likeness(a, b string) float64 {
	if a == b || shortWords[a] == b || shortWords[b] == a {
		return 1
	}
	if len(a) > len(b) {
		a, b = b, a
	}
	if len(a) >= 3 && strings.HasPrefix(b, a) {
		return 0.85
	}
	if len(a) >= 5 && oneEdit(a, b) {
		if len(a) >= 7 {
			return 0.90
		}
		return 0.85
	}
	return 0
}

// oneEdit says whether the longer b is a with one letter changed, added, or
// exchanged with its neighbour.
func oneEdit(a, b string) bool {
	i := 0
	for i < len(a) && a[i] == b[i] {
		i++
	}
	switch len(b) - len(a) {
	case 0:
		return i < len(a) && (a[i+1:] == b[i+1:] ||
			i+1 < len(a) && a[i] == b[i+1] && a[i+1] == b[i] && a[i+2:] == b[i+2:])
	case 1:
		return a[i:] == b[i+1:]
	}
	return false
}

// unit is what is given to a line or to a pair: a channel, or an interleaved file.
type unit struct {
	rec      int
	channel  int
	stereo   bool // both channels of a file of two
	readings []reading
	whole    string // the file's whole name without gaps
	number   int
	bare     bool
	known    bool // the name names a family
}

// target is a line, or a pair of lines for an interleaved file.
type target struct {
	line, other     int // other is −1 for a single line
	sources, tracks []reading
	numbers         []int
	trackNumber     int
	byOrder         bool
}

// bid is how well a unit fits a target.
type bid struct {
	unit, target int
	score        float64 // above 1 where a number says the same as the name
	by           string
	numbered     bool
}

// offer scores a unit against a target.
func offer(u unit, t target) (score float64, by string, numbered bool) {
	for _, b := range t.tracks {
		if u.whole != "" && b.joined == u.whole {
			return 1 + numberBonus, byTrack, false
		}
	}
	for _, a := range u.readings {
		for _, b := range t.tracks {
			if s := similarity(a, b); s > score {
				score, by = s, byTrack
			}
		}
		for _, b := range t.sources {
			if s := sourceShare * similarity(a, b); s > score {
				score, by = s, bySource
			}
		}
	}
	if !u.stereo && t.other >= 0 || u.stereo && t.other < 0 {
		score *= 0.86 // a file of two channels on a list with one line
	}
	if u.number == 0 {
		return score, by, false
	}
	numbered = slices.Contains(t.numbers, u.number) && !t.byOrder
	switch {
	case u.bare && t.trackNumber > 0:
		if t.trackNumber == u.number {
			return bareNumber + 0.05, byNumber, true
		}
		return 0, "", false
	case u.bare && slices.Contains(t.numbers, u.number):
		if t.byOrder {
			return strayNumber, byNumber, false
		}
		return bareNumber, byNumber, true
	case numbered && score >= 0.4:
		return score + numberBonus, by, true
	case numbered && !u.known:
		return max(score, strayNumber), byNumber, true
	}
	return score, by, false
}
