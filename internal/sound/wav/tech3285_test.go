package wav

import (
	"math"
	"strings"
	"testing"

	"tidemark/internal/sound"
)

// EBU Tech 3285 v2 (05/2011) §2.4: loudness values are rounded to hundredths,
// halves away from zero. The printed examples, as value and as bytes.
func TestTech3285RoundingExamples(t *testing.T) {
	cases := []struct {
		loudness float64
		want     int16
		bytes    uint16
	}{
		{-22.644, -2264, 0xF728},
		{-22.645, -2265, 0xF727},
		{-22.646, -2265, 0xF727},
		{12.764, 1276, 0x04FC},
		{12.765, 1277, 0x04FD},
		{12.766, 1277, 0x04FD},
	}
	for _, c := range cases {
		rounded := int16(math.Round(c.loudness * 100))
		if rounded != c.want || uint16(rounded) != c.bytes {
			t.Errorf("%v is %d, want %d", c.loudness, rounded, c.want)
		}
		p := appendBroadcast(nil, sound.Broadcast{Version: 2, LoudnessValue: rounded})
		if got := le.Uint16(p[412:]); got != c.bytes {
			t.Errorf("%v is written as %04X, want %04X", c.loudness, got, c.bytes)
		}
	}
}

// EBU Tech 3285 v2 §2.3: the time reference counts frames since midnight in 64
// bits, low word first. Values derived: hours × 3600 × rate.
func TestTech3285TimeReference(t *testing.T) {
	cases := []struct {
		name      string
		frames    uint64
		low, high uint32
	}{
		{"10 o'clock at 48 kHz", 10 * 3600 * 48000, 0x66FF3000, 0},
		{"10 o'clock at 96 kHz", 3456000000, 3456000000, 0},
		{"midnight after a day at 192 kHz", 16588800000, 16588800000 & 0xFFFFFFFF, 3},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			p := appendBroadcast(nil, sound.Broadcast{TimeReference: c.frames})
			if low, high := le.Uint32(p[338:]), le.Uint32(p[342:]); low != c.low || high != c.high {
				t.Fatalf("words %#x and %#x, want %#x and %#x", low, high, c.low, c.high)
			}
			r := open(t, []byte(riff(pcmFmt(1, 48000, 16), ck("bext", string(p)), ck("data", ""))))
			if got := r.Header().Broadcast.TimeReference; got != c.frames {
				t.Fatalf("read as %d, want %d", got, c.frames)
			}
		})
	}
}

// EBU Tech 3285 v2 §2.3: the fields lie where the table says, and loudness is
// read from version 2 on alone; before, those bytes are reserved zeros.
func TestTech3285Fields(t *testing.T) {
	want := sound.Broadcast{
		Description: "Line 3, kick drum in", Originator: "Field recorder", OriginatorReference: "ZZTID0000001",
		OriginationDate: "2031-04-12", OriginationTime: "10:00:00", TimeReference: 1728000000, Version: 2,
		LoudnessValue: -2300, LoudnessRange: 720, MaxTruePeak: -105, MaxMomentary: -1834, MaxShortTerm: sound.LoudnessUnset,
		CodingHistory: "A=PCM,F=48000,W=24,M=stereo,T=first\r\nA=PCM,F=48000,W=16,M=stereo\r\n",
	}
	p := string(appendBroadcast(nil, want))
	for at, field := range map[int]string{
		0: "Line 3, kick drum in\x00", 256: "Field recorder\x00", 288: "ZZTID0000001\x00", 320: "2031-04-12", 330: "10:00:00",
		338: u64(1728000000), 346: u16(2), 412: u16(-2300), 414: u16(720), 416: u16(-105), 418: u16(-1834), 420: "\xff\x7f", 602: "A=PCM,",
	} {
		if got := p[at : at+len(field)]; got != field {
			t.Errorf("%q at byte %d, want %q", got, at, field)
		}
	}
	if got := *open(t, []byte(riff(pcmFmt(1, 48000, 16), ck("bext", p), ck("data", "")))).Header().Broadcast; got != want {
		t.Errorf("read as %+v, want %+v", got, want)
	}
	for _, version := range []uint16{0, 1} {
		old := want
		old.Version = version
		p := string(appendBroadcast(nil, old))
		if reserved := p[412:422]; reserved != strings.Repeat("\x00", 10) {
			t.Errorf("version %d writes %x where zeros are reserved", version, reserved)
		}
		b := open(t, []byte(riff(pcmFmt(1, 48000, 16), ck("bext", p), ck("data", "")))).Header().Broadcast
		if b.LoudnessValue != sound.LoudnessUnset || b.MaxTruePeak != sound.LoudnessUnset {
			t.Errorf("version %d reads loudness %d, want not set", version, b.LoudnessValue)
		}
	}
}

func TestBroadcastTextThatIsNoASCII(t *testing.T) {
	field := func(s string) string {
		p := appendBroadcast(nil, sound.Broadcast{})
		copy(p, s)
		return open(t, []byte(riff(pcmFmt(1, 48000, 16), ck("bext", string(p)), ck("data", "")))).Header().Broadcast.Description
	}
	if got := field("Cajón"); got != "Cajón" {
		t.Errorf("UTF-8 reads as %q", got)
	}
	if got := field("Caj\xf3n  "); got != "Cajón" {
		t.Errorf("Latin-1 reads as %q", got)
	}
}

// A field that ends within a character would be taken for Latin-1 as a whole.
func TestBroadcastTextIsCutBetweenCharacters(t *testing.T) {
	b := sound.Broadcast{Description: strings.Repeat("a", 255) + "ó", Originator: "Dóra Kőműves, hangmérnök, és őrült", OriginationDate: "2031-04-1é"}
	h := open(t, write(t, Spec{Format: sound.Format{Bits: 16, RateHz: 48000, Channels: 1}, Broadcast: &b}, [][]float32{{0}})).Header()
	want := [3]string{strings.Repeat("a", 255), "Dóra Kőműves, hangmérnök,", "2031-04-1"}
	if got := [3]string{h.Broadcast.Description, h.Broadcast.Originator, h.Broadcast.OriginationDate}; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// A history is a claim too: of one longer than maxHistory the beginning is kept.
func TestLongCodingHistoryIsCapped(t *testing.T) {
	b := sound.Broadcast{CodingHistory: strings.Repeat("A=PCM\r\n", 40000)}
	r := open(t, []byte(riff(ck("bext", string(appendBroadcast(nil, b))), pcmFmt(1, 48000, 16), ck("data", ""))))
	if got := len(r.Header().Broadcast.CodingHistory); got != maxHistory {
		t.Fatalf("%d bytes kept, want %d", got, maxHistory)
	}
}
