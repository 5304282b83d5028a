package flac

import "fmt"

// SeekFrame moves to a frame; past the end the next Read returns io.EOF. Moving
// anywhere but on ends the comparison with the MD5 sum, until frame 0 is sought.
//
// The block is found by halving the file and looking for headers: seek tables
// are often missing, and where they are there they can be wrong.
func (r *Reader) SeekFrame(frame int64) error {
	if frame < 0 {
		return fmt.Errorf("frame %d asked for, the first is 0", frame)
	}
	switch {
	case r.err != nil:
		return r.err
	case frame == r.next && r.skip <= r.next:
		return nil
	case frame == 0:
		r.rewind()
		return nil
	}
	r.sum = nil
	if from := r.decoded - int64(r.to-r.from) - r.silence; r.skip <= r.next && frame >= from && frame < r.decoded {
		r.skip = frame // within what is decoded
		return nil
	}
	if r.info.samples > 0 && frame >= r.info.samples {
		r.from, r.to, r.silence = 0, 0, 0
		r.next, r.decoded, r.skip, r.finished = frame, frame, 0, true
		return nil
	}
	at, first := r.near(frame)
	if r.w.err != nil {
		r.err = fmt.Errorf("frame %d could not be sought: %w", frame, r.w.err)
		return r.err
	}
	r.w.seek(at)
	r.from, r.to, r.silence, r.blocks = 0, 0, 0, 0
	r.next, r.decoded, r.skip = first, first, frame
	r.finished = false
	return nil
}

// near gives the byte of a block that begins at or before a frame, and the frame
// it begins at. It trusts a header no further than its neighbours: its number
// must lie between theirs.
func (r *Reader) near(frame int64) (at, first int64) {
	at, end := r.first, r.w.size
	for end-at > windowBytes {
		middle := at + (end-at)/2
		found, h, ok := r.find(middle, end, func(h header, _ int64) bool {
			start := h.first - r.origin
			return start > first && (r.info.samples == 0 || start < r.info.samples)
		})
		if ok && h.first-r.origin <= frame {
			at, first = found, h.first-r.origin
		} else {
			end = middle
		}
	}
	return at, first
}

// skipTo decodes on to a frame and gives up what lies before it.
func (r *Reader) skipTo(frame int64) error {
	for r.next < frame {
		if r.silence == 0 && r.from == r.to {
			if !r.decode() {
				break
			}
			continue
		}
		ahead := frame - r.next
		if n := min(ahead, r.silence); n > 0 {
			r.silence -= n
			r.next += n
			continue
		}
		n := min(ahead, int64(r.to-r.from))
		r.from += int(n)
		r.next += n
	}
	r.skip = 0
	return r.err
}
