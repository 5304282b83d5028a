package statistics

import (
	"fmt"
	"testing"

	"tidemark/internal/conform"
)

// lastPlace is one step of a value printed with six places.
const lastPlace = 1e-6

func check(t *testing.T, what, source string, expected, tolerance float64, digits int, measured float64) {
	t.Helper()
	conform.Check(t, conform.Row{Section: "Statistics", Case: what, Source: source, Expected: expected, Under: tolerance, Over: tolerance, Digits: digits, Measured: measured})
}

// The least score for 5 % and for 1 % of listeners who choose between two, and
// its exact p.
func TestTableOfTwoWayScores(t *testing.T) {
	const source = "derived: one-sided binomial of chance ½, the exact sum"
	rows := []struct {
		n, k5 int
		p5    float64
		k1    int // 0: none
		p1    float64
	}{
		{5, 5, 0.031250, 0, 0}, {6, 6, 0.015625, 0, 0}, {7, 7, 0.007812, 7, 0.007812},
		{8, 7, 0.035156, 8, 0.003906}, {9, 8, 0.019531, 9, 0.001953}, {10, 9, 0.010742, 10, 0.000977},
		{11, 9, 0.032715, 10, 0.005859}, {12, 10, 0.019287, 11, 0.003174}, {13, 10, 0.046143, 12, 0.001709},
		{14, 11, 0.028687, 12, 0.006470}, {15, 12, 0.017578, 13, 0.003693}, {16, 12, 0.038406, 14, 0.002090},
		{17, 13, 0.024521, 14, 0.006363}, {18, 13, 0.048126, 15, 0.003769}, {19, 14, 0.031784, 15, 0.009605},
		{20, 15, 0.020695, 16, 0.005909}, {21, 15, 0.039177, 17, 0.003599}, {22, 16, 0.026239, 17, 0.008450},
		{23, 16, 0.046570, 18, 0.005311}, {24, 17, 0.031957, 19, 0.003305}, {25, 18, 0.021643, 19, 0.007317},
		{30, 20, 0.049369, 22, 0.008062}, {40, 26, 0.040345, 28, 0.008295}, {50, 32, 0.032454, 34, 0.007673},
		{100, 59, 0.044313, 63, 0.006016},
	}
	if len(rows) != 25 {
		t.Fatalf("%d rows, the table has 25", len(rows))
	}
	for _, r := range rows {
		for _, l := range []struct {
			level float64
			k     int
			p     float64
		}{{0.05, r.k5, r.p5}, {0.01, r.k1, r.p1}} {
			k, ok := LeastScore(r.n, TwoWay, l.level)
			if !ok {
				k = 0
			}
			check(t, fmt.Sprintf("two-way, %d trials: least score for %g %%, 0 for none", r.n, 100*l.level), source, float64(l.k), 0, 0, float64(k))
			if l.k > 0 && (l.level == 0.05 || l.k != r.k5) { // seven of seven passes both
				check(t, fmt.Sprintf("two-way, %d of %d: p", l.k, r.n), source, l.p, lastPlace, 6, P(l.k, r.n, TwoWay))
			}
		}
	}
	for _, r := range []struct {
		k, n int
		p    float64
	}{{8, 10, 0.054688}, {11, 16, 0.105057}, {4, 4, 0.0625}} {
		check(t, fmt.Sprintf("two-way, %d of %d: p", r.k, r.n), source, r.p, lastPlace, 6, P(r.k, r.n, TwoWay))
	}
}

func TestTableOfTriangleScores(t *testing.T) {
	const source = "derived: one-sided binomial of chance ⅓, the exact sum"
	rows := []struct {
		n, k int
		p    float64
	}{{10, 7, 0.019662}, {12, 8, 0.018758}, {15, 9, 0.030828}, {20, 11, 0.037637}, {24, 13, 0.028441}, {30, 15, 0.043482}}
	for _, r := range rows {
		k, _ := LeastScore(r.n, Triangle, 0.05)
		check(t, fmt.Sprintf("triangle, %d trials: least score for 5 %%", r.n), source, float64(r.k), 0, 0, float64(k))
		check(t, fmt.Sprintf("triangle, %d of %d: p", r.k, r.n), source, r.p, lastPlace, 6, P(r.k, r.n, Triangle))
	}
}

func TestTableOfIntervals(t *testing.T) {
	const (
		wilson  = "derived: Wilson 1927, z = 1.959964"
		pearson = "derived: Clopper-Pearson, quantiles of the beta distribution"
		within  = 1e-5 // one step of the printed value
	)
	rows := []struct {
		k, n            int
		wilson, pearson Interval
	}{
		{0, 10, Interval{0, 0.27753}, Interval{0, 0.30850}},
		{5, 10, Interval{0.23659, 0.76341}, Interval{0.18709, 0.81291}},
		{8, 10, Interval{0.49016, 0.94332}, Interval{0.44390, 0.97479}},
		{9, 10, Interval{0.59585, 0.98212}, Interval{0.55498, 0.99747}},
		{10, 10, Interval{0.72247, 1}, Interval{0.69150, 1}},
		{12, 16, Interval{0.50502, 0.89818}, Interval{0.47623, 0.92734}},
		{14, 20, Interval{0.48103, 0.85452}, Interval{0.45721, 0.88107}},
		{15, 20, Interval{0.53130, 0.88814}, Interval{0.50895, 0.91343}},
	}
	for _, r := range rows {
		w, c := Wilson(r.k, r.n, 0.95), ClopperPearson(r.k, r.n, 0.95)
		check(t, fmt.Sprintf("Wilson 95 %%, %d of %d: lower limit", r.k, r.n), wilson, r.wilson.Low, within, 5, w.Low)
		check(t, fmt.Sprintf("Wilson 95 %%, %d of %d: upper limit", r.k, r.n), wilson, r.wilson.High, within, 5, w.High)
		check(t, fmt.Sprintf("Clopper-Pearson 95 %%, %d of %d: lower limit", r.k, r.n), pearson, r.pearson.Low, within, 5, c.Low)
		check(t, fmt.Sprintf("Clopper-Pearson 95 %%, %d of %d: upper limit", r.k, r.n), pearson, r.pearson.High, within, 5, c.High)
	}
}

// A beats B 7-3 and C 9-1, B beats C 6-4.
func TestPublishedPreference(t *testing.T) {
	const source = "derived: Bradley & Terry 1952, likeliest strengths by Zermelo's rounds"
	p := Preferred([][]int{{0, 7, 9}, {3, 0, 6}, {1, 4, 0}})
	if !p.Finite() {
		t.Fatalf("no finite answer: %+v", p)
	}
	for i, want := range []float64{0.662503, 0.219699, 0.117798} {
		check(t, fmt.Sprintf("Bradley-Terry, A:B 7-3, A:C 9-1, B:C 6-4: strength of %c", 'A'+i), source, want, lastPlace, 6, p.Strength[i])
	}
	for _, c := range []struct {
		i, j int
		want float64
	}{{0, 1, 0.7510}, {0, 2, 0.8490}, {1, 2, 0.6510}} {
		check(t, fmt.Sprintf("Bradley-Terry, A:B 7-3, A:C 9-1, B:C 6-4: P(%c > %c)", 'A'+c.i, 'A'+c.j), source, c.want, 1e-4, 4, p.Beats(c.i, c.j))
	}
}
