package band

import "sort"

// note is a sound that begins at a frame. Its samples are made when it is due
// and dropped when it has sounded.
type note struct {
	at    int64
	sound func() []float32
}

// score is a Player of notes over one another.
type score struct {
	notes  []note
	sorted bool
	next   int
	now    int64
	ring   []sounding
}

type sounding struct {
	at      int64
	samples []float32
}

func (s *score) add(at int64, sound func() []float32) {
	s.notes = append(s.notes, note{max(0, at), sound})
}

// Play implements Player.
func (s *score) Play(dst []float32) {
	if !s.sorted {
		sort.SliceStable(s.notes, func(i, j int) bool { return s.notes[i].at < s.notes[j].at })
		s.sorted = true
	}
	clear(dst)
	end := s.now + int64(len(dst))
	for ; s.next < len(s.notes) && s.notes[s.next].at < end; s.next++ {
		s.ring = append(s.ring, sounding{s.notes[s.next].at, s.notes[s.next].sound()})
		s.notes[s.next].sound = nil
	}
	kept := s.ring[:0]
	for _, x := range s.ring {
		from := max(x.at, s.now)
		till := min(x.at+int64(len(x.samples)), end)
		if from < till {
			addScaled(dst[from-s.now:till-s.now], x.samples[from-x.at:], 1)
		}
		if x.at+int64(len(x.samples)) > end {
			kept = append(kept, x)
		}
	}
	clear(s.ring[len(kept):])
	s.ring = kept
	s.now = end
}
