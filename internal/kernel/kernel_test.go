package kernel

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"unsafe"
)

// yard is room from which slices for kernels are cut, at its very beginning or end.
type yard struct{ all []byte }

// litter is what lies in a yard beside the slice.
const litter = 0xa5

// bytes is a slice for a result, with litter beside it.
func (y *yard) bytes(n int, atEnd bool) []byte {
	for i := range y.all {
		y.all[i] = litter
	}
	return y.input(n, atEnd)
}

// input is a slice for a kernel to read.
func (y *yard) input(n int, atEnd bool) []byte {
	if atEnd {
		return y.all[len(y.all)-n:]
	}
	return y.all[:n:n]
}

func (y *yard) floats(n int, atEnd bool) []float32 { return floats(y.bytes(4*n, atEnd)) }

func floats(b []byte) []float32 {
	return unsafe.Slice((*float32)(unsafe.Pointer(unsafe.SliceData(b))), len(b)/4)
}

func (y *yard) words(n int, atEnd bool) []uint32 {
	return unsafe.Slice((*uint32)(unsafe.Pointer(unsafe.SliceData(y.bytes(4*n, atEnd)))), n)
}

// tidy fails the test when something beside a slice of n bytes was written.
func (y *yard) tidy(t *testing.T, n int, atEnd bool) {
	t.Helper()
	rest := y.all[n:]
	if atEnd {
		rest = y.all[:len(y.all)-n]
	}
	for i, b := range rest {
		if b != litter {
			t.Fatalf("byte %d beside a result of %d bytes was written", i, n)
		}
	}
}

// onEachPath runs a test on the portable code and on the processor's own.
func onEachPath(t *testing.T, test func(t *testing.T)) {
	for _, portable := range []bool{true, false} {
		was := Portable(portable)
		if name := Path(); portable || name != "portable" {
			t.Run(name, test)
		}
		Portable(was)
	}
}

// sounds fill blocks with what kernels may meet.
var sounds = []struct {
	name string
	fill func(r *rand.Rand, x []float32)
}{
	{"noise", func(r *rand.Rand, x []float32) {
		for i := range x {
			x[i] = 2*r.Float32() - 1
		}
	}},
	{"sound of 24 bits", func(r *rand.Rand, x []float32) {
		for i := range x {
			x[i] = float32(int32(r.Uint32())>>8) / (1 << 23)
		}
	}},
	{"any bits", func(r *rand.Rand, x []float32) {
		for i := range x {
			x[i] = math.Float32frombits(r.Uint32())
		}
	}},
	{"tiny and huge numbers", func(r *rand.Rand, x []float32) {
		for i := range x {
			x[i] = [...]float32{
				math.SmallestNonzeroFloat32, -math.SmallestNonzeroFloat32, 1e-40, -3e-39, math.MaxFloat32, -math.MaxFloat32,
				1e19, -1e-19, 0, float32(math.Copysign(0, -1)), 1, -1, 255, -256, -257,
			}[r.IntN(15)]
		}
	}},
	{"one odd sample", func(r *rand.Rand, x []float32) {
		for i := range x {
			x[i] = float32(int32(r.Uint32())>>8) / (1 << 23)
		}
		if len(x) > 0 {
			x[r.IntN(len(x))] = [...]float32{
				float32(math.NaN()), float32(math.Inf(1)), float32(math.Inf(-1)), 0, 1, -1, 1.0 / (1 << 24), 1e-45,
			}[r.IntN(8)]
		}
	}},
	{"silence", func(r *rand.Rand, x []float32) {
		for i := range x {
			x[i] = float32(math.Copysign(0, float64(r.IntN(2))-0.5))
		}
	}},
	{"held values", func(r *rand.Rand, x []float32) {
		v := r.Float32()
		for i := range x {
			if r.IntN(40) == 0 {
				v = 2*r.Float32() - 1
			}
			x[i] = v
		}
	}},
}

// lengths are all short ones and a few of whole blocks.
var lengths = func() (n []int) {
	for i := range 201 {
		n = append(n, i)
	}
	return append(n, 1000, 2400, 4096, 4097, 9001)
}()

// overBlocks runs a test on each path, of each sound and length, beginning and
// ending at a fence.
func overBlocks(t *testing.T, lengths []int, test func(t *testing.T, r *rand.Rand, x []float32)) {
	onEachPath(t, func(t *testing.T) {
		y := newYard(t, 16)
		r := rand.New(rand.NewPCG(7, 9))
		for _, s := range sounds {
			t.Run(s.name, func(t *testing.T) {
				for _, n := range lengths {
					for _, atEnd := range []bool{false, true} {
						x := floats(y.input(4*n, atEnd))
						s.fill(r, x)
						test(t, r, x)
						if t.Failed() {
							t.Fatalf("with %d samples", n)
						}
					}
				}
			})
		}
	})
}

// lanes sums terms as the package comment says, and returns the lanes.
func lanes[F float32 | float64](n, width int, term func(i int) F) []F {
	s := make([]F, width)
	for i := range n {
		s[i%width] += term(i)
	}
	return s
}

// meet4 and meet are the orders in which lanes meet.
func meet4[F float32 | float64](s []F) F { return (s[0] + s[1]) + (s[2] + s[3]) }
func meet(s []float32) float32           { return meet4(s) + meet4(s[4:]) }

// same says whether two numbers are the same bit for bit, or both none.
func same(a, b float64) bool {
	return math.Float64bits(a) == math.Float64bits(b) || a != a && b != b
}

// sameBits is same for float32 given as bits without a sign.
func sameBits(a, b uint32) bool { return a == b || a > infinity && b > infinity }

const infinity = 0xff << 23

func check(t *testing.T, what string, got, want float64) {
	t.Helper()
	if !same(got, want) {
		t.Errorf("%s is %v (%x), want %v (%x)", what, got, math.Float64bits(got), want, math.Float64bits(want))
	}
}

func largest(x []float32) (top uint32) {
	for _, v := range x {
		top = max(top, math.Float32bits(v)<<1>>1)
	}
	return top
}

func TestTheLargestSampleIsFound(t *testing.T) {
	overBlocks(t, lengths, func(t *testing.T, _ *rand.Rand, x []float32) {
		if got, want := MaxAbs(x), largest(x); got != want {
			t.Errorf("MaxAbs is %x, want %x", got, want)
		}
	})
}

func TestTheLargestOfEachRunIsFound(t *testing.T) {
	out := newYard(t, 16)
	overBlocks(t, lengths, func(t *testing.T, r *rand.Rand, x []float32) {
		n, atEnd := len(x)/TopRun, r.IntN(2) == 0
		dst := out.words(n, atEnd)
		top := Tops(dst, x)
		for k, got := range dst {
			if want := largest(x[8*k : 8*k+8]); got != want {
				t.Errorf("run %d of %d is %x, want %x", k, n, got, want)
			}
		}
		if want := largest(x[:8*n]); top != want {
			t.Errorf("the whole is %x, want %x", top, want)
		}
		out.tidy(t, 4*n, atEnd)
	})
}

func TestSumsAreMadeInTheirOrder(t *testing.T) {
	overBlocks(t, lengths, func(t *testing.T, r *rand.Rand, x []float32) {
		before := 2*r.Float32() - 1
		sum, square, diff := Sums(x, before)
		at := func(i int) float64 {
			if i < 0 {
				return float64(before)
			}
			return float64(x[i])
		}
		check(t, "sum", sum, meet4(lanes(len(x), 4, at)))
		check(t, "square", square, meet4(lanes(len(x), 4, func(i int) float64 { return at(i) * at(i) })))
		check(t, "diff", diff, meet4(lanes(len(x), 4, func(i int) float64 {
			d := at(i) - at(i-1)
			return float64(d * d)
		})))
	})
}

func TestHeldValuesAreNoticed(t *testing.T) {
	overBlocks(t, lengths, func(t *testing.T, r *rand.Rand, x []float32) {
		before := 2*r.Float32() - 1
		switch {
		case len(x) > 0 && r.IntN(4) == 0:
			before = x[0]
		case r.IntN(4) == 0:
			before = float32(math.NaN())
		}
		got, want := Held(x, before), false
		for _, v := range x {
			want = want || math.Float32bits(v) == math.Float32bits(before) || v == 0
			before = v
		}
		if got != want {
			t.Errorf("held is %v, want %v", got, want)
		}
	})
}

func TestBitsInUseAreFound(t *testing.T) {
	overBlocks(t, lengths, func(t *testing.T, _ *rand.Rand, x []float32) {
		set, whole := BitsUsed(x)
		wantSet, wantWhole := uint32(0), true
		for _, v := range x {
			steps := float64(v) * (1 << 23)
			if steps != math.Floor(steps) || steps < -(1<<23) || steps >= 1<<23 {
				wantWhole = false
			} else {
				wantSet |= uint32(int32(steps))
			}
		}
		if !wantWhole {
			wantSet = 0
		}
		if set != wantSet || whole != wantWhole {
			t.Errorf("BitsUsed is %x, %v, want %x, %v", set, whole, wantSet, wantWhole)
		}
	})
}

func TestBendsAreMeasuredInTheirOrder(t *testing.T) {
	means, mosts := newYard(t, 1), newYard(t, 1)
	for _, d := range []int{1, 2, 4, 7} {
		for _, cell := range []int{8, 24, 32 * d} {
			overBlocks(t, []int{2 * d, 2*d + cell, 2*d + 3*cell, 2*d + 9*cell}, func(t *testing.T, r *rand.Rand, x []float32) {
				n, atEnd := (len(x)-2*d)/cell, r.IntN(2) == 0
				mean, most := means.floats(n, atEnd), mosts.floats(n, atEnd)
				Bend(x, d, cell, mean, most)
				for k := range mean {
					u := func(i int) float32 {
						i += k * cell
						two := float32(2 * x[i+d])
						return float32(math.Abs(float64(float32(x[i+2*d]-two) + x[i])))
					}
					top := uint32(0)
					for i := range cell {
						top = max(top, math.Float32bits(u(i)))
					}
					check(t, "mean", float64(mean[k]), float64(meet(lanes(cell, 8, u))/float32(cell)))
					check(t, "most", float64(most[k]), float64(math.Float32frombits(top)))
				}
				means.tidy(t, 4*n, atEnd)
				mosts.tidy(t, 4*n, atEnd)
			})
		}
	}
}

func TestTiltedEnergyIsSummedInItsOrder(t *testing.T) {
	out := newYard(t, 1)
	for _, hop := range []int{1, 5, 8, 15, 16, 44, 48, 96, 100, 192} {
		overBlocks(t, []int{1, 1 + hop, 1 + 2*hop, 1 + 13*hop}, func(t *testing.T, r *rand.Rand, x []float32) {
			for _, tilt := range []float32{0.9, float32(math.Inf(1)), float32(math.NaN())} {
				n, atEnd := (len(x)-1)/hop, r.IntN(2) == 0
				dst := out.floats(n, atEnd)
				Tilted(dst, x, hop, tilt)
				for k, got := range dst {
					check(t, "hop", float64(got), float64(meet(lanes(hop, 8, func(i int) float32 {
						i += k * hop
						low := float32(tilt * x[i])
						u := x[i+1] - low
						return float32(u * u)
					}))))
				}
				out.tidy(t, 4*n, atEnd)
			}
		})
	}
}

func TestDecimationSumsInItsOrder(t *testing.T) {
	out, tapYard := newYard(t, 1), newYard(t, 1)
	for _, taps := range []int{0, 1, 2, 3, 8, 13, 14, 15, 16, 17, 19, 65, 150} {
		for _, step := range []int{1, 2, 17} {
			overBlocks(t, []int{taps, taps + step, taps + 2*step, taps + 3*step, taps + 9*step, taps + 31*step}, func(t *testing.T, r *rand.Rand, x []float32) {
				n, atEnd := (len(x)-taps)/step+1, r.IntN(2) == 0
				h := floats(tapYard.input(4*taps, !atEnd))
				for j := range h {
					h[j] = 2*r.Float32() - 1
					h[taps-1-j] = h[j]
				}
				dst := out.floats(n, atEnd)
				Decimate(dst, x, h, step)
				for k, got := range dst {
					check(t, fmt.Sprint("value ", k), float64(got), float64(meet(lanes((taps+1)/2, 8, func(j int) float32 {
						v := x[k*step+j]
						if other := taps - 1 - j; other != j {
							v += x[k*step+other]
						}
						return float32(h[j] * v)
					}))))
				}
				out.tidy(t, 4*n, atEnd)
			})
		}
	}
}

func TestTheLargestFilteredValueIsFound(t *testing.T) {
	for _, length := range []int{12, 24} {
		for _, phases := range []int{0, 1, 3, 4} {
			taps := make([]float32, phases*length)
			r := rand.New(rand.NewPCG(1, uint64(length)))
			for j := range taps {
				taps[j] = 2*r.Float32() - 1
			}
			overBlocks(t, []int{0, 1, length - 1, length, length + 1, length + 6, length + 7, length + 8, length + 14, length + 15, length + 22, length + 23, length + 63, 300}, func(t *testing.T, _ *rand.Rand, x []float32) {
				top := uint32(0)
				for n := 0; n+length <= len(x); n++ {
					for p := range phases {
						v := meet4(lanes(length, 4, func(j int) float32 { return float32(taps[p*length+j] * x[n+j]) }))
						top = max(top, math.Float32bits(v)<<1>>1)
					}
				}
				if got := FIRMax(x, taps, length); !sameBits(got, top) {
					t.Errorf("%d phases of %d taps give %x, want %x", phases, length, got, top)
				}
			})
		}
	}
}
