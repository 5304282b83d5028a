package judge

// firstChannels calls each with the first track of every recording of a pass.
func (e *Evidence) firstChannels(pass int, each func(*Track)) {
	seen := map[int]bool{}
	for i := range e.Tracks {
		if t := &e.Tracks[i]; t.Pass == pass && !seen[t.Recording] {
			seen[t.Recording] = true
			each(t)
		}
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
