package roof

// A union keeps sets of whole numbers that are joined together (Galler &
// Fischer 1964). The root of a set is its smallest member, so that the sets
// do not depend on the order of joining.
type union []int32

func newUnion(n int) union {
	u := make(union, n)
	for i := range u {
		u[i] = int32(i)
	}
	return u
}

func (u union) root(i int32) int32 {
	for u[i] != i {
		u[i] = u[u[i]]
		i = u[i]
	}
	return i
}

func (u union) join(i, j int32) {
	a, b := u.root(i), u.root(j)
	u[max(a, b)] = min(a, b)
}

// number gives the sets numbers from 0 in the order of their smallest member;
// it returns the number of each member's set and how many there are.
func (u union) number() (of []int32, n int) {
	of = make([]int32, len(u))
	for i := range u {
		if r := u.root(int32(i)); r == int32(i) {
			of[i] = int32(n)
			n++
		} else {
			of[i] = of[r] // r < i
		}
	}
	return of, n
}
