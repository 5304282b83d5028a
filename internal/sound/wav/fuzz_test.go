package wav

import (
	"bytes"
	"testing"

	"tidemark/internal/sound/soundtest"
)

// FuzzWAV: no panic, errors of one type, no more frames than bytes, no more
// metadata than the file holds.
func FuzzWAV(f *testing.F) {
	f.Add([]byte(unhex(f, canonical)))
	f.Add([]byte(riff(ck("bext", bext(2)), extFmt(2, 48000, 24, 20, 3, 1), ck("data", "abcdefghijkl"), ck("iXML", string(ixml([]string{"a", "b"}))))))
	f.Add([]byte(long("RF64", ds64(0, 8, 0, "LIST"+u64(4)), pcmFmt(1, 48000, 16), "LIST"+u32(0xFFFFFFFF)+"INFO", "data"+u32(0xFFFFFFFF)+"abcdefgh")))
	for _, c := range refused {
		f.Add([]byte(c.file))
	}
	f.Fuzz(func(t *testing.T, p []byte) {
		r, err := Open(bytes.NewReader(p), int64(len(p)))
		if err != nil {
			soundtest.Refusal(t, err, r == nil)
			return
		}
		h := r.Header()
		if b := h.Broadcast; b != nil && len(b.Description)+len(b.CodingHistory) > 2*len(p) {
			t.Fatalf("more text than the file of %d bytes holds", len(p))
		}
		if h.ChannelNames != nil && len(h.ChannelNames) != h.Format.Channels {
			t.Fatalf("%d names for %d channels", len(h.ChannelNames), h.Format.Channels)
		}
		soundtest.Honest(t, r, len(p))
	})
}
