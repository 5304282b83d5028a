package disk

import (
	"cmp"
	"testing"
)

// FuzzNatural: the order of names is one that can be sorted by: a name equals
// itself alone, turning the question over turns the answer over, and what stands
// before the second stands before what the second stands before.
func FuzzNatural(f *testing.F) {
	f.Add("take 2", "take 10", "Take 02")
	f.Add("a/1", "a b/1", "a1")
	f.Add("01", "1", "001a")
	f.Add("\xff", "İ", "K")
	f.Fuzz(func(t *testing.T, a, b, c string) {
		for _, p := range [][2]string{{a, b}, {b, c}, {a, c}, {a, a}} {
			ab, ba := natural(p[0], p[1]), natural(p[1], p[0])
			if cmp.Compare(ab, 0) != -cmp.Compare(ba, 0) || (ab == 0) != (p[0] == p[1]) {
				t.Errorf("%q and %q: %d one way, %d the other", p[0], p[1], ab, ba)
			}
		}
		if natural(a, b) <= 0 && natural(b, c) <= 0 && natural(a, c) > 0 {
			t.Errorf("%q ≤ %q ≤ %q, and yet not %q ≤ %q", a, b, c, a, c)
		}
	})
}
