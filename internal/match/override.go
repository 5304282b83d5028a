package match

import (
	"fmt"
	"path"
	"strconv"
	"strings"

	"tidemark/internal/model"
)

// Override is a person's word on which line a file is.
type Override struct {
	File    string // name, base name, or base name without extension
	Channel int    // from 1; 0 for the whole file
	Line    string // number, source, track or "7 Snare bottom"; "none" for a file that is no line
}

// ParseOverrides reads what --match says, once or more: "Audio 7.wav=3",
// "Poly.wav:3=Snare top", "room test.wav=none".
func ParseOverrides(words []string) ([]Override, error) {
	var out []Override
	for _, w := range words {
		i := strings.LastIndexByte(w, '=')
		if i < 1 || strings.TrimSpace(w[i+1:]) == "" || strings.TrimSpace(w[:i]) == "" {
			return nil, fmt.Errorf("--match: %q is not FILE=LINE; write for example \"Audio 7.wav=3\" or \"Poly.wav:3=Snare top\"", w)
		}
		o := Override{File: strings.TrimSpace(w[:i]), Line: strings.TrimSpace(w[i+1:])}
		if j := strings.LastIndexByte(o.File, ':'); j > 0 && allDigits(o.File[j+1:]) {
			n, err := strconv.Atoi(o.File[j+1:])
			if err != nil || n < 1 {
				return nil, fmt.Errorf("--match: %q: channels are counted from 1", w)
			}
			o.File, o.Channel = o.File[:j], n
		}
		out = append(out, o)
	}
	return out, nil
}

// fixed maps recording and channel to a line, −1 for none.
type fixed map[[2]int]int

// resolve finds the files and lines of the overrides. A name that several
// files have (a take in each folder) means all of them.
func resolve(recs []model.Recording, lines []model.Line, overrides []Override) (fixed, error) {
	f := fixed{}
	for _, o := range overrides {
		files := findFiles(recs, o.File)
		if len(files) == 0 {
			return nil, fmt.Errorf("--match: there is no file %q; the files are %s", o.File, someNames(len(recs), func(i int) string { return recs[i].Name }))
		}
		at, err := findLine(lines, o.Line)
		if err != nil {
			return nil, err
		}
		for _, r := range files {
			n := recs[r].Channels
			if o.Channel > n {
				if n == 1 {
					return nil, fmt.Errorf("--match: %s has one channel, there is no channel %d", recs[r].Name, o.Channel)
				}
				return nil, fmt.Errorf("--match: %s has %d channels, there is no channel %d", recs[r].Name, n, o.Channel)
			}
			switch {
			case o.Channel > 0 && len(at) > 1:
				return nil, fmt.Errorf("--match: %q is two lines, %q and %q; say which one", o.Line, lines[at[0]].Name(), lines[at[1]].Name())
			case o.Channel > 0:
				f[[2]int{r, o.Channel - 1}] = at[0]
			case at[0] < 0:
				for c := range n {
					f[[2]int{r, c}] = -1
				}
			case n == 2 && len(at) == 2:
				f[[2]int{r, 0}], f[[2]int{r, 1}] = at[0], at[1]
			case n == 2 && halfOfPair(lines, at[0]) >= 0:
				f[[2]int{r, 0}], f[[2]int{r, 1}] = at[0], halfOfPair(lines, at[0])
			case len(at) == 2:
				return nil, fmt.Errorf("--match: %q is two lines, %q and %q; say which one %s is", o.Line, lines[at[0]].Name(), lines[at[1]].Name(), recs[r].Name)
			case n > 2:
				return nil, fmt.Errorf("--match: %s has %d channels; say which one is %q, for example %q", recs[r].Name, n, o.Line, fmt.Sprintf("%s:1=%s", o.File, o.Line))
			default:
				f[[2]int{r, 0}] = at[0]
				if n == 2 {
					f[[2]int{r, 1}] = -1
				}
			}
		}
	}
	return f, nil
}

// halfOfPair is the right half where the line is the left half of a row split
// in two, −1 otherwise.
func halfOfPair(lines []model.Line, i int) int {
	j := lines[i].Partner
	if j < 0 || j >= len(lines) || j == i || lines[i].Side != model.Left || lines[j].Side != model.Right {
		return -1
	}
	return j
}

func findFiles(recs []model.Recording, name string) []int {
	want := model.Fold(strings.ReplaceAll(name, `\`, "/"))
	for _, form := range []func(string) string{
		func(s string) string { return s },
		path.Base,
		func(s string) string { return extension.ReplaceAllString(s, "") },
		func(s string) string { return extension.ReplaceAllString(path.Base(s), "") },
	} {
		var out []int
		for i, r := range recs {
			if form(model.Fold(strings.ReplaceAll(r.Name, `\`, "/"))) == want {
				out = append(out, i)
			}
		}
		if out != nil {
			return out
		}
	}
	return nil
}

// findLine finds a line by number, name, source or track; both halves of a row
// that the word names whole. −1 stands for "none".
func findLine(lines []model.Line, word string) ([]int, error) {
	want := strings.Join(model.Tokens(word), " ")
	if want == "none" || word == "-" {
		return []int{-1}, nil
	}
	n := 0
	if allDigits(word) {
		n = atoi(word)
	}
	for _, is := range []func(l model.Line) bool{
		func(l model.Line) bool { return n > 0 && l.Number == n },
		func(l model.Line) bool { return sameTokens(l.Name(), want) },
		func(l model.Line) bool { return sameTokens(l.Source, want) },
		func(l model.Line) bool { return sameTokens(l.Track, want) },
		func(l model.Line) bool { return sameTokens(l.Typed, want) },
	} {
		var out []int
		for i, l := range lines {
			if is(l) {
				out = append(out, i)
			}
		}
		switch {
		case len(out) == 1, len(out) == 2 && lines[out[0]].Partner == out[1]:
			return out, nil
		case len(out) > 1:
			return nil, fmt.Errorf("--match: %q could be %s; say it by number", word, someNames(len(out), func(i int) string { return quoteName(lines[out[i]]) }))
		}
	}
	return nil, fmt.Errorf("--match: there is no line %q on the list; the lines are %s", word, someNames(len(lines), func(i int) string { return quoteName(lines[i]) }))
}

func quoteName(l model.Line) string { return strconv.Quote(l.Name()) }

func sameTokens(text, want string) bool {
	return text != "" && strings.Join(model.Tokens(text), " ") == want
}

// someNames lists up to eight names.
func someNames(n int, name func(int) string) string {
	var out []string
	for i := range min(n, 8) {
		out = append(out, name(i))
	}
	if n > 8 {
		out = append(out, fmt.Sprintf("and %d more", n-8))
	}
	if n == 0 {
		return "none at all"
	}
	return strings.Join(out, ", ")
}
