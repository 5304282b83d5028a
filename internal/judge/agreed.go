package judge

// firstChannels calls each with one track of every recording of a pass: the
// first that is a line, since channel 1 of a file of many may be on none.
func (e *Evidence) firstChannels(pass int, each func(*Track)) {
	var recordings []int
	of := map[int]*Track{}
	for i := range e.Tracks {
		t := &e.Tracks[i]
		if t.Pass != pass {
			continue
		}
		old := of[t.Recording]
		if old == nil {
			recordings = append(recordings, t.Recording)
		}
		if old == nil || old.Line < 0 && t.Line >= 0 {
			of[t.Recording] = t
		}
	}
	for _, r := range recordings {
		each(of[r])
	}
}

// usual is the value most recordings of the pass have; ok only when more than
// half of at least two agree.
func (e *Evidence) usual(pass int, of func(*Track) int) (value int, ok bool) {
	n, counts := 0, map[int]int{}
	e.firstChannels(pass, func(t *Track) { n++; counts[of(t)]++ })
	best := 0
	for v, c := range counts {
		if c > best || c == best && v > value {
			value, best = v, c
		}
	}
	return value, n >= 2 && 2*best > n
}

func rateOf(t *Track) int { return t.Header.Format.RateHz }

func bitsOf(t *Track) int { return t.Header.Format.Bits }
