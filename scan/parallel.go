package scan

import (
	"runtime"
	"sync"
)

// chunkSize fixes how lists are cut for work on all processors at once, whatever their number.
const chunkSize = 1 << 16

// chunked returns the values of consecutive ranges that cover 0..n, in their order, worked out on all processors at
// once.
func chunked[T any](n int, work func(lo, hi int) T) []T {
	parts := make([]T, (n+chunkSize-1)/chunkSize)
	part := func(c int) { parts[c] = work(c*chunkSize, min((c+1)*chunkSize, n)) }
	workers := min(runtime.GOMAXPROCS(0), len(parts))
	if workers <= 1 {
		for c := range parts {
			part(c)
		}
		return parts
	}
	next := make(chan int, len(parts))
	for c := range parts {
		next <- c
	}
	close(next)
	var all sync.WaitGroup
	for range workers {
		all.Go(func() {
			for c := range next {
				part(c)
			}
		})
	}
	all.Wait()
	return parts
}

// belt carries the blocks of a file from the disk to a reader: filled one after another, worked on by all
// processors at once, and taken in the order of the file. So what comes out does not depend on how many
// processors there are.
type belt[B any] struct {
	fill func(b *B, number int) error // on one goroutine
	work func(b *B)                   // on several
	take func(b *B) error             // on the caller's
}

// ticket is one block's way over the belt. It is used again for a later block.
type ticket[B any] struct {
	block  *B
	err    error
	worked chan struct{}
}

// run moves the given number of blocks and returns the first error in the order of the file. No goroutine is left
// when it returns.
func (b belt[B]) run(blocks int, fresh func() *B) error {
	processors := min(runtime.GOMAXPROCS(0), blocks)
	if processors <= 1 {
		return b.alone(blocks, fresh)
	}
	tickets := processors + 1
	free, line, todo := make(chan *ticket[B], tickets), make(chan *ticket[B], tickets), make(chan *ticket[B], tickets)
	for range tickets {
		free <- &ticket[B]{block: fresh(), worked: make(chan struct{}, 1)}
	}
	stop := make(chan struct{})
	var all sync.WaitGroup
	defer all.Wait()
	defer close(stop)
	all.Go(func() {
		defer close(line)
		defer close(todo)
		for i := range blocks {
			var t *ticket[B]
			select {
			case t = <-free:
			case <-stop:
				return
			}
			t.err = b.fill(t.block, i)
			line <- t
			if t.err != nil {
				return
			}
			todo <- t
		}
	})
	for range processors {
		all.Go(func() {
			for t := range todo {
				b.work(t.block)
				t.worked <- struct{}{}
			}
		})
	}
	for t := range line {
		if t.err != nil {
			return t.err
		}
		<-t.worked
		if err := b.take(t.block); err != nil {
			return err
		}
		free <- t
	}
	return nil
}

// alone does the same on one processor.
func (b belt[B]) alone(blocks int, fresh func() *B) error {
	block := fresh()
	for i := range blocks {
		if err := b.fill(block, i); err != nil {
			return err
		}
		b.work(block)
		if err := b.take(block); err != nil {
			return err
		}
	}
	return nil
}
