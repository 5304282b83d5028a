package wav

import (
	"bytes"
	"fmt"

	"tidemark/internal/sound"
	"tidemark/internal/sound/chunk"
	"tidemark/internal/sound/pcm"
)

// Encodings of the fmt chunk that Tidemark reads.
const (
	tagPCM        = 1
	tagFloat      = 3
	tagExtensible = 0xFFFE
)

// subFormatTail is what follows the encoding's number in the SubFormat of an
// extensible fmt chunk: 0000-0010-8000-00AA00389B71 (WAVE_FORMAT_EXTENSIBLE, 2001).
var subFormatTail = []byte{0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xAA, 0, 0x38, 0x9B, 0x71}

// otherEncodings names what is met inside WAV files and cannot be read.
var otherEncodings = map[uint16]string{
	0x0002: "ADPCM", 0x0006: "A-law", 0x0007: "mu-law", 0x0011: "IMA ADPCM",
	0x0031: "GSM", 0x0050: "MPEG", 0x0055: "MP3", 0x0092: "AC-3", 0x00FF: "AAC",
	0x0161: "WMA", 0x0162: "WMA", 0x0163: "WMA lossless", 0xF1AC: "FLAC", 0x674F: "Vorbis",
}

const maxChannels = 64

// reader checks the fmt chunk and makes the Reader of what walk has found.
func (f *file) reader() (*Reader, error) {
	if f.fmt == nil {
		return nil, &sound.FormatError{Text: f.missing("fmt")}
	}
	format, layout, err := f.readFormat(*f.fmt)
	if err != nil {
		return nil, err
	}
	if f.data == nil {
		return nil, &sound.FormatError{Text: f.missing("data")}
	}
	if f.data.At < f.fmt.At {
		f.Odd("data chunk at byte %d stands before the fmt chunk", f.data.At)
	}
	if f.container != "RIFF" && !f.ds64 {
		f.Odd("%s file without the ds64 chunk that holds its sizes", f.container)
	}
	frameBytes := int64(format.Channels * layout.Bytes)
	frames := f.data.Held / frameBytes
	f.noteData(frameBytes, frames)

	h := sound.Header{Format: format, Frames: frames}
	if f.bext != nil {
		if h.Broadcast, err = f.readBroadcast(*f.bext); err != nil {
			return nil, err
		}
	}
	if f.ixml != nil {
		if h.ChannelNames, err = f.readChannelNames(*f.ixml, format.Channels); err != nil {
			return nil, err
		}
	}
	h.Damage = f.Damage
	return &Reader{header: h, sound: pcm.NewStream(f.R, layout, format.Channels, "data chunk", f.data.Body, frames)}, nil
}

// missing words the lack of a chunk, with what the walk met before.
func (f *file) missing(id string) string {
	text := fmt.Sprintf("the file has no %s chunk in its %d bytes; it is not readable sound, ask for it to be exported or copied again", id, f.Size)
	if len(f.Damage) > 0 {
		text += " (" + f.Damage[len(f.Damage)-1].Text + ")"
	}
	return text
}

// readFormat reads the fmt chunk.
func (f *file) readFormat(c chunk.Chunk) (sound.Format, pcm.Layout, error) {
	const exportAgain = "the file is not readable sound, ask for it to be exported again"
	none := func(text string, args ...any) (sound.Format, pcm.Layout, error) {
		return sound.Format{}, pcm.Layout{}, c.Fail(text, args...)
	}
	p, err := f.Head(c, 40)
	if err != nil {
		return sound.Format{}, pcm.Layout{}, err
	}
	n := len(p)
	if n < 16 {
		return none("holds %d bytes, expected at least 16; %s", n, exportAgain)
	}
	tag := le.Uint16(p[0:])
	channels := int(le.Uint16(p[2:]))
	rate := le.Uint32(p[4:])
	align := int(le.Uint16(p[12:]))
	bits := int(le.Uint16(p[14:]))
	valid := bits
	if tag == tagExtensible {
		if n < 40 {
			return none("is of the extensible kind and holds %d bytes, expected 40; %s", n, exportAgain)
		}
		tag = le.Uint16(p[24:])
		if !bytes.Equal(p[26:40], subFormatTail) {
			return none("names the encoding %x, expected integer or float samples; ask for PCM", p[24:40])
		}
		if v := int(le.Uint16(p[18:])); v != 0 {
			valid = v
		}
	}
	if channels < 1 || channels > maxChannels {
		return none("declares %d channels, expected 1 to %d; %s", channels, maxChannels, exportAgain)
	}
	if rate < sound.MinRateHz || rate > sound.MaxRateHz {
		return none("declares %d Hz, expected %d to %d; %s", rate, sound.MinRateHz, sound.MaxRateHz, exportAgain)
	}
	format := sound.Format{Container: f.container, Bits: valid, RateHz: int(rate), Channels: channels}
	if f.container == "RIFF" {
		format.Container = "WAV"
	}
	layout := pcm.Layout{Bytes: (bits + 7) / 8, Bits: valid}
	switch tag {
	case tagPCM:
		if bits < 1 || bits > 32 {
			return none("declares integer samples of %d bits, expected 1 to 32; %s", bits, exportAgain)
		}
	case tagFloat:
		format.Encoding, layout.Encoding = sound.Float, sound.Float
		if bits != 32 && bits != 64 {
			return none("declares float samples of %d bits, expected 32 or 64; %s", bits, exportAgain)
		}
	default:
		if name, ok := otherEncodings[tag]; ok {
			return none("names the encoding 0x%04X (%s), expected PCM or float; ask for uncompressed WAV or FLAC", tag, name)
		}
		return none("names the encoding 0x%04X, expected 1 (PCM) or 3 (float); ask for uncompressed WAV or FLAC", tag)
	}
	if valid < 1 || valid > bits {
		return none("declares %d valid bits in samples of %d; %s", valid, bits, exportAgain)
	}
	switch container := align / channels; {
	case align == channels*layout.Bytes:
	case align == 0:
		f.Odd("fmt chunk at byte %d declares frames of 0 bytes, %d were taken", c.At, channels*layout.Bytes)
	case format.Encoding == sound.Integer && align%channels == 0 && container > layout.Bytes && container <= 4:
		layout.Bytes = container // 24 bits in four bytes: left-justified as ever
	default:
		return none("declares frames of %d bytes, expected %d for %d channels of %d bits; %s", align, channels*layout.Bytes, channels, bits, exportAgain)
	}
	layout.Unsigned = format.Encoding == sound.Integer && layout.Bytes == 1
	return format, layout, nil
}
