package between

import (
	"fmt"
	"math"
)

// Assign returns the assignment of rows to columns with the greatest total
// score: column[i] is the column of row i, every column at most once. There are
// at least as many columns as rows; it panics otherwise, and on ragged rows.
// Adding a constant to a row or, where the matrix is square, to a column
// changes no answer. −Inf forbids a cell; where every assignment needs a
// forbidden one, it takes as few as it can. Hungarian method with shortest
// augmenting paths, O(rows²·columns).
func Assign(score [][]float64) (column []int, total float64) {
	n := len(score)
	if n == 0 {
		return nil, 0
	}
	m := len(score[0])
	if m < n {
		panic(fmt.Sprintf("between: Assign wants at least as many columns as rows, got %d and %d", m, n))
	}
	cost := make([][]float64, n)
	for i, row := range score {
		if len(row) != m {
			panic(fmt.Sprintf("between: Assign wants rows of one length, row %d has %d columns, not %d", i, len(row), m))
		}
		cost[i] = make([]float64, m)
		for j, v := range row {
			cost[i][j] = -v
			if math.IsNaN(v) || v < -forbidden {
				cost[i][j] = forbidden
			}
		}
	}
	u, v := make([]float64, n+1), make([]float64, m+1) // potentials
	rowOf := make([]int, m+1)                          // row of each column, from 1
	way := make([]int, m+1)
	for i := 1; i <= n; i++ {
		rowOf[0] = i
		j0 := 0
		least := make([]float64, m+1)
		for j := range least {
			least[j] = math.Inf(1)
		}
		used := make([]bool, m+1)
		for {
			used[j0] = true
			i0, delta, j1 := rowOf[j0], math.Inf(1), 0
			for j := 1; j <= m; j++ {
				if used[j] {
					continue
				}
				if c := cost[i0-1][j-1] - u[i0] - v[j]; c < least[j] {
					least[j], way[j] = c, j0
				}
				if least[j] < delta {
					delta, j1 = least[j], j
				}
			}
			for j := range used {
				if used[j] {
					u[rowOf[j]] += delta
					v[j] -= delta
				} else {
					least[j] -= delta
				}
			}
			j0 = j1
			if rowOf[j0] == 0 {
				break
			}
		}
		for j0 != 0 {
			rowOf[j0] = rowOf[way[j0]]
			j0 = way[j0]
		}
	}
	column = make([]int, n)
	for j := 1; j <= m; j++ {
		if rowOf[j] > 0 {
			column[rowOf[j]-1] = j - 1
			total -= cost[rowOf[j]-1][j-1]
		}
	}
	return column, total
}

// forbidden is the cost of a cell that must not be taken: far over any score, far under what doubles resolve.
const forbidden = 1e9
