package fit

// union keeps track of which numbered things have become one. The lowest number of a group stands for it.
type union []int

// add makes a new thing and returns its number.
func (u *union) add() int {
	*u = append(*u, len(*u))
	return len(*u) - 1
}

// find returns the number that stands for k's group.
func (u union) find(k int) int {
	for u[k] != k {
		k = u[k]
	}
	return k
}

// join makes the groups of a and b one and returns its number.
func (u union) join(a, b int) int {
	a, b = u.find(a), u.find(b)
	u[max(a, b)] = min(a, b)
	return min(a, b)
}
