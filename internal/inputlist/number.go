package inputlist

import (
	"regexp"
	"strconv"
	"strings"

	"tidemark/internal/model"
)

// numbers is what a number cell says.
type numbers struct {
	list []int // one, two for a pair, more for a range
	ok   bool
	date bool // the spreadsheet made a date of "1/2"
}

var (
	numberPrefix = regexp.MustCompile(`^(?:channel|chan|ch|input|inp|in|line|ln|nr|no|track|trk|#|№)[\s.:#]*`)
	plainNumber  = regexp.MustCompile(`^(\d{1,4})(?:[.,]0{1,2})?[\s.:)]*$`)
	joinedNumber = regexp.MustCompile(`^(\d{1,4})\s*(/|-|–|—|\+|&|,|;|and|to|u\.)\s*(?:ch\s*)?(\d{1,4})[\s.:)]*$`)
	threeNumbers = regexp.MustCompile(`^\d{1,4}(\s*[/,+&]\s*\d{1,4}){2,}$`)
	sidedNumbers = regexp.MustCompile(`^(\d{1,4})\s*l\s*[/\-,&+ ]\s*(\d{1,4})\s*r$`)
	dayMonth     = regexp.MustCompile(`^(\d{1,2})[\s.\-/]*(jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?([\s.\-/]+\d{2,4})?$`)
	monthDay     = regexp.MustCompile(`^(jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*[\s.\-/]*(\d{1,2})([\s,.\-/]+\d{2,4})?$`)
	fullDate     = regexp.MustCompile(`^(\d{1,2})([./\-])(\d{1,2})[./\-](\d{2}|\d{4})$`)
	isoDate      = regexp.MustCompile(`^\d{4}-(\d{2})-(\d{2})(?:[ t]00:00(:00)?)?$`)
)

const months = "janfebmaraprmayjunjulaugsepoctnovdec"

// parseNumber reads a number cell: 7, 07, 7., #7, CH 7, 7.0, and pairs and
// ranges: 1/2, 1-2, 7 & 8, 1L/1R, 5-8. A spreadsheet turns a typed 7/8 into a
// date; a date whose day and month follow each other is read back as the pair.
func parseNumber(cell string) numbers {
	if cell == "" || len(cell) > 30 {
		return numbers{}
	}
	s := strings.TrimSpace(model.Fold(cell))
	if m := numberPrefix.FindString(s); m != "" && len(m) < len(s) {
		s = s[len(m):]
	}
	if m := plainNumber.FindStringSubmatch(s); m != nil {
		return one(m[1])
	}
	if m := joinedNumber.FindStringSubmatch(s); m != nil {
		a, b := atoi(m[1]), atoi(m[3])
		switch {
		case a < 1 || b <= a || b-a >= maxRange:
			return numbers{}
		case b == a+1:
			return numbers{list: []int{a, b}, ok: true}
		case m[2] == "-" || m[2] == "–" || m[2] == "—" || m[2] == "to":
			var list []int
			for n := a; n <= b; n++ {
				list = append(list, n)
			}
			return numbers{list: list, ok: true}
		}
		return numbers{list: []int{a, b}, ok: true}
	}
	if m := sidedNumbers.FindStringSubmatch(s); m != nil {
		if a, b := atoi(m[1]), atoi(m[2]); a > 0 && (b == a || b == a+1) {
			return numbers{list: []int{a, b}, ok: true}
		}
	}
	if threeNumbers.MatchString(s) {
		var list []int
		for _, p := range strings.FieldsFunc(s, func(r rune) bool { return r < '0' || r > '9' }) {
			n := atoi(p)
			if n < 1 || len(list) > 0 && n <= list[len(list)-1] || len(list) >= maxRange {
				list = nil
				break
			}
			list = append(list, n)
		}
		if list != nil && fullDate.FindString(s) == "" {
			return numbers{list: list, ok: true}
		}
	}
	return fromDate(s)
}

func one(s string) numbers {
	if n := atoi(s); n > 0 {
		return numbers{list: []int{n}, ok: true}
	}
	return numbers{}
}

func atoi(s string) int {
	n, err := strconv.Atoi(s)
	if err != nil {
		return 0
	}
	return n
}

// fromDate reads a date as the pair it was typed as, where its day and month
// follow each other.
func fromDate(s string) numbers {
	var a, b int
	if m := dayMonth.FindStringSubmatch(s); m != nil {
		a, b = atoi(m[1]), strings.Index(months, m[2])/3+1
	} else if m := monthDay.FindStringSubmatch(s); m != nil {
		a, b = atoi(m[2]), strings.Index(months, m[1])/3+1
	} else if m := fullDate.FindStringSubmatch(s); m != nil {
		a, b = atoi(m[1]), atoi(m[3])
	} else if m := isoDate.FindStringSubmatch(s); m != nil {
		a, b = atoi(m[1]), atoi(m[2])
	} else {
		return numbers{}
	}
	if b == a-1 {
		a, b = b, a
	}
	if a < 1 || b != a+1 {
		return numbers{}
	}
	return numbers{list: []int{a, b}, ok: true, date: true}
}

// ticked says what a cell of a yes-or-no column says: +1 yes, −1 no, 0 neither.
func ticked(cell string) int {
	switch s := strings.Trim(model.Fold(cell), " .:()[]"); s {
	case "x", "xx", "yes", "y", "1", "1.0", "on", "true", "✓", "✔", "☑", "☒", "•", "●", "■", "*", "√", "48", "48v", "+48", "+48v", "48 v", "+48 v", "p48", "phantom", "ok", "√√", "v", "ja", "si", "oui":
		return 1
	case "", "-", "–", "—", "no", "n", "0", "0.0", "off", "false", "☐", "none", "n/a", "nein", "/", "o":
		return -1
	}
	return 0
}
