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

// String is the text that ParseInterpolator reads.
func (i Interpolator) String() string {
	if i == Annex2Table {
		return "table"
	}
	return "sinc"
}

// Describe names the interpolator as a report does.
func (i Interpolator) Describe() string {
	if i == Annex2Table {
		return "table of ITU-R BS.1770-5 Annex 2, 4 phases of 12 taps"
	}
	return "windowed sinc of 49 taps"
}

// DescribeSpectrum says how the spectra come about, as a report does.
func (o Options) DescribeSpectrum() string {
	if o.Sampled {
		return fmt.Sprintf("every window of the first %d s, then the loud ones and one in %d of the others", softFromS, softEvery)
	}
	return "every window"
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
