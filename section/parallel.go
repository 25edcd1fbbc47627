package section

import (
	"slices"

	"tipwright/scan"
)

// chunkSize fixes how work is cut, whatever the number of processors, so that sums are formed in the same
// order and the last bit of every result is the same on every machine.
const chunkSize = 2048

// parallel calls work for consecutive ranges that cover 0..n, on all processors at once.
func parallel(n int, work func(lo, hi int)) {
	chunks := (n + chunkSize - 1) / chunkSize
	scan.OnAllProcessors(chunks, func(c int) { work(c*chunkSize, min((c+1)*chunkSize, n)) })
}

// chunked returns the values of the chunks of 0..n, in their order.
func chunked[T any](n int, chunk func(lo, hi int) T) []T {
	parts := make([]T, (n+chunkSize-1)/chunkSize)
	scan.OnAllProcessors(len(parts), func(c int) { parts[c] = chunk(c*chunkSize, min((c+1)*chunkSize, n)) })
	return parts
}

// reduce maps each chunk of 0..n to a value and folds the values in the order of the chunks.
func reduce[T any](n int, chunk func(lo, hi int) T, fold func(into *T, part T)) T {
	var total T
	for _, p := range chunked(n, chunk) {
		fold(&total, p)
	}
	return total
}

// joined returns the lists of the chunks of 0..n, one after the other.
func joined[T any](n int, chunk func(lo, hi int) []T) []T { return slices.Concat(chunked(n, chunk)...) }
