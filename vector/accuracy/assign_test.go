package accuracy

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The example of Kuhn's kind: three workers and jobs, where the cheapest job
// of each is the same one.
func TestAssignSmall(t *testing.T) {
	costs := [][]float64{{1, 2, 3}, {1, 4, 6}, {1, 6, 9}}
	got := assign(3, 3, 100, func(i, j int) float64 { return costs[i][j] })
	// All six by hand: 14, 13, 14, 12, 11 and 10 for jobs 3, 2, 1.
	for i, want := range []int{2, 1, 0} {
		if got[i] != want {
			t.Errorf("row %d got column %d, want %d (%v)", i, got[i], want, got)
		}
	}
}

// Staying alone is cheaper than a far partner, and what can't pair doesn't.
func TestAssignAlone(t *testing.T) {
	costs := [][]float64{{4, math.Inf(1)}, {0.5, math.Inf(1)}}
	got := assign(2, 2, 1, func(i, j int) float64 { return costs[i][j] })
	if got[0] != -1 || got[1] != 0 {
		t.Errorf("got %v, want [-1 0]", got)
	}
	if got := assign(1, 0, 1, nil); got[0] != -1 {
		t.Errorf("no columns: got %v", got)
	}
}

// The cost is that of the best of all assignments.
func TestAssignIsBest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, m := rapid.IntRange(1, 5).Draw(t, "rows"), rapid.IntRange(0, 5).Draw(t, "columns")
		costs := make([]float64, n*m)
		for i := range costs {
			costs[i] = float64(rapid.IntRange(0, 20).Draw(t, "cost"))
			if costs[i] > 18 {
				costs[i] = math.Inf(1)
			}
		}
		const alone = 9
		got, sum := assign(n, m, alone, func(i, j int) float64 { return costs[i*m+j] }), 0.0
		taken := make(map[int]bool)
		for i, j := range got {
			if j < 0 {
				sum += alone
				continue
			}
			if taken[j] {
				t.Fatalf("column %d twice: %v", j, got)
			}
			taken[j] = true
			sum += costs[i*m+j]
		}
		if want := cheapest(costs, m, 0, n, alone, 0); sum != want {
			t.Fatalf("cost %g, want %g: %v", sum, want, got)
		}
	})
}

// cheapest tries all assignments of the rows from i on; used is a set of bits.
func cheapest(costs []float64, m, i, n int, alone float64, used uint) float64 {
	if i == n {
		return 0
	}
	best := alone + cheapest(costs, m, i+1, n, alone, used)
	for j := range m {
		if used&(1<<j) == 0 {
			best = min(best, costs[i*m+j]+cheapest(costs, m, i+1, n, alone, used|1<<j))
		}
	}
	return best
}
