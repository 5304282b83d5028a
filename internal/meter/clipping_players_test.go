package meter

import "testing"

// Clean playing has no holes, no repeated buffers and no clipping. The naive
// square wave has true flat tops, which are counted on purpose.
func TestCleanPlayingHasNoHolesAndNoClipping(t *testing.T) {
	for name, x := range clickBand() {
		for _, bits := range []int{16, 24} {
			y := quantise(scaled(x, 0.4), bits)
			d := dropoutOf(48000, y)
			if d.Dropouts.Count != 0 || d.Repeats.Count != 0 {
				t.Errorf("%s, %d bit: %d holes %+v, %d repeats %+v", name, bits, d.Dropouts.Count, d.Holes, d.Repeats.Count, d.Repeats.Last)
			}
			c := clippingOf(48000, topOf(bits), y)
			if c.FullScale.Count != 0 || c.FlatTop.Count != 0 && name != "square" {
				t.Errorf("%s, %d bit: %d at full scale, %d flat tops at %g", name, bits, c.FullScale.Count, c.FlatTop.Count, c.FlatLevel)
			}
		}
	}
}
