package match

import (
	"path"
	"regexp"
	"strconv"
	"strings"

	"tidemark/internal/model"
)

// fileName is what a file's name says, besides who made it.
type fileName struct {
	base string // without folder and extension
	text string // the name proper: what is left without numbers, takes, dates and copy marks
	// alt is the other reading of a last number that may be part of the name
	// ("Tom_1": tom 1, or a tom's first take); empty without one.
	alt    string
	number int    // a leading number, or that of "Track 7"; 0 without
	bare   bool   // nothing but a number: "Track 7", "Audio 7_4"
	take   int    // take counter, −1 without
	stamp  string // date and time as digits, or a date alone; empty without
	copied bool   // "Kick copy", "Kick (1)", "Kick bounce"
	side   model.Side
}

var (
	extension = regexp.MustCompile(`(?i)\.(wav|wave|bwf|rf64|w64|aif|aiff|aifc|flac|caf)$`)
	copyMark  = regexp.MustCompile(`(?i)([\s_.-]*(\(\d{1,3}\)|\bcopy(\s*\(?\d{1,3}\)?)?|\bcopy of\b|\bkopie\b|\bbounced?\b|\bbnc\b|\brender(ed)?\b|\bconsolidated\b|\bcons\b|\bdup(licate)?\b))+\s*$`)
	copyOf    = regexp.MustCompile(`(?i)^copy of\s+`)
	// A date of six or eight digits, or parted ones, with a time behind it or not.
	dateTime = regexp.MustCompile(`(?:^|[\s_.\-])((?:19|20)\d{2}[-_.]?[01]\d[-_.]?[0-3]\d|[0-3]\d[-.][01]\d[-.](?:19|20)?\d{2}|\d{2}[01]\d[0-3]\d|[0-3]\d[01]\d\d{2})(?:[\s_\-.T]+([0-2]\d[-.:h]?[0-5]\d(?:[-.:m]?[0-5]\d)?))?($|[\s_.\-])`)
	takeWord = regexp.MustCompile(`(?i)[\s_.\-]+(?:(?:take|tk)[\s_.\-]*|t)(\d{1,4})$`)
	takeTail = regexp.MustCompile(`([\s_.\-#]+)(\d{1,4})$`)
	sideTail = regexp.MustCompile(`(?i)[.\-_\s](l|r|left|right)$`)
	lead     = regexp.MustCompile(`^(\d{1,3})(?:[\s_.\-]+|$)`)
	bareName = regexp.MustCompile(`(?i)^(?:track|trk|tr|audio|channel|chan|ch|input|inp|in|line|mono|stereo|rec|aud|a|trk_|tape)[\s_.\-#]*(\d{1,3})(?:[\s_.\-]+|$)`)
)

// parseName takes a recorder's file name apart, from both ends inwards:
//
//	03_Kick In_T07          number 3, Kick In, take 7
//	Kick In_02-01           Kick In, take 2
//	Kick In-241018_1402     Kick In, stamp 241018_1402
//	240118_003_Kick In      stamp 240118, take 3, Kick In
//	OH_01.L                 OH, take 1, left
//	Audio 7_4               number 7, take 4, no name
//	Tom_1                   Tom, take 1, or else Tom 1
func parseName(name string) fileName {
	f := fileName{base: extension.ReplaceAllString(path.Base(strings.ReplaceAll(name, `\`, "/")), ""), take: -1}
	s := f.base
	if m := copyOf.FindString(s); m != "" {
		f.copied, s = true, s[len(m):]
	}
	if m := copyMark.FindStringIndex(s); m != nil && m[0] > 0 {
		f.copied, s = true, s[:m[0]]
	}
	dateLeads := false
	if m := dateTime.FindStringSubmatchIndex(s); m != nil {
		f.stamp = digits(s[m[2]:m[3]])
		if m[4] >= 0 {
			f.stamp += "_" + digits(s[m[4]:m[5]])
		}
		dateLeads = m[0] == 0
		head, tail := s[:m[0]], s[m[7]:]
		if s = head; tail != "" {
			s = strings.TrimSpace(strings.TrimLeft(head+" "+strings.TrimLeft(tail, " _.-"), " "))
		}
	}
	if m := lead.FindStringSubmatch(s); m != nil && len(m[0]) < len(s) {
		if dateLeads && len(m[1]) == 3 {
			f.take = atoi(m[1]) // a running number behind a date counts takes
		} else {
			f.number = atoi(m[1])
		}
		s = s[len(m[0]):]
	}
	if m := bareName.FindStringSubmatch(s); m != nil {
		rest := strings.Trim(s[len(m[0]):], " _.-")
		f.number, f.bare, s = atoi(m[1]), true, rest
		for _, t := range model.Tokens(rest) {
			if !allDigits(t) && t != "take" && t != "t" && t != "l" && t != "r" {
				f.bare = false
			}
		}
		if f.bare {
			if n := model.Tokens(rest); len(n) > 0 && f.take < 0 {
				f.take = atoi(n[len(n)-1])
			}
			return f
		}
	}
	if allDigits(strings.Trim(s, " _.-")) && f.number == 0 {
		f.number, f.bare = atoi(strings.Trim(s, " _.-")), true
		return f
	}
	f.tail(s)
	return f
}

// tail takes sides, take words and counters off the end of a name.
func (f *fileName) tail(s string) {
	for range 4 { // "_02-01.L" has three; more is no recorder's
		s = strings.TrimRight(s, " _.-#")
		if m := sideTail.FindStringSubmatchIndex(s); m != nil && f.side == model.NoSide && m[0] > 0 {
			// Keep the side as a word behind the name, where lists have it.
			f.side = model.Left
			if c := s[m[2]]; c == 'r' || c == 'R' {
				f.side = model.Right
			}
			s = s[:m[0]]
			continue
		}
		if m := takeWord.FindStringSubmatchIndex(s); m != nil && m[0] > 0 && f.take < 0 {
			if n := s[m[2]:m[3]]; n[0] != '0' && s[m[2]-1]|0x20 == 't' {
				f.alt = s // "Floor T1" is a tom
			}
			f.take, s = atoi(s[m[2]:m[3]]), s[:m[0]]
			break
		}
		m := takeTail.FindStringSubmatchIndex(s)
		if m == nil || m[0] == 0 {
			break
		}
		gap, n := s[m[2]:m[3]], s[m[4]:m[5]]
		padded := n[0] == '0' || len(n) >= 3
		if strings.TrimSpace(gap) == "" && !padded {
			break // "Tom 1", "BGV 2": part of the name
		}
		if !padded || len(n) < 3 && strings.TrimSpace(gap) == "" {
			f.alt = s // may be part of the name after all
		}
		f.take, s = atoi(n), s[:m[0]]
	}
	f.text = strings.TrimSpace(strings.ReplaceAll(s, "_", " "))
	f.alt = strings.TrimSpace(strings.ReplaceAll(f.alt, "_", " "))
	if f.alt == f.text {
		f.alt = ""
	}
}

// key is what the files of one line share from take to take.
func (f fileName) key() string {
	if f.bare {
		return "#" + strconv.Itoa(f.number) + string(f.side)
	}
	return strings.Join(model.Tokens(f.text), " ") + "/" + string(f.side)
}

func digits(s string) string {
	return strings.Map(func(r rune) rune {
		if r < '0' || r > '9' {
			return -1
		}
		return r
	}, s)
}

func allDigits(s string) bool { return s != "" && digits(s) == s }

func atoi(s string) int {
	n, err := strconv.Atoi(s)
	if err != nil {
		return 0
	}
	return n
}
