package desk

import (
	"io"
	"math"

	"tidemark/internal/between"
	"tidemark/internal/judge"
	"tidemark/internal/sound"
)

// ears reads short stretches of tracks. It keeps a few readers open, since pairs
// share their tracks, and what every line was at the present moment, made ready
// to be compared with any other. All its memory is used again.
type ears struct {
	lib     Library
	readers map[int]*ear
	clock   int
	block   map[int]*sound.Block // by number of channels
	lags    map[lagsKey]*between.Lags
	pairs   map[*between.Lags][]*between.Pair // at rest
	now     moment

	// Of findKin: what stays and what is held against it.
	own       []*between.Hit
	theirs    *between.Hit
	looking   *between.Pair
	lookingAt *between.Lags
}

type lagsKey struct{ rateHz, frames int }

// ear is an open recording. Of one with many channels it keeps the stretch that
// was read last, since the other channels are asked for next.
type ear struct {
	r      sound.Reader
	closer io.Closer
	used   int
	first  int64
	heard  *sound.Block
}

// moment is the time of a pass that lines are compared at, and its lines.
type moment struct {
	atS    float64
	lags   *between.Lags
	hits   map[int]*between.Hit // by track; nil where a line has no sound there
	unused []*between.Hit
}

func newEars(lib Library) *ears {
	return &ears{lib: lib, readers: map[int]*ear{}, block: map[int]*sound.Block{}, lags: map[lagsKey]*between.Lags{},
		pairs: map[*between.Lags][]*between.Pair{}, now: moment{hits: map[int]*between.Hit{}}}
}

func (s *ears) close() {
	for _, e := range s.readers {
		e.closer.Close()
	}
}

// lagsFor is what pairs of a rate share that look for a largest lag.
func (s *ears) lagsFor(rateHz int, lagS float64) *between.Lags {
	k := lagsKey{rateHz, int(lagS * float64(rateHz))}
	l := s.lags[k]
	if l == nil {
		l = between.NewLags(k.rateHz, k.frames)
		s.lags[k] = l
	}
	return l
}

// at moves to a moment; what was heard before is forgotten.
func (s *ears) at(l *between.Lags, atS float64) {
	n := &s.now
	for _, h := range n.hits {
		if h != nil {
			n.unused = append(n.unused, h)
		}
	}
	clear(n.hits)
	if n.lags != l {
		n.unused = n.unused[:0] // of another size
	}
	n.lags, n.atS = l, atS
}

// hit is a line at the present moment, nil where the stretch reaches beyond its recording.
func (s *ears) hit(e *judge.Evidence, track int, frames int) (*between.Hit, error) {
	n := &s.now
	if h, ok := n.hits[track]; ok {
		return h, nil
	}
	x, err := s.listen(e, &e.Tracks[track], n.atS-hitLeadS, frames)
	if err != nil {
		return nil, err
	}
	if len(x) != frames {
		n.hits[track] = nil
		return nil, nil
	}
	h := n.lags.Hit(s.spare(), x)
	n.hits[track] = h
	return h, nil
}

// spare is a Hit that nobody uses, or nil.
func (s *ears) spare() *between.Hit {
	n := &s.now
	if len(n.unused) == 0 {
		return nil
	}
	h := n.unused[len(n.unused)-1]
	n.unused = n.unused[:len(n.unused)-1]
	return h
}

// listen returns frames of a track from a time of its pass on, none where they
// reach beyond its recording. They stay until the next stretch is heard.
func (s *ears) listen(e *judge.Evidence, t *judge.Track, startS float64, frames int) ([]float32, error) {
	first := int64(math.Round((startS - t.OffsetS) * float64(t.Header.Format.RateHz)))
	if first < 0 || first+int64(frames) > t.M.Level.Frames {
		return nil, nil
	}
	k, err := s.open(e, t.Recording)
	if err != nil {
		return nil, err
	}
	if k.heard != nil && k.first == first && k.heard.Frames() == frames {
		return k.heard.Channels[t.Channel], nil
	}
	channels := t.Header.Format.Channels
	b := s.block[channels]
	if channels > 1 {
		b = k.heard
	}
	if b == nil || b.Room() != frames {
		b = sound.NewBlock(channels, frames)
	}
	if err := k.r.SeekFrame(first); err != nil {
		return nil, err
	}
	if err := fillBlock(k.r, b); err != nil {
		return nil, err
	}
	if channels > 1 {
		k.heard, k.first = b, first
	} else {
		s.block[channels] = b
	}
	return b.Channels[t.Channel], nil
}

// fillBlock reads until the block is full or the recording ends: readers may
// give less at a time.
func fillBlock(r sound.Reader, b *sound.Block) error {
	room := b.Room()
	err := r.Read(b)
	if err == io.EOF {
		return nil
	}
	if err != nil || b.Frames() == room {
		return err
	}
	had := b.Frames()
	part := &sound.Block{Channels: make([][]float32, len(b.Channels))}
	for had < room {
		for c := range b.Channels {
			part.Channels[c] = b.Channels[c][had:had:room]
		}
		if err := r.Read(part); err == io.EOF {
			break
		} else if err != nil {
			return err
		}
		had += part.Frames()
	}
	b.Resize(had)
	return nil
}

// readersMost bounds the recordings held open at once: each has a buffer of a
// quarter of a megabyte.
const readersMost = 10

func (s *ears) open(e *judge.Evidence, recording int) (*ear, error) {
	s.clock++
	if k, ok := s.readers[recording]; ok {
		k.used = s.clock
		return k, nil
	}
	if len(s.readers) >= readersMost {
		oldest := -1
		for i, k := range s.readers {
			if oldest < 0 || k.used < s.readers[oldest].used {
				oldest = i
			}
		}
		s.readers[oldest].closer.Close()
		delete(s.readers, oldest)
	}
	r, closer, err := s.lib.Open(e.Recordings[recording].Name)
	if err != nil {
		return nil, err
	}
	k := &ear{r: r, closer: closer, used: s.clock}
	s.readers[recording] = k
	return k, nil
}

// shut closes a recording of one channel, whose buffer would otherwise wait for
// a time that does not come soon.
func (s *ears) shut(recording int) {
	if k, ok := s.readers[recording]; ok && k.heard == nil {
		k.closer.Close()
		delete(s.readers, recording)
	}
}

// pair is a Pair at rest, or a new one.
func (s *ears) pair(l *between.Lags) *between.Pair {
	rest := s.pairs[l]
	if len(rest) == 0 {
		return l.Pair()
	}
	p := rest[len(rest)-1]
	s.pairs[l] = rest[:len(rest)-1]
	p.Reset()
	return p
}

// rest gives a Pair back.
func (s *ears) rest(l *between.Lags, p *between.Pair) { s.pairs[l] = append(s.pairs[l], p) }
