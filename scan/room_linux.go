package scan

import (
	"os"
	"unsafe"

	"golang.org/x/sys/unix"
)

// leastHuge is how long a list is, bytes, before large pages are asked for: two of the usual large pages.
const leastHuge = 4 << 20

// roomFor makes a list of n values, all zero, in large pages of memory if the system has them. A long list that is
// filled for the first time costs more in the system, page by page, than the filling itself; and one that is looked
// up anywhere costs a second look-up for its page. Where the advice is not taken the list is as any other.
func roomFor[T any](n int) []T {
	list := make([]T, n)
	size := n * int(unsafe.Sizeof(*new(T)))
	if size < leastHuge {
		return list
	}
	page := os.Getpagesize()
	bytes := unsafe.Slice((*byte)(unsafe.Pointer(unsafe.SliceData(list))), size)
	before := -int(uintptr(unsafe.Pointer(&bytes[0]))) & (page - 1)
	bytes = bytes[before : before+(size-before)&^(page-1)]
	_ = unix.Madvise(bytes, unix.MADV_HUGEPAGE) // a kernel without them says so
	return list
}
