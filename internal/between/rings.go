package between

// Rings returns the closed rings of an assignment: assign[j] is the line whose
// source line j carries, itself where it is right, negative where unknown. A
// swap is a ring of two. In a ring [a b c] line a carries b's source, b carries
// c's and c carries a's; each begins with its lowest line, the rings in order
// of that.
func Rings(assign []int) [][]int {
	rings, _ := follow(assign)
	return rings
}

// Chains returns the rest: lines that carry another's source without closing a
// ring. In [a b c] line a carries b's source, b carries c's, and c carries its
// own, nothing known, or what another line carries too.
func Chains(assign []int) [][]int {
	_, chains := follow(assign)
	return chains
}

func follow(assign []int) (rings, chains [][]int) {
	next := func(j int) int {
		if k := assign[j]; k >= 0 && k < len(assign) && k != j {
			return k
		}
		return -1
	}
	inRing := make([]bool, len(assign))
	for j := range assign {
		if inRing[j] {
			continue
		}
		ring := []int{j}
		for k := next(j); k >= 0 && len(ring) <= len(assign); k = next(k) {
			if k == j {
				rings = append(rings, ring)
				for _, l := range ring {
					inRing[l] = true
				}
				break
			}
			ring = append(ring, k)
		}
	}
	entered := make([]bool, len(assign))
	for j := range assign {
		if k := next(j); k >= 0 && !inRing[j] {
			entered[k] = true
		}
	}
	for j := range assign {
		if inRing[j] || entered[j] || next(j) < 0 {
			continue
		}
		chain := []int{j}
		for k := next(j); k >= 0; k = next(k) {
			chain = append(chain, k)
			if inRing[k] {
				break
			}
		}
		chains = append(chains, chain)
	}
	return rings, chains
}
