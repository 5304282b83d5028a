package meter

// ClippingReading counts flat tops of one channel.
type ClippingReading struct {
	FullScale Events  // runs at the largest value that the format can hold
	FlatTop   Events  // runs at one repeated extreme below full scale
	FlatLevel float64 // |x| at which most of the flat tops lie; 0 without
}
