package sound

// Reader streams a recording.
//
// Read fills b with up to b.Room() frames and sets b.Start. It returns io.EOF,
// and an empty block, at the end; a file that ends too early ends with io.EOF
// as well and tells so in Damage, since what was recorded must still be read.
// Any other error is final and names chunk and byte offset. Read panics if b
// has another number of channels than the recording, or no room.
//
// SeekFrame moves to a frame; past the end the next Read returns io.EOF.
//
// Damage lists what was found wrong so far: all of it once Read has said io.EOF.
//
// A Reader is for one goroutine. It holds no more memory than its buffers.
type Reader interface {
	Header() Header
	Read(b *Block) error
	SeekFrame(frame int64) error
	Damage() []Damage
}
