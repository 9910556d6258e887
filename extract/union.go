package extract

// A union keeps sets of whole numbers that are joined together (Galler &
// Fischer 1964). The root of a set is its smallest member.
type union []int

func newUnion(n int) union {
	u := make(union, n)
	for i := range u {
		u[i] = i
	}
	return u
}

func (u union) root(i int) int {
	for u[i] != i {
		u[i] = u[u[i]]
		i = u[i]
	}
	return i
}

func (u union) join(i, j int) {
	a, b := u.root(i), u.root(j)
	u[max(a, b)] = min(a, b)
}

// sets returns the members of each set in ascending order, the sets by their
// smallest member.
func (u union) sets() [][]int {
	place := make(map[int]int)
	var sets [][]int
	for i := range u {
		r := u.root(i)
		k, ok := place[r]
		if !ok {
			k = len(sets)
			place[r] = k
			sets = append(sets, nil)
		}
		sets[k] = append(sets[k], i)
	}
	return sets
}
