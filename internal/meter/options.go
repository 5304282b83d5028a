package meter

import "fmt"

// ParseInterpolator reads the name of an interpolator: "sinc" or "table".
func ParseInterpolator(s string) (Interpolator, error) {
	switch s {
	case "sinc":
		return WindowedSinc, nil
	case "table":
		return Annex2Table, nil
	}
	return WindowedSinc, fmt.Errorf("%q is no interpolator, expected sinc or table", s)
}

// ParseMains reads "auto", "50" or "60".
func ParseMains(s string) (Mains, error) {
	switch s {
	case "auto":
		return MainsAuto, nil
	case "50":
		return Mains50, nil
	case "60":
		return Mains60, nil
	}
	return MainsAuto, fmt.Errorf("%q is no mains frequency, expected 50, 60 or auto", s)
}

// String is the text that ParseMains reads.
func (m Mains) String() string {
	if m == MainsAuto {
		return "auto"
	}
	return fmt.Sprint(int(m))
}
