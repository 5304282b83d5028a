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
