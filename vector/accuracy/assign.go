package accuracy

import "math"

// assign pairs n rows with m columns one to one at the least total cost, where
// a row left alone costs alone. It returns each row's column, or -1. Pairs of
// infinite cost are not made.
//
// It is the shortest augmenting path method of the assignment problem (Kuhn,
// 1955; Jonker and Volgenant, 1987) with one column more a row for staying
// alone; O(n²(n+m)).
func assign(n, m int, alone float64, cost func(i, j int) float64) []int {
	total := n + m
	at := func(i, j int) float64 {
		switch {
		case j < m:
			return cost(i, j)
		case j == m+i:
			return alone
		}
		return math.Inf(1)
	}
	// Rows and columns count from 1; column 0 holds the row being placed.
	u, v := make([]float64, n+1), make([]float64, total+1)
	rowOf, from := make([]int, total+1), make([]int, total+1)
	for i := 1; i <= n; i++ {
		rowOf[0] = i
		j := augment(i, u, v, rowOf, from, at)
		for j != 0 {
			rowOf[j] = rowOf[from[j]]
			j = from[j]
		}
	}
	out := make([]int, n)
	for i := range out {
		out[i] = -1
	}
	for j := 1; j <= m; j++ {
		if rowOf[j] > 0 {
			out[rowOf[j]-1] = j - 1
		}
	}
	return out
}

// augment finds the cheapest path from the row in column 0 to a free column,
// updates the potentials u and v, and returns that column; from holds the way
// back.
func augment(i int, u, v []float64, rowOf, from []int, at func(i, j int) float64) int {
	least, used := make([]float64, len(v)), make([]bool, len(v))
	for j := range least {
		least[j] = math.Inf(1)
	}
	j0 := 0
	for rowOf[j0] != 0 {
		used[j0] = true
		row, delta, j1 := rowOf[j0], math.Inf(1), 0
		for j := 1; j < len(v); j++ {
			if used[j] {
				continue
			}
			if c := at(row-1, j-1) - u[row] - v[j]; c < least[j] {
				least[j], from[j] = c, j0
			}
			if least[j] < delta {
				delta, j1 = least[j], j
			}
		}
		for j := range v {
			if used[j] {
				u[rowOf[j]] += delta
				v[j] -= delta
			} else {
				least[j] -= delta
			}
		}
		j0 = j1
	}
	return j0
}
