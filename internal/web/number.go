package web

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"tidemark/internal/unit"
)

// missing stands in a table where nothing was measured; the caption says so.
const missing = "—"

// number writes x with the given decimals and a true minus sign; values that
// round to zero lose their sign, so that "−0.0" never appears.
func number(x float64, decimals int) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return missing
	}
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return strings.Replace(s, "-", "−", 1)
}

// maybe writes a value that may be undefined.
func maybe(m unit.Maybe[float64], decimals int) string {
	v, ok := m.Get()
	if !ok {
		return missing
	}
	return number(v, decimals)
}

// finite is the value where there is one that can be drawn.
func finite(m unit.Maybe[float64]) (float64, bool) {
	v, ok := m.Get()
	return v, ok && !math.IsNaN(v) && !math.IsInf(v, 0)
}

// signed is maybe with a plus sign before what is above zero.
func signed(m unit.Maybe[float64], decimals int) string {
	s := maybe(m, decimals)
	if v, ok := m.Get(); ok && v > 0 && strings.Trim(s, "0.") != "" {
		return "+" + s
	}
	return s
}

// measure writes x with its unit, with as many decimals as the unit is worth:
// tenths of a decibel, hundredths of a millisecond, whole counts and hertz.
func measure(x float64, u string) string {
	decimals := 0
	switch {
	case math.IsNaN(x) || math.IsInf(x, 0):
	case strings.HasPrefix(u, "dB"), strings.HasPrefix(u, "LU"):
		decimals = 1
	case u == "s" && math.Abs(x) >= 1:
		decimals = 1
	case u == "s":
		return strings.Replace(strconv.FormatFloat(math.Round(x*1000)/1000, 'f', -1, 64), "-", "−", 1) + "\u00a0s"
	case x != math.Trunc(x):
		decimals = 2
	}
	s := number(x, decimals)
	if u == "" {
		return s
	}
	return s + "\u00a0" + u
}

// clock writes seconds as m:ss.s, h:mm:ss.s from an hour on.
func clock(s float64) string { return clockTo(s, true) }

// length writes seconds as m:ss, h:mm:ss from an hour on.
func length(s float64) string { return clockTo(s, false) }

func clockTo(s float64, tenths bool) string {
	if math.IsNaN(s) || math.IsInf(s, 0) {
		return missing
	}
	sign := ""
	if s < 0 {
		sign, s = "−", -s
	}
	t := int64(math.Round(s * 10))
	tail := ""
	if tenths {
		tail = fmt.Sprintf(".%d", t%10)
	} else {
		t = int64(math.Round(s)) * 10
	}
	if t >= 36000 {
		return fmt.Sprintf("%s%d:%02d:%02d%s", sign, t/36000, t/600%60, t/10%60, tail)
	}
	return fmt.Sprintf("%s%d:%02d%s", sign, t/600, t/10%60, tail)
}

// ofDay writes seconds since midnight as hh:mm:ss.
func ofDay(s float64) string {
	t := int64(s) % 86400
	if t < 0 {
		return missing
	}
	return fmt.Sprintf("%02d:%02d:%02d", t/3600, t/60%60, t%60)
}

// count writes "1 line", "3 lines".
func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// pc writes a fraction as an SVG percentage; what is no number stands at 0.
func pc(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		x = 0
	}
	return strconv.FormatFloat(math.Round(x*1e4)/100, 'f', -1, 64) + "%"
}

// px writes an SVG coordinate with one decimal at most; what is no number stands at 0.
func px(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		x = 0
	}
	return strconv.FormatFloat(math.Round(x*10)/10, 'f', -1, 64)
}
