package web

import "tidemark/internal/model"

// levelRow is one line of the level table: the numbers beside the pictures.
type levelRow struct {
	Anchor, Bar, Name, Mic, File, Pass, Format string
	Weight                                     model.Weight
	Peak, TruePeak, Room, RMS, Crest           string
	Loudness, Range, Floor, Usual, Highest, DC string
}

func (s *sheet) levels() []levelRow {
	var out []levelRow
	for i, l := range s.Page.Lines {
		v := l.Levels
		r := levelRow{
			Anchor: "n" + barAnchor(i), Bar: barAnchor(i), Name: l.Name(), Mic: l.Mic, File: l.File,
			Format: formatWord(l), Weight: s.heaviest(i),
			Peak: maybe(v.PeakDBFS, 1), TruePeak: maybe(v.TruePeakDBTP, 1), Room: maybe(v.HeadroomDB, 1),
			RMS: maybe(v.RMSDBFS, 1), Crest: maybe(v.CrestDB, 1), Loudness: maybe(v.LoudnessLUFS, 1),
			Range: maybe(v.LoudnessRangeLU, 1), Floor: maybe(v.FloorDBFS, 0), Usual: missing,
			Highest: maybe(v.HighestDBFS, 1), DC: missing,
		}
		if v.UsualLowDBFS.Defined() && v.UsualHighDBFS.Defined() {
			r.Usual = maybe(v.UsualLowDBFS, 0) + " to " + maybe(v.UsualHighDBFS, 0)
		}
		if d, ok := v.DC.Get(); ok {
			r.DC = number(d*100, 2)
		}
		if len(s.Page.Passes) > 1 {
			r.Pass = l.Pass
		}
		if r.File == "" {
			r.File = "no file"
		}
		out = append(out, r)
	}
	return out
}

// formatWord writes a format as it is said: "48 kHz, 24 bit".
func formatWord(l Line) string {
	f := l.Format
	if f.RateHz == 0 {
		return ""
	}
	decimals := 0
	if f.RateHz%1000 != 0 {
		decimals = 1
	}
	s := number(float64(f.RateHz)/1000, decimals) + "\u00a0kHz"
	if f.Bits > 0 {
		s += ", " + number(float64(f.Bits), 0) + "\u00a0bit"
	}
	if f.Float {
		s += " float"
	}
	if f.Channels > 1 && l.Channel > 0 {
		s += ", channel " + number(float64(l.Channel), 0) + " of " + number(float64(f.Channels), 0)
	}
	return s
}

// heaviest is the weight of the heaviest finding on a line, empty without one.
func (s *sheet) heaviest(line int) model.Weight {
	l := s.Page.Lines[line]
	var w model.Weight
	for _, x := range s.Page.Findings {
		if x.Pass != "" && x.Pass != l.Pass {
			continue
		}
		if names(x, l.Name()) && (w == "" || x.Weight.Rank() < w.Rank()) {
			w = x.Weight
		}
	}
	return w
}
