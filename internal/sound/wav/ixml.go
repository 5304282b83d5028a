package wav

import (
	"bytes"
	"encoding/xml"
	"io"
	"strings"

	"tidemark/internal/sound/chunk"
)

// maxIXML bounds the iXML kept; 64 tracks with notes take about 20 kB.
const maxIXML = 1 << 20

// ixmlTracks is the part of an iXML document (open field-recording metadata)
// that names the interleaved channels. Indices count from 1.
type ixmlTracks struct {
	Tracks []struct {
		Interleave int    `xml:"INTERLEAVE_INDEX"`
		Channel    int    `xml:"CHANNEL_INDEX"`
		Name       string `xml:"NAME"`
	} `xml:"TRACK_LIST>TRACK"`
}

// readChannelNames gives one name a channel from the TRACK_LIST, nil where there
// is none. XML that cannot be parsed is noted, and no reason to refuse the sound.
func (f *file) readChannelNames(c chunk.Chunk, channels int) ([]string, error) {
	p, err := f.Head(c, maxIXML)
	if err != nil {
		return nil, err
	}
	d := xml.NewDecoder(bytes.NewReader(bytes.TrimRight(p, "\x00")))
	d.Strict = false
	d.CharsetReader = func(_ string, in io.Reader) (io.Reader, error) { return in, nil }
	var doc ixmlTracks
	if err := d.Decode(&doc); err != nil {
		f.Odd("iXML chunk at byte %d is not well-formed: %v; it was not used", c.At, err)
		return nil, nil
	}
	var names []string
	for _, t := range doc.Tracks {
		index := t.Interleave
		if index == 0 {
			index = t.Channel
		}
		name := strings.TrimSpace(t.Name)
		if index < 1 || index > channels || name == "" {
			continue
		}
		if names == nil {
			names = make([]string, channels)
		}
		names[index-1] = name
	}
	return names, nil
}
