package sound

import "fmt"

// BlockFrames is the usual length of a block: small enough for every stage of
// the measuring to find it still in the processor's first caches.
const BlockFrames = 2400

// Block is a stretch of sound, one slice a channel, all of one length. A block
// belongs to the caller and is used again and again; a meter keeps nothing of it.
type Block struct {
	Start    int64       // index of the first frame in the recording
	Channels [][]float32 // [channel][frame], full scale ±1
}

// NewBlock makes a block with room for frames frames of channels channels.
func NewBlock(channels, frames int) *Block {
	b := &Block{Channels: make([][]float32, channels)}
	all := make([]float32, channels*frames)
	for c := range b.Channels {
		b.Channels[c] = all[c*frames : c*frames : (c+1)*frames]
	}
	return b
}

// Frames is the number of frames in the block.
func (b *Block) Frames() int {
	if len(b.Channels) == 0 {
		return 0
	}
	return len(b.Channels[0])
}

// Room is the number of frames the block can hold.
func (b *Block) Room() int {
	if len(b.Channels) == 0 {
		return 0
	}
	return cap(b.Channels[0])
}

// Resize sets the number of frames, up to the block's room, and panics past it.
func (b *Block) Resize(frames int) {
	if frames < 0 || frames > b.Room() {
		panic(fmt.Sprintf("sound: block resized to %d frames, room for %d", frames, b.Room()))
	}
	for c := range b.Channels {
		b.Channels[c] = b.Channels[c][:frames]
	}
}
