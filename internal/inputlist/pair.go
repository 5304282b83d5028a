package inputlist

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"tidemark/internal/model"
)

// half is one of the lines that a row stands for.
type half struct {
	number int
	source string
	side   model.Side
	linked bool // a half of one thing: the lines are each other's partner
}

var (
	sidesInName = regexp.MustCompile(`(?i)[\s(\[_-]*\b(l\s*[/&+,\-]\s*r|l and r|lr|left\s*[/&+,\-]\s*right|left and right)\b[)\]]*`)
	wordPair    = regexp.MustCompile(`(?i)([a-z.]+)\s*[/&+]\s*([a-z.]+)`)
	indexPair   = regexp.MustCompile(`^(.*?)(\d{1,3})\s*(?:/|&|\+|-|–|,|and)\s*([A-Za-z]*\s*)(\d{1,3})\s*$`)
	socketRange = regexp.MustCompile(`^([A-Za-z]+ ?)(\d{1,4})\s*[-–]\s*(\d{1,4})$`)
	valuePair   = regexp.MustCompile(`^(.*?)(\d{1,4})\s*[/&+,]\s*(\d{1,4})$`)
)

// partPairs are words that stand for the two microphones of one source.
var partPairs = map[string]bool{
	"in": true, "out": true, "inside": true, "outside": true, "top": true, "bot": true, "btm": true, "bottom": true,
	"under": true, "di": true, "amp": true, "mic": true, "mid": true, "side": true, "m": true, "s": true,
	"close": true, "near": true, "far": true, "low": true, "lo": true, "high": true, "hi": true, "t": true, "b": true,
	"cab": true, "front": true, "back": true, "neck": true, "body": true, "bridge": true, "d.i.": true, "sub": true,
}

// twoWords are words that say of one row that it is a stereo pair.
var twoWords = map[string]bool{
	"stereo": true, "st": true, "pair": true, "xy": true, "ortf": true, "ab": true,
	"overheads": true, "ohs": true, "ovhds": true, "rooms": true, "rms": true,
}

// spansTwo says whether a source names a pair without saying how.
func spansTwo(source string) bool {
	return slices.ContainsFunc(model.Tokens(source), func(t string) bool { return twoWords[t] })
}

// splitRow turns a row's numbers and source into the lines it stands for:
//
//	7/8 Overheads       7 Overheads L, 8 Overheads R
//	7   OH L/R          7 OH L, 8 OH R; both 7 where 8 is another row
//	1/2 Kick in/out     1 Kick in, 2 Kick out
//	3/4 Tom 1/2         3 Tom 1, 4 Tom 2
//	3/4 T1/T2           3 T1, 4 T2
//	9/10 Acc / Pno      9 Acc, 10 Pno: two sources, no pair
//	5-8 BGV             5 BGV 1 … 8 BGV 4
//
// free says whether a number is no other row's.
func splitRow(source string, nums []int, free func(int) bool) []half {
	at := func(i int) int {
		if i < len(nums) {
			return nums[i]
		}
		return 0
	}
	second := func() int { // the number of the second half of a row with one number
		switch {
		case len(nums) >= 2:
			return nums[1]
		case len(nums) == 1 && free(nums[0]+1):
			return nums[0] + 1
		}
		return at(0)
	}
	switch {
	case len(nums) > 2:
		return splitRange(source, nums)
	case sidesInName.MatchString(source):
		base := strings.TrimSpace(sidesInName.ReplaceAllString(source, " "))
		base = strings.Join(strings.Fields(base), " ")
		return sided(base, at(0), second())
	}
	if len(nums) == 2 || len(nums) == 1 && free(nums[0]+1) {
		if m := wordPair.FindStringSubmatchIndex(source); m != nil {
			a, b := source[m[2]:m[3]], source[m[4]:m[5]]
			head, tail := source[:m[0]], source[m[1]:]
			letters := len(a)+len(b) == 2 && strings.TrimSpace(head+tail) == "" && len(nums) == 1 // "T/B" is a talkback
			if partPairs[strings.ToLower(a)] && partPairs[strings.ToLower(b)] && !letters {
				return []half{{at(0), head + a + tail, model.NoSide, true}, {second(), head + b + tail, model.NoSide, true}}
			}
		}
	}
	if len(nums) < 2 {
		return []half{{at(0), source, model.NoSide, false}}
	}
	if m := indexPair.FindStringSubmatch(source); m != nil && atoi(m[4]) == atoi(m[2])+1 {
		head := m[1]
		other := head
		if m[3] != "" { // "T1/T2"
			other = m[3]
		}
		return []half{{nums[0], head + m[2], model.NoSide, false}, {nums[1], other + m[4], model.NoSide, false}}
	}
	for _, cut := range []string{"/", "&", "+", ","} {
		a, b, ok := strings.Cut(source, cut)
		if !ok {
			continue
		}
		a, b = strings.TrimSpace(a), strings.TrimSpace(b)
		fa, fb := model.ParseSource(a), model.ParseSource(b)
		if fa.Family != model.Unknown && fb.Family != model.Unknown && (fa.Family != fb.Family || fa.Stem != fb.Stem) {
			return []half{{nums[0], a, model.NoSide, false}, {nums[1], b, model.NoSide, false}}
		}
	}
	return sided(source, nums[0], nums[1])
}

func sided(base string, a, b int) []half {
	return []half{{a, strings.TrimSpace(base + " L"), model.Left, true}, {b, strings.TrimSpace(base + " R"), model.Right, true}}
}

// splitRange numbers the lines of a longer range.
func splitRange(source string, nums []int) []half {
	first := 1
	if m := indexPair.FindStringSubmatch(source); m != nil && atoi(m[4])-atoi(m[2])+1 == len(nums) {
		source, first = strings.TrimSpace(m[1]), atoi(m[2])
	}
	out := make([]half, len(nums))
	for i, n := range nums {
		out[i] = half{n, fmt.Sprintf("%s %d", source, first+i), model.NoSide, false}
	}
	return out
}

// halfOf is the share that one half has in another cell of the row: "7/8" on
// two halves is 7 and 8, "OH L/R" is OH L and OH R; anything else belongs to
// both whole. A hyphen parts "A7-8"; "2-3" is socket 3 of box 2.
func halfOf(value string, i, of int) string {
	if of != 2 {
		return value
	}
	if m := valuePair.FindStringSubmatch(value); m != nil && atoi(m[3]) == atoi(m[2])+1 {
		return strings.TrimSpace(m[1] + strconv.Itoa(atoi(m[2])+i))
	}
	if m := socketRange.FindStringSubmatch(value); m != nil && atoi(m[3]) == atoi(m[2])+1 {
		return m[1] + strconv.Itoa(atoi(m[2])+i)
	}
	if sidesInName.MatchString(value) {
		base := strings.Join(strings.Fields(sidesInName.ReplaceAllString(value, " ")), " ")
		return strings.TrimSpace(base + " " + []string{"L", "R"}[i])
	}
	if m := wordPair.FindStringSubmatchIndex(value); m != nil {
		a, b := value[m[2]:m[3]], value[m[4]:m[5]]
		if partPairs[strings.ToLower(a)] && partPairs[strings.ToLower(b)] {
			return value[:m[0]] + []string{a, b}[i] + value[m[1]:]
		}
	}
	return value
}
