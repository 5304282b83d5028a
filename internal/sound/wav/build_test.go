package wav

import (
	"encoding/hex"
	"strings"
	"testing"
)

// Files are built by hand here, chunk by chunk, so that the reader is held to
// the format and not to what the writer beside it does.

func u16(n int) string { return string(le.AppendUint16(nil, uint16(n))) }
func u32(n int) string { return string(le.AppendUint32(nil, uint32(n))) }
func u64(n int) string { return string(le.AppendUint64(nil, uint64(n))) }

// ck is a chunk with its right size and pad byte.
func ck(id, body string) string {
	s := id + u32(len(body)) + body
	if len(body)%2 == 1 {
		s += "\x00"
	}
	return s
}

// riff is a whole file of chunks.
func riff(chunks ...string) string {
	body := "WAVE" + strings.Join(chunks, "")
	return "RIFF" + u32(len(body)) + body
}

// pcm is a fmt chunk of 16 bytes for integer samples that fill their bytes.
func pcmFmt(channels, rate, bits int) string {
	return ck("fmt ", fmtBody(tagPCM, channels, rate, channels*((bits+7)/8), bits))
}

func fmtBody(tag, channels, rate, align, bits int) string {
	return u16(tag) + u16(channels) + u32(rate) + u32(rate*align) + u16(align) + u16(bits)
}

// extFmt is an extensible fmt chunk.
func extFmt(channels, rate, container, valid, mask, tag int) string {
	return ck("fmt ", fmtBody(tagExtensible, channels, rate, channels*container/8, container)+
		u16(22)+u16(valid)+u32(mask)+u16(tag)+string(subFormatTail))
}

func unhex(t testing.TB, s string) string {
	t.Helper()
	p, err := hex.DecodeString(strings.Join(strings.Fields(s), ""))
	if err != nil {
		t.Fatal(err)
	}
	return string(p)
}
