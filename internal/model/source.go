package model

import (
	"slices"
	"strconv"
	"strings"
)

// SourceWords is what the vocabulary makes of a source's name.
type SourceWords struct {
	Family Family // Unknown where no word was recognised
	Part   Part
	Side   Side
	Index  int    // the first number in the name, 0 without
	Stem   string // the rest in normal words: "snare", "gtr dave"
}

// ParseSource reads a source as an assistant types it: "K in", "SN T",
// "OH L", "EG Dave", "BGV 2". Words that it does not know stay in the stem as
// they are (folded), so that they can still be compared literally; nothing is
// guessed for them. See the vocabulary for how ambiguous words are read. An
// empty text gives the zero value.
func ParseSource(text string) SourceWords {
	tokens := Tokens(text)
	hits := findTerms(tokens)
	s := SourceWords{Family: chooseFamily(hits)}

	var stem []string
	sub := false
	for i := 0; i < len(tokens); {
		if h, ok := hits[i]; ok {
			if h.term == subKick {
				sub = true
			}
			canon := h.term.canon
			if h.term.weak && h.term.family != s.Family {
				canon = strings.Join(tokens[i:i+h.length], " ") // "lead gtr" keeps its lead
			}
			stem = appendNew(stem, canon)
			if h.side != NoSide && s.Side == NoSide {
				s.Side = h.side
			}
			i += h.length
			continue
		}
		t := tokens[i]
		two := ""
		if i+1 < len(tokens) {
			two = t + " " + tokens[i+1]
		}
		switch {
		case isNumber(t):
			if n, err := strconv.Atoi(t); err == nil && s.Index == 0 && n > 0 {
				s.Index = n
			} else {
				stem = append(stem, t)
			}
		case two != "" && s.Part == NoPart && partOf(two, s.Family) != NoPart: // "d i"
			s.Part = partOf(two, s.Family)
			i++
		case t == "r" && (two == "r b" || two == "r n"): // a style of music has no side
			stem = append(stem, t)
		case s.Side == NoSide && sideTerms[t] != NoSide && (len(tokens) > 1 || len(t) > 1):
			s.Side = sideTerms[t]
		case s.Part == NoPart && partOf(t, s.Family) != NoPart && !(i == 0 && len(tokens) > 1 && len(hits) == 0 && isNumber(tokens[1])):
			// "In 7" is a name without a source, not the inside of one.
			s.Part = partOf(t, s.Family)
		case fillers[t] && len(tokens) > 1:
		case kitWords[t] && len(hits) > 0:
		default:
			stem = append(stem, t)
		}
		i++
	}
	if sub && s.Part == NoPart {
		s.Part = Sub
	}
	s.Stem = strings.Join(stem, " ")
	return s
}

// appendNew adds the words of a term unless the stem already has them:
// "kick drum sub kick" stays "kick".
func appendNew(stem []string, canon string) []string {
	for _, w := range strings.Fields(canon) {
		if !slices.Contains(stem, w) {
			stem = append(stem, w)
		}
	}
	return stem
}

// hit is a term found at a token.
type hit struct {
	term   *term
	length int // tokens
	side   Side
}

// findTerms finds the longest phrase at each token.
func findTerms(tokens []string) map[int]hit {
	hits := map[int]hit{}
	for i := 0; i < len(tokens); {
		h, ok := longestAt(tokens, i)
		if !ok {
			i++
			continue
		}
		hits[i] = h
		i += h.length
	}
	return hits
}

var (
	tomTerm, rackTerm, kickTerm, snareTerm = phrases["tom"], phrases["rack"], phrases["kick"], phrases["snare"]
)

func longestAt(tokens []string, i int) (hit, bool) {
	for n := min(longestPhrase, len(tokens)-i); n >= 1; n-- {
		if t, ok := phrases[strings.Join(tokens[i:i+n], " ")]; ok {
			return hit{term: t, length: n}, true
		}
	}
	w := tokens[i]
	next := ""
	if i+1 < len(tokens) {
		next = tokens[i+1]
	}
	switch {
	case w == "t" && isNumber(next):
		return hit{term: tomTerm, length: 1}, true
	case w == "rt" && isNumber(next):
		return hit{term: rackTerm, length: 1}, true
	case w == "k" && i == 0 && onlyParts(tokens[1:]):
		return hit{term: kickTerm, length: 1}, true
	case w == "s" && i == 0 && len(tokens) == 2 && (partOf(next, Unknown) == Top || partOf(next, Unknown) == Bottom):
		return hit{term: snareTerm, length: 1}, true
	}
	// "OHL", "RMR", "PNOL": a side written on to a short name; "kicks", "vlns".
	if len(w) >= 3 {
		head, end := w[:len(w)-1], w[len(w)-1:]
		if t, ok := phrases[head]; ok && len(head) >= 2 {
			switch {
			case (end == "l" || end == "r") && writtenInPairs(t.family):
				return hit{term: t, length: 1, side: sideTerms[end]}, true
			case end == "s" && len(head) >= 3:
				return hit{term: t, length: 1}, true
			}
		}
	}
	return hit{}, false
}

// writtenInPairs are the families whose short names take an L or R at once.
func writtenInPairs(f Family) bool {
	switch f {
	case Overhead, Room, Piano, Keys, Organ, Playback, Strings, Percussion, Guitar:
		return true
	}
	return false
}

// onlyParts says whether nothing but parts, sides, numbers and fillers follow.
func onlyParts(tokens []string) bool {
	for _, t := range tokens {
		if !isNumber(t) && partOf(t, Kick) == NoPart && sideTerms[t] == NoSide && !fillers[t] {
			return false
		}
	}
	return true
}

func isNumber(t string) bool {
	if t == "" {
		return false
	}
	for _, r := range t {
		if r < '0' || r > '9' {
			return false
		}
	}
	return true
}

// partOf reads a word as a part of a family's source.
func partOf(word string, f Family) Part {
	if word == "mid" && f == Tom {
		return NoPart // the middle tom
	}
	for _, p := range partWords[word] {
		if p.only == nil || slices.Contains(p.only, f) {
			return p.part
		}
	}
	return NoPart
}

// chooseFamily decides between several families named in one cell. Talkback
// and click are what they are whoever uses them; a room is a room whatever it
// is named for; an overhead over something that is no drum is that thing's
// microphone; otherwise the last word is the noun ("gtr vox" is a voice).
func chooseFamily(hits map[int]hit) Family {
	at := make([]int, 0, len(hits))
	for i := range hits {
		at = append(at, i)
	}
	slices.Sort(at)
	var last, weak, room, cue Family
	overhead := false
	for _, i := range at {
		t := hits[i].term
		switch {
		case t.family == Talkback || t.family == Click:
			cue = t.family
		case t.family == Room:
			room = Room
		case t.family == Overhead:
			overhead = true
		case t.weak:
			weak = t.family
		default:
			last = t.family
		}
	}
	switch {
	case cue != Unknown:
		return cue
	case room != Unknown:
		return room
	case overhead && (last.Kit() || last == Unknown && weak == Unknown):
		return Overhead
	case last != Unknown:
		return last
	}
	return weak
}

// ReadSources fills Family, Part, Index, Stem and Side of each line from its
// source, and then reads what only neighbours can tell: "M" and "S" are mid
// and side where two rows next to each other differ in nothing else. A Side
// or Part that a line already has (a row split in two) is kept.
func ReadSources(lines []Line) {
	for i := range lines {
		l := &lines[i]
		s := ParseSource(l.Source)
		l.Family, l.Index, l.Stem = s.Family, s.Index, s.Stem
		if l.Part == NoPart {
			l.Part = s.Part
		}
		if l.Side == NoSide {
			l.Side = s.Side
		}
	}
	for i := 0; i+1 < len(lines); i++ {
		a, aLetter := cutLetter(lines[i].Stem)
		b, bLetter := cutLetter(lines[i+1].Stem)
		if a != b || lines[i].Part != NoPart || lines[i+1].Part != NoPart {
			continue
		}
		switch aLetter + bLetter {
		case "ms":
			lines[i].Part, lines[i+1].Part = MidPart, SidePt
		case "sm":
			lines[i].Part, lines[i+1].Part = SidePt, MidPart
		default:
			continue
		}
		lines[i].Stem, lines[i+1].Stem = a, b
	}
}

// cutLetter takes a last single letter off a stem: "room m" → "room", "m".
func cutLetter(stem string) (rest, letter string) {
	i := strings.LastIndexByte(stem, ' ')
	if len(stem)-i-1 != 1 {
		return stem, ""
	}
	return strings.TrimSpace(stem[:max(i, 0)]), stem[i+1:]
}
